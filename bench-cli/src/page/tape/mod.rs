//! A degree tape for a pulley, or a degree scale for the plate beside it, at true size.
//!
//! A mark `a` crank degrees from top dead centre lies `pi d a / 360` along the rim of a pulley of diameter `d`: geometry.

mod layout;
pub mod pdf;
mod place;
pub mod svg;
#[cfg(test)]
mod tests;

pub use layout::{Drawing, Page, Shape, TAPE_PAPER_MM, TITLE};
pub use place::{Carrier, Side};

use crate::sheet::Rotation;
use crate::words::number::short;
use thiserror::Error;

/// Smallest and largest diameter that is drawn, mm: from the pulley of a small engine to a flywheel. Common practice, no
/// source.
const DIAMETER_MM: (f64, f64) = (40.0, 600.0);
/// Marks closer together than this run into each other when printed, mm.
const CLOSEST_MARKS_MM: f64 = 0.8;

/// A tape: what it is laid on, and which crank degrees it holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tape {
    diameter_mm: f64,
    /// Crank degrees after top dead centre, 0 or more.
    after: i32,
    /// Crank degrees before top dead centre, 0 or more.
    before: i32,
    rotation: Rotation,
    carrier: Carrier,
}

/// A tape that cannot be drawn. Each says the option and what to write.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum TapeError {
    /// Smaller or larger than any pulley.
    #[error("--diameter: {} mm is outside {} to {} mm", short(*.0, 3), DIAMETER_MM.0, DIAMETER_MM.1)]
    Diameter(f64),
    /// Between two degrees.
    #[error("{option}: {} crank degrees is between two marks: the ends of a tape are whole crank degrees", short(*degrees, 3))]
    BetweenDegrees {
        /// The option.
        option: &'static str,
        /// What it said.
        degrees: f64,
    },
    /// The tape is laid by its mark of top dead centre.
    #[error("the tape does not hold top dead centre, by whose mark it is laid")]
    WithoutTopDeadCentre,
    /// More than one turn, or nothing.
    #[error("the tape is {0} crank degrees long; a tape has from 1 to 360")]
    Length(i32),
}

impl TapeError {
    /// What to do next.
    pub fn help(&self) -> &'static str {
        match self {
            Self::Diameter(_) => {
                "measure across the rim where the tape will lie: 152 mm is written `--diameter \"152 mm\"`"
            }
            Self::BetweenDegrees { .. } => "write the next whole crank degree",
            Self::WithoutTopDeadCentre => {
                "let one end lie after top dead centre and one before it, as `--from \"10 crank degrees ATDC\" --to \"50 crank \
                 degrees BTDC\"`; an end at top dead centre is `0 crank degrees BTDC`"
            }
            Self::Length(_) => "bring the ends closer together, or further apart",
        }
    }
}

impl Tape {
    /// A tape from one position of the crank to another, in crank degrees before top dead centre; which comes first does
    /// not matter. Degrees after top dead centre are negative.
    ///
    /// # Errors
    /// What [`TapeError`] names.
    pub fn new(
        diameter_mm: f64,
        [from, to]: [f64; 2],
        rotation: Rotation,
        carrier: Carrier,
    ) -> Result<Self, TapeError> {
        if !(DIAMETER_MM.0..=DIAMETER_MM.1).contains(&diameter_mm) {
            return Err(TapeError::Diameter(diameter_mm));
        }
        let (from, to) = (whole("--from", from)?, whole("--to", to)?);
        let (low, high) = (from.min(to), from.max(to));
        if low > 0 || high < 0 {
            return Err(TapeError::WithoutTopDeadCentre);
        }
        if !(1..=360).contains(&(high - low)) {
            return Err(TapeError::Length(high - low));
        }
        Ok(Self { diameter_mm, after: -low, before: high, rotation, carrier })
    }

    /// Length along the rim of an angle of the crank.
    pub fn length_mm(&self, crank_degrees: f64) -> f64 {
        std::f64::consts::PI * self.diameter_mm * crank_degrees / 360.0
    }

    /// Crank degrees from one mark to the next.
    pub fn step(&self) -> i32 {
        [1, 2, 5].into_iter().find(|&step| self.length_mm(f64::from(step)) >= CLOSEST_MARKS_MM).unwrap_or(5)
    }

    /// On which side of top dead centre the marks before it lie, for somebody who looks at the rim from outside with the
    /// pulley end below.
    pub fn side_of_before(&self) -> Side {
        self.carrier.side_of_before(self.rotation)
    }

    /// How to print it and lay it, in sentences.
    pub fn in_words(&self) -> Vec<String> {
        let side = match self.side_of_before() {
            Side::Left => "left",
            Side::Right => "right",
        };
        let laid = match self.carrier {
            Carrier::Pulley => {
                "Lay the 0 on the pulley's own mark of top dead centre, or, with the engine at true top dead centre, beside the \
                 pointer: the tape turns with the pulley, and the pointer reads it."
            }
            Carrier::Plate => {
                "Lay it on the plate that stands still, the 0 where the pulley's notch stands at true top dead centre: the notch \
                 reads it."
            }
        };
        vec![
            "Print at actual size, 100 %: never `fit to page`. Every page fits A4 and Letter.".to_owned(),
            "Measure the check bar: it must be 100 mm long. If it is not, throw the page away.".to_owned(),
            laid.to_owned(),
            format!(
                "The edge marked `pulley end` faces you when you look at the pulley. The arrow shows which way the pulley turns; \
                 the degrees before top dead centre then lie to the {side} of 0."
            ),
            "A mark on a pulley can be wrong by several degrees where its rim has slipped: prove true top dead centre by a \
             positive stop before you trust a reading."
                .to_owned(),
        ]
    }
}

fn whole(option: &'static str, degrees: f64) -> Result<i32, TapeError> {
    let nearest = degrees.round();
    if (degrees - nearest).abs() > 1e-9 || nearest.abs() > 360.0 {
        return Err(TapeError::BetweenDegrees { option, degrees });
    }
    #[expect(clippy::cast_possible_truncation, reason = "a whole number of at most 360")]
    Ok(nearest as i32)
}
