//! `--simulate`: what the built-in ignition and its pickup do wrong.

use crate::quantity_text::{ANGLE, Dimension, QuantityError, SHARE, TIME, parse};
use thiserror::Error;

/// The imperfections of a simulated box. The default is a perfect one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Simulation {
    /// Seconds by which every spark comes late.
    pub lag_s: f64,
    /// Crank degrees by which every pulse comes early against the sheet; negative is late.
    pub pickup_early_crank_degrees: f64,
    /// Standard deviation of a spark, crank degrees.
    pub scatter_crank_degrees: f64,
    /// Of how many sparks one is lost; none where none is.
    pub lose_one_of: Option<u32>,
    /// The share of the vacuum advance that is given, as a fraction of one.
    pub vacuum_share: f64,
    /// By which fraction of one the ignition's clock runs fast; negative is slow.
    pub clock_fast: f64,
}

impl Default for Simulation {
    fn default() -> Self {
        Self {
            lag_s: 0.0,
            pickup_early_crank_degrees: 0.0,
            scatter_crank_degrees: 0.0,
            lose_one_of: None,
            vacuum_share: 1.0,
            clock_fast: 0.0,
        }
    }
}

/// An item of the text that cannot be read. Every message names the item and says what it takes.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum SimulateError {
    /// An item without `=`.
    #[error("`{0}` has no value; write items such as `lag=150 us`, with commas between them")]
    NoValue(String),
    /// An item that nobody knows.
    #[error("`{0}` is not known; the items are lag, pickup, scatter, lose, vacuum and clock")]
    Unknown(String),
    /// An item that comes twice.
    #[error("`{0}` comes twice; write it once")]
    Twice(String),
    /// A quantity that cannot be read.
    #[error("`{item}` takes {takes}: {error}; {}", error.help())]
    Quantity {
        /// The item.
        item: &'static str,
        /// What it takes.
        takes: &'static str,
        /// What is wrong with the quantity.
        error: QuantityError,
    },
    /// Anything else that an item does not take.
    #[error("`{item}` takes {takes}, not `{written}`")]
    Value {
        /// The item.
        item: &'static str,
        /// What it takes.
        takes: &'static str,
        /// What was written.
        written: String,
    },
}

const LAG: (&str, &str) = ("lag", "a time from 0 us to 5 ms, such as `lag=150 us`");
const PICKUP: (&str, &str) =
    ("pickup", "up to 90 crank degrees and `early` or `late`, such as `pickup=1.5 crank degrees early`");
const SCATTER: (&str, &str) =
    ("scatter", "a standard deviation from 0 to 10 crank degrees, such as `scatter=0.3 crank degrees`");
const LOSE: (&str, &str) = ("lose", "one of at least two sparks, such as `lose=1/400`");
const VACUUM: (&str, &str) = ("vacuum", "a share from 0 % to 200 %, such as `vacuum=80 %`");
const CLOCK: (&str, &str) =
    ("clock", "a share up to 5 %, `fast` or `slow`, such as `clock=0.5 % fast`; fast where neither is said");

/// Reads the text of `--simulate`: items with commas between them, in any order, each at most once.
///
/// # Errors
/// [`SimulateError`] names the item and says what it takes.
pub fn parse_simulation(text: &str) -> Result<Simulation, SimulateError> {
    let mut simulation = Simulation::default();
    let mut seen = Vec::new();
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let (name, value) = part.split_once('=').ok_or_else(|| SimulateError::NoValue(part.to_owned()))?;
        let (name, value) = (name.trim(), value.trim());
        if seen.contains(&name) {
            return Err(SimulateError::Twice(name.to_owned()));
        }
        seen.push(name);
        match name {
            "lag" => simulation.lag_s = quantity(LAG, &TIME, value, 0.005)?,
            "pickup" => simulation.pickup_early_crank_degrees = early(value)?,
            "scatter" => simulation.scatter_crank_degrees = quantity(SCATTER, &ANGLE, value, 10.0)?,
            "lose" => simulation.lose_one_of = Some(one_of(value)?),
            "vacuum" => simulation.vacuum_share = quantity(VACUUM, &SHARE, value, 2.0)?,
            "clock" => simulation.clock_fast = fast(value)?,
            _ => return Err(SimulateError::Unknown(name.to_owned())),
        }
    }
    Ok(simulation)
}

fn quantity(
    (item, takes): (&'static str, &'static str),
    dimension: &'static Dimension,
    written: &str,
    greatest: f64,
) -> Result<f64, SimulateError> {
    let value = parse(dimension, written).map_err(|error| SimulateError::Quantity { item, takes, error })?;
    if (0.0..=greatest).contains(&value) {
        return Ok(value);
    }
    Err(SimulateError::Value { item, takes, written: written.to_owned() })
}

fn early(written: &str) -> Result<f64, SimulateError> {
    let (angle, sign) = match written.rsplit_once(' ') {
        Some((angle, "early")) => (angle, 1.0),
        Some((angle, "late")) => (angle, -1.0),
        _ => return Err(SimulateError::Value { item: PICKUP.0, takes: PICKUP.1, written: written.to_owned() }),
    };
    Ok(sign * quantity(PICKUP, &ANGLE, angle, 90.0)?)
}

fn fast(written: &str) -> Result<f64, SimulateError> {
    let (share, sign) = match written.rsplit_once(' ') {
        Some((share, "fast")) => (share, 1.0),
        Some((share, "slow")) => (share, -1.0),
        _ => (written, 1.0),
    };
    Ok(sign * quantity(CLOCK, &SHARE, share, 0.05)?)
}

fn one_of(written: &str) -> Result<u32, SimulateError> {
    let count =
        written.split_once('/').filter(|(one, _)| one.trim() == "1").and_then(|(_, count)| count.trim().parse().ok());
    count.filter(|count| *count >= 2).ok_or_else(|| SimulateError::Value {
        item: LOSE.0,
        takes: LOSE.1,
        written: written.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_item_is_read_in_any_order() {
        let text = "clock=0.5 %, vacuum=80 %,lose = 1/400, scatter=0.3 crank degrees, pickup=1.5 crank degrees early, lag=150 us";
        let wanted = Simulation {
            lag_s: 150e-6,
            pickup_early_crank_degrees: 1.5,
            scatter_crank_degrees: 0.3,
            lose_one_of: Some(400),
            vacuum_share: 0.8,
            clock_fast: 0.005,
        };
        let got = parse_simulation(text).expect("every item is right");
        assert!((got.lag_s - wanted.lag_s).abs() < 1e-12);
        assert_eq!(Simulation { lag_s: wanted.lag_s, ..got }, wanted);
        assert_eq!(parse_simulation(""), Ok(Simulation::default()));
        assert_eq!(
            parse_simulation("pickup=1 distributor degrees late").map(|s| s.pickup_early_crank_degrees),
            Ok(-2.0)
        );
        assert_eq!(parse_simulation("clock=1 % slow").map(|s| s.clock_fast), Ok(-0.01));
    }

    #[test]
    fn each_wrong_item_is_named_with_what_it_takes() {
        for (text, item) in [
            ("lag=150", "`lag` takes a time"),
            ("lag=150 crank degrees", "`lag` takes a time"),
            ("lag=150 ms", "`lag` takes a time"),
            ("pickup=1.5 crank degrees", "`pickup` takes up to 90 crank degrees and `early` or `late`"),
            ("pickup=1.5 degrees early", "`pickup` takes up to 90 crank degrees and `early` or `late`"),
            ("pickup=-1.5 crank degrees early", "`pickup` takes"),
            ("scatter=-1 crank degrees", "`scatter` takes a standard deviation"),
            ("lose=400", "`lose` takes one of at least two sparks"),
            ("lose=1/1", "`lose` takes one of at least two sparks"),
            ("lose=2/400", "`lose` takes one of at least two sparks"),
            ("vacuum=0.8", "`vacuum` takes a share"),
            ("clock=10 %", "`clock` takes a share up to 5 %"),
            ("lag", "`lag` has no value"),
            ("flux=1 us", "`flux` is not known; the items are lag, pickup"),
            ("lag=1 us, lag=2 us", "`lag` comes twice"),
        ] {
            let error = parse_simulation(text).expect_err(text).to_string();
            assert!(error.starts_with(item), "{text}: {error}");
        }
    }
}
