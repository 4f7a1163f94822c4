//! A flyweight in equilibrium: `m r w^2` is the spring's force, with w of the distributor's shaft. Any mechanics text; the
//! advance that follows has round shapes, not straight lines. No real distributor is behind the figures.

/// A weight that swings out against one or two springs up to its stop.
#[derive(Debug, Clone, Copy)]
pub struct Flyweight {
    /// Crank rpm at which the first spring lets go.
    pub start: f64,
    /// Relative stiffness of the first spring: how much of the force at the start each unit of swing adds.
    pub stiffness: f64,
    /// Where a second spring comes in, share of the whole swing, and how much stiffer both are than the first alone.
    pub second: Option<(f64, f64)>,
    /// How much further out the weight is at its stop: radius there over radius at rest, less 1.
    pub swing: f64,
    /// Crank degrees at the stop.
    pub greatest: f64,
}

impl Flyweight {
    /// The spring's force at a share of the swing, 1 at rest.
    fn force(&self, share: f64) -> f64 {
        let first = 1.0 + self.stiffness * share;
        match self.second {
            Some((from, stiffer)) if share > from => first + self.stiffness * (stiffer - 1.0) * (share - from),
            _ => first,
        }
    }

    /// The crank rpm at which the weight stands in equilibrium at a share of its swing: w^2 is force over radius.
    pub fn equilibrium(&self, share: f64) -> f64 {
        self.start * (self.force(share) / (1.0 + self.swing * share)).sqrt()
    }

    /// The advance at a speed, crank degrees: none below the start, the greatest at the stop, in equilibrium between.
    ///
    /// The speed of equilibrium rises with the swing while each spring is stiff enough for it; the test that makes them sees
    /// to that.
    pub fn crank_degrees(&self, crank_rpm: f64) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if self.equilibrium(middle) < crank_rpm {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high) * self.greatest
    }
}
