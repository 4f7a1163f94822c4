//! How a curve may differ from straight lines between its corners.
//!
//! Corners of a real distributor are rounded, and weights on springs bow the ramps. Each shape is one more way to make the same
//! columns; how far the readings bear it out against straight lines is told by its evidence, so that a curve that is straight
//! loses little.

/// One of the shapes that are tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shape {
    /// A corner is spread over so many crank rpm to either side: the curve is the mean of the ramps over that range.
    pub(super) rounding: f64,
    /// Standard deviation of the bow that a single ramp has besides, in units of the scatter; 0 where it has none.
    pub(super) bow: f64,
    /// How probable it is before a reading is seen.
    pub(super) probability: f64,
}

const fn shape(rounding: f64, bow: f64, probability: f64) -> Shape {
    Shape { rounding, bow, probability }
}

/// Straight lines first.
pub(super) const SHAPES: [Shape; 8] = [
    shape(0.0, 0.0, 0.7),
    shape(150.0, 0.0, 0.06),
    shape(300.0, 0.0, 0.06),
    shape(500.0, 0.0, 0.06),
    shape(0.0, 1.0, 0.03),
    shape(0.0, 4.0, 0.03),
    shape(200.0, 1.0, 0.03),
    shape(200.0, 4.0, 0.03),
];

impl Shape {
    /// Straight lines with sharp corners.
    pub(super) const SHARP: Self = SHAPES[0];

    pub(super) fn is_bowed(self) -> bool {
        self.bow > 0.0
    }

    pub(super) fn is_sharp(self) -> bool {
        self.rounding <= 0.0 && !self.is_bowed()
    }
}

/// `max(x, 0)`, its corner spread over `rounding` to either side: the mean over that range, a parabola about the corner.
#[inline]
pub(super) fn rounded_hinge(x: f64, rounding: f64) -> f64 {
    if x <= -rounding {
        0.0
    } else if x >= rounding {
        x
    } else {
        (x + rounding) * (x + rounding) / (4.0 * rounding)
    }
}
