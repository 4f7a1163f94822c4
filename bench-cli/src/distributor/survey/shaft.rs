//! The shaft that somebody reads: figures are asked for and told in its speed and its degrees.

/// The crank on the engine, the distributor's own shaft in a chuck.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Shaft {
    /// The crank.
    Crank,
    /// The distributor, at half the crank's speed and by half its degrees.
    Distributor,
}

impl Shaft {
    /// That of a survey.
    pub fn of(off_engine: bool) -> Self {
        if off_engine { Self::Distributor } else { Self::Crank }
    }

    /// The unit of its speed.
    pub fn rpm(self) -> &'static str {
        match self {
            Self::Crank => "crank rpm",
            Self::Distributor => "distributor rpm",
        }
    }

    /// The unit of its angle.
    pub fn degrees(self) -> &'static str {
        match self {
            Self::Crank => "crank degrees",
            Self::Distributor => "distributor degrees",
        }
    }

    /// Its speed or angle, where the crank's is this.
    pub fn of_crank(self, crank: f64) -> f64 {
        match self {
            Self::Crank => crank,
            Self::Distributor => crank / 2.0,
        }
    }
}
