//! Trials of a timing on an engine: which to try next, and what they come to.
//!
//! Always from the late side, at most 1 crank degree further at a time, never past a limit of the sheet. At the first pinking the
//! series ends, and nothing is tried within 2 crank degrees of it again. Nothing here calls a timing safe: that nobody heard an engine
//! pink is no proof that it did not, least of all at high speed and full load.

mod ceiling;
mod estimate;
mod log;
mod plan;
mod result;
mod sentences;
#[cfg(test)]
mod tests;

pub use ceiling::{BACK, Ceiling, is_loud};
pub use estimate::{Estimate, SETTLED, estimate};
pub use log::{Log, parse, read};
pub(crate) use log::{MEASURED, SPEEDS};
pub use plan::{Ended, Next, STEP, next};
pub use result::judge;
pub(crate) use sentences::{ended_in_words, place_in_words};
