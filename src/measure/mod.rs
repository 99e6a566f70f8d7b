//! What readings say: uncertainty of a measurement, and prediction of the next piece.
