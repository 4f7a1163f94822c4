//! What a book says of a distributor, with what it allows to either side.

/// Where a book gives no band, a centrifugal or vacuum advance may lie so far from its figure, crank degrees: one
/// distributor degree. Common practice, no source.
pub const ALLOWED_CRANK_DEGREES: f64 = 2.0;

/// Where a book gives no band, a vacuum unit may start so far from its figure, kPa: about 1 inHg. Common practice, no source.
pub const ALLOWED_KPA: f64 = 3.4;

/// A breakpoint with what is allowed of either number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Specified {
    /// Crank rpm, or kPa depression.
    pub x: f64,
    /// The least and the greatest that it may be.
    pub x_allowed: [f64; 2],
    /// Crank degrees added.
    pub crank_degrees: f64,
    /// The least and the greatest that it may be.
    pub crank_degrees_allowed: [f64; 2],
}

impl Specified {
    /// A figure of a book that gives no band.
    pub fn without_band(x: f64, crank_degrees: f64, x_allowance: f64) -> Self {
        Self {
            x,
            x_allowed: [x - x_allowance, x + x_allowance],
            crank_degrees,
            crank_degrees_allowed: [crank_degrees - ALLOWED_CRANK_DEGREES, crank_degrees + ALLOWED_CRANK_DEGREES],
        }
    }
}

/// A book's curves. An empty one says nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Specification {
    /// Initial timing, crank degrees before top dead centre.
    pub initial: Option<f64>,
    /// Centrifugal advance over crank rpm, rising.
    pub centrifugal: Vec<Specified>,
    /// Vacuum advance over kPa depression, rising.
    pub vacuum: Vec<Specified>,
}
