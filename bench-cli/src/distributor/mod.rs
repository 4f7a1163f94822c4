//! The old distributor: what was read of it, what to read next, the curve that the readings give, and how the chosen curve lies
//! to it.

pub mod departure;
pub mod fit;
pub mod readings;
pub mod survey;
