//! The motion that the stimulator was ordered to make.

use super::Pickup;

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
    /// Cranking over compressions: the speed is least at each top dead centre and greatest halfway between two, and
    /// changes at a constant rate in time from the one to the other.
    Cranking {
        /// Mean speed over a pulse, which is the mean of least and greatest as well, crank rpm.
        mean_crank_rpm: f64,
        /// Greatest over least speed.
        swing: f64,
        /// Pulses in two crank turns, one to a compression.
        pulses_in_two_turns: usize,
        /// A time of a top dead centre, seconds.
        dead_centre_s: f64,
    },
}

impl Motion {
    /// Cranking with a timing flank at a known time.
    pub fn cranking(mean_crank_rpm: f64, swing: f64, pickup: Pickup, flank_s: f64) -> Self {
        let still = Compression::new(mean_crank_rpm, swing, pickup.pulses_in_two_turns, 0.0);
        // Whole pulses are gone round in equal times; what is left of the way to top dead centre mirrors the way after it.
        let whole = (pickup.angle / pickup.spacing()).floor();
        let left = still.time_after_dead_centre(pickup.angle - whole * pickup.spacing());
        Self::Cranking {
            mean_crank_rpm,
            swing,
            pulses_in_two_turns: pickup.pulses_in_two_turns,
            dead_centre_s: flank_s + whole * still.pulse_s + left,
        }
    }

    /// Crank degrees turned since time 0: `6 N t`, and `3 a t^2` more on a ramp.
    pub fn turned(&self, seconds: f64) -> f64 {
        match *self {
            Self::Steady { speed_crank_rpm } => 6.0 * speed_crank_rpm * seconds,
            Self::Ramp { from_crank_rpm, acceleration_crank_rpm_per_s } => {
                (6.0 * from_crank_rpm + 3.0 * acceleration_crank_rpm_per_s * seconds) * seconds
            }
            Self::Cranking { mean_crank_rpm, swing, pulses_in_two_turns, dead_centre_s } => {
                let compression = Compression::new(mean_crank_rpm, swing, pulses_in_two_turns, dead_centre_s);
                compression.turned(seconds) - compression.turned(0.0)
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
            Self::Cranking { mean_crank_rpm, swing, pulses_in_two_turns, dead_centre_s } => {
                Compression::new(mean_crank_rpm, swing, pulses_in_two_turns, dead_centre_s).speed_crank_rpm(seconds)
            }
        }
    }
}

/// One compression after the other, all alike.
#[derive(Debug, Clone, Copy)]
struct Compression {
    least_crank_rpm: f64,
    /// Crank rpm per second up to halfway, and the same down again.
    rate: f64,
    pulse_s: f64,
    spacing: f64,
    dead_centre_s: f64,
}

impl Compression {
    #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
    fn new(mean_crank_rpm: f64, swing: f64, pulses_in_two_turns: usize, dead_centre_s: f64) -> Self {
        let spacing = 720.0 / pulses_in_two_turns as f64;
        let least_crank_rpm = 2.0 * mean_crank_rpm / (1.0 + swing);
        let pulse_s = spacing / (6.0 * mean_crank_rpm);
        let rate = (swing - 1.0) * least_crank_rpm / (pulse_s / 2.0);
        Self { least_crank_rpm, rate, pulse_s, spacing, dead_centre_s }
    }

    /// Whole pulses since the known top dead centre, and seconds since the last one.
    fn since(&self, seconds: f64) -> (f64, f64) {
        let since = seconds - self.dead_centre_s;
        let whole = (since / self.pulse_s).floor();
        (whole, since - whole * self.pulse_s)
    }

    fn turned(&self, seconds: f64) -> f64 {
        let (whole, since) = self.since(seconds);
        let rising = |seconds: f64| (6.0 * self.least_crank_rpm + 3.0 * self.rate * seconds) * seconds;
        let within =
            if since <= self.pulse_s / 2.0 { rising(since) } else { self.spacing - rising(self.pulse_s - since) };
        whole * self.spacing + within
    }

    fn speed_crank_rpm(&self, seconds: f64) -> f64 {
        let (_, since) = self.since(seconds);
        self.least_crank_rpm + self.rate * since.min(self.pulse_s - since)
    }

    /// Seconds from top dead centre until the crank has turned so far, less than one spacing.
    fn time_after_dead_centre(&self, turned: f64) -> f64 {
        let near = turned.min(self.spacing - turned);
        let (linear, square) = (6.0 * self.least_crank_rpm, 3.0 * self.rate);
        // The root of the quadratic in the form that stays exact where the rate is 0.
        let seconds = 2.0 * near / (linear + (linear * linear + 4.0 * square * near).sqrt());
        if turned <= self.spacing / 2.0 { seconds } else { self.pulse_s - seconds }
    }
}
