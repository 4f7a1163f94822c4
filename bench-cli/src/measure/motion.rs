//! The motion that the stimulator was ordered to make.

/// A commanded motion; time starts with the record's motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Motion {
    /// Steady speed, crank rpm.
    Steady {
        /// Speed, crank rpm, greater than 0.
        speed_crank_rpm: f64,
    },
    /// Constant acceleration in time.
    Ramp {
        /// Speed at time 0, crank rpm.
        from_crank_rpm: f64,
        /// Acceleration, crank rpm per second, negative while slowing down.
        acceleration_crank_rpm_per_s: f64,
    },
}

impl Motion {
    /// Crank degrees turned since time 0: `6 N t`, and `3 a t^2` more on a ramp.
    pub fn turned(&self, seconds: f64) -> f64 {
        match *self {
            Self::Steady { speed_crank_rpm } => 6.0 * speed_crank_rpm * seconds,
            Self::Ramp { from_crank_rpm, acceleration_crank_rpm_per_s } => {
                (6.0 * from_crank_rpm + 3.0 * acceleration_crank_rpm_per_s * seconds) * seconds
            }
        }
    }

    /// Speed in crank rpm.
    pub fn speed_crank_rpm(&self, seconds: f64) -> f64 {
        match *self {
            Self::Steady { speed_crank_rpm } => speed_crank_rpm,
            Self::Ramp { from_crank_rpm, acceleration_crank_rpm_per_s } => {
                from_crank_rpm + acceleration_crank_rpm_per_s * seconds
            }
        }
    }
}
