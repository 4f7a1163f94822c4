//! The old distributor: what was read of it, what to read next, the curve that the readings give, and how the chosen curve lies
//! to it.

pub(crate) mod departure;
pub(crate) mod fit;
pub mod readings;
pub(crate) mod survey;

pub use fit::{Estimate, Finding, FitOptions, FitResult, Misread, VacuumOutcome, fit, wear};
pub use readings::{ColumnNames, Hose, Reading, Readings, ReadingsError, SpeedWas};
pub use survey::{ENOUGH_CRANK_DEGREES, Proposal, Step, Survey};
