//! What is wrong with a simulated ignition.

use std::str::FromStr;

use thiserror::Error;

/// What is wrong with a simulated ignition. The default is nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Imperfections {
    /// How late the coil follows its order, in us, 0 or more.
    pub lag_us: f64,
    /// How much nearer to top dead centre than it lies the ignition takes the timing flank, in crank degrees: every spark is so
    /// much early (positive) or late.
    pub pickup_early_degrees: f64,
    /// Standard deviation of each spark's angle, in crank degrees.
    pub scatter_degrees: f64,
    /// Probability that a dwell and its spark do not happen.
    pub lose: f64,
    /// Share of the vacuum advance that is given: 1 is all of it.
    pub vacuum_share: f64,
    /// How fast the ignition's clock runs, as a fraction of its stated rate: 0.005 is 0.5 % fast.
    pub clock_fast: f64,
    /// One pulse of the cycle whose sparks stand apart.
    pub uneven: Option<UnevenPulse>,
    /// The longest dwell that the ignition gives, in ms; none where it gives what it is to.
    pub longest_dwell_ms: Option<f64>,
}

/// One pulse of the two turns whose sparks stand apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnevenPulse {
    /// Which one, counted from the first flank after the pattern was set, from 0.
    pub pulse: u8,
    /// How early its sparks come, in crank degrees; late is negative.
    pub early_degrees: f64,
}

impl Default for Imperfections {
    fn default() -> Self {
        Self {
            lag_us: 0.0,
            pickup_early_degrees: 0.0,
            scatter_degrees: 0.0,
            lose: 0.0,
            vacuum_share: 1.0,
            clock_fast: 0.0,
            uneven: None,
            longest_dwell_ms: None,
        }
    }
}

/// Why a text is not a list of imperfections.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ImperfectionText {
    /// A part without a name that is known.
    #[error("`{part}` is not an imperfection; write one of: {}", examples())]
    Unknown {
        /// What was given.
        part: String,
    },
    /// A value that does not read as its example.
    #[error("`{part}` does not read; write it as `{example}`")]
    Value {
        /// What was given.
        part: String,
        /// How to write it.
        example: &'static str,
    },
    /// A value out of range.
    #[error("`{part}` is out of range: {range}")]
    Range {
        /// What was given.
        part: String,
        /// What is allowed.
        range: &'static str,
    },
}

/// A name, an example of its value, its range in words and in numbers.
struct Kind {
    name: &'static str,
    example: &'static str,
    range: &'static str,
    least: f64,
    greatest: f64,
    read: fn(&str) -> Option<f64>,
    put: fn(&mut Imperfections, f64),
}

const KINDS: [Kind; 8] = [
    Kind {
        name: "lag",
        example: "lag=150 us",
        range: "0 to 5000 us",
        least: 0.0,
        greatest: 5000.0,
        read: |text| number(text.strip_suffix("us")?),
        put: |all, value| all.lag_us = value,
    },
    Kind {
        name: "pickup",
        example: "pickup=1.5 crank degrees early",
        range: "30 crank degrees early to 30 late",
        least: -30.0,
        greatest: 30.0,
        read: early,
        put: |all, value| all.pickup_early_degrees = value,
    },
    Kind {
        name: "scatter",
        example: "scatter=0.3 crank degrees",
        range: "0 to 5 crank degrees",
        least: 0.0,
        greatest: 5.0,
        read: |text| number(text.strip_suffix("crank degrees")?),
        put: |all, value| all.scatter_degrees = value,
    },
    Kind {
        name: "lose",
        example: "lose=1/400",
        range: "0 to 1/2",
        least: 0.0,
        greatest: 0.5,
        read: |text| {
            let (lost, of) = text.split_once('/')?;
            Some(number(lost)? / number(of)?)
        },
        put: |all, value| all.lose = value,
    },
    Kind {
        name: "vacuum",
        example: "vacuum=80 %",
        range: "0 to 150 %",
        least: 0.0,
        greatest: 1.5,
        read: percent,
        put: |all, value| all.vacuum_share = value,
    },
    Kind {
        name: "clock",
        example: "clock=0.5 %",
        range: "-5 to 5 %, fast is positive",
        least: -0.05,
        greatest: 0.05,
        read: percent,
        put: |all, value| all.clock_fast = value,
    },
    Kind {
        name: "pulse",
        example: "pulse=2 crank degrees late",
        range: "10 crank degrees early to 10 late",
        least: -10.0,
        greatest: 10.0,
        read: early,
        put: |all, value| all.uneven = Some(UnevenPulse { pulse: 0, early_degrees: value }),
    },
    Kind {
        name: "dwell",
        example: "dwell=1.5 ms",
        range: "0.5 to 30 ms",
        least: 0.5,
        greatest: 30.0,
        read: |text| number(text.strip_suffix("ms")?),
        put: |all, value| all.longest_dwell_ms = Some(value),
    },
];

fn examples() -> String {
    KINDS.map(|kind| kind.example).join(", ")
}

fn number(text: &str) -> Option<f64> {
    text.trim().parse().ok()
}

fn percent(text: &str) -> Option<f64> {
    Some(number(text.strip_suffix('%')?)? / 100.0)
}

fn early(text: &str) -> Option<f64> {
    let sign = if text.ends_with("early") { 1.0 } else { -1.0 };
    let degrees = text.strip_suffix("early").or_else(|| text.strip_suffix("late"))?;
    let size = number(degrees.trim_end().strip_suffix("crank degrees")?)?;
    // "-2 crank degrees late" would be a riddle.
    (size >= 0.0).then_some(sign * size)
}

impl FromStr for Imperfections {
    type Err = ImperfectionText;

    /// Reads a list such as `lag=150 us, scatter=0.3 crank degrees`.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let mut all = Self::default();
        for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
            let (name, value) = part.split_once('=').unwrap_or((part, ""));
            let kind = KINDS.iter().find(|kind| kind.name == name.trim());
            let kind = kind.ok_or_else(|| ImperfectionText::Unknown { part: part.to_owned() })?;
            let value = (kind.read)(value.trim());
            let value =
                value.ok_or_else(|| ImperfectionText::Value { part: part.to_owned(), example: kind.example })?;
            // Not a number is in no range.
            if !(kind.least..=kind.greatest).contains(&value) {
                return Err(ImperfectionText::Range { part: part.to_owned(), range: kind.range });
            }
            (kind.put)(&mut all, value);
        }
        Ok(all)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_example_reads() {
        let expected = Imperfections {
            lag_us: 150.0,
            pickup_early_degrees: 1.5,
            scatter_degrees: 0.3,
            lose: 1.0 / 400.0,
            vacuum_share: 0.8,
            clock_fast: 0.005,
            uneven: Some(UnevenPulse { pulse: 0, early_degrees: -2.0 }),
            longest_dwell_ms: Some(1.5),
        };
        assert_eq!(examples().parse(), Ok(expected));
        assert_eq!("".parse(), Ok(Imperfections::default()));
    }

    #[test]
    fn what_does_not_read_is_named() {
        for (text, said) in [
            ("lagg=1 us", "`lagg=1 us` is not an imperfection"),
            ("lag=150", "write it as `lag=150 us`"),
            ("lag=NaN us", "out of range: 0 to 5000 us"),
            ("pickup=1.5", "write it as `pickup=1.5 crank degrees early`"),
            ("pickup=-1 crank degrees late", "write it as"),
            ("lose=1/0", "out of range"),
            ("vacuum=80", "write it as `vacuum=80 %`"),
            ("clock=50 %", "out of range"),
        ] {
            let error = text.parse::<Imperfections>().unwrap_err().to_string();
            assert!(error.contains(said), "{text}: {error}");
        }
    }
}
