//! Published values and reference computations in one place, each with its source beside it, and the code held to them.
//!
//! What Python recomputes comes from `tests/truth/reference/vectors`. A value that was typed without the print at hand is marked
//! *from memory*; what follows from a formula alone is marked *arithmetic*; what the trade knows without a published source
//! is marked *common practice*.

mod altitude;
mod coil;
mod conformity;
mod framing;
mod interpolation;
mod physics;
mod spark_delay;
mod statistics;
mod sums;
mod trials;
mod units;

/// The rows of a vector file below its heading, each split at its commas.
fn rows(file: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    file.lines().skip(1).map(|row| row.split(',').collect())
}

/// A vector file's number.
fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|_| panic!("not a number: {cell}"))
}

/// Several numbers in one cell.
fn numbers(cell: &str) -> Vec<f64> {
    cell.split(' ').map(number).collect()
}
