//! Facts of the trade, and the rules by which measured and catalogued sums are moved.

mod car;
mod checks;
mod facts;
mod known;
mod library;
mod measuring;
mod moves;
mod pieces;
mod rules;
mod windows;
