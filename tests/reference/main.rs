//! Checks against published values, each with its source.
