//! The list held to what the engine, its cap and its coil allow.

use super::{Angles, Cause, SparkList, Sparks};
use crate::quantity::{CrankAngle, Current, Energy, Power};

/// What is asked of the sparks of a sound engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Demand {
    /// No spark of a starting engine is so early that it kicks back.
    KickBack {
        /// The earliest.
        earliest: CrankAngle,
        /// The greatest cranking limit.
        allowed: CrankAngle,
    },
    /// The rotor stands nearer to its own tower than half the distance of two less a margin, in crank degrees: twice the cap's own.
    OwnTower {
        /// How far it stands from its tower; positive past it, negative before it.
        past: CrankAngle,
        /// How far it may.
        allowed: CrankAngle,
        /// How many crank degrees before its top dead centre the cylinder stands whose tower is next on that side.
        next_stands: CrankAngle,
    },
    /// Each spark of a lasting state has the energy that is asked for.
    LeastEnergy {
        /// The least.
        energy: Energy,
        /// What is asked for.
        asked: Energy,
    },
    /// The current is no greater than driver and coil bear.
    GreatestCurrent {
        /// The greatest.
        current: Current,
        /// What they bear.
        allowed: Current,
    },
    /// The heat in the winding is no greater than the coil bears.
    GreatestHeat {
        /// The greatest.
        heat: Power,
        /// What it bears.
        allowed: Power,
    },
}

/// One demand, at the cause that comes nearest to breaking it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SparkJudgement {
    /// The cause.
    pub cause: Cause,
    /// What is asked, and what is.
    pub demand: Demand,
}

impl SparkJudgement {
    /// Whether it is kept. Standing exactly on the limit keeps it.
    #[must_use]
    pub const fn holds(&self) -> bool {
        match self.demand {
            Demand::KickBack { earliest, allowed } => earliest.bits() <= allowed.bits(),
            Demand::OwnTower { past, allowed, .. } => past.bits().abs() <= allowed.bits(),
            Demand::LeastEnergy { energy, asked } => energy.bits() >= asked.bits(),
            Demand::GreatestCurrent { current, allowed } => current.bits() <= allowed.bits(),
            Demand::GreatestHeat { heat, allowed } => heat.bits() <= allowed.bits(),
        }
    }
}

/// What the coil is asked for, where it is asked at all.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Asked {
    /// Of every spark.
    pub least_energy: Option<Energy>,
    /// Of coil and driver.
    pub greatest_current: Option<Current>,
    /// Of the winding.
    pub greatest_heat: Option<Power>,
}

impl SparkList<'_> {
    /// The demands in the order of [`Demand`]: `None` where nothing is asked or known.
    #[must_use]
    pub fn judge(&self, sparks: &Sparks, asked: &Asked) -> [Option<SparkJudgement>; 5] {
        [
            Some(self.kick_back(sparks)),
            self.own_tower(sparks),
            least_energy(sparks, asked),
            self.current(asked),
            self.heat(asked),
        ]
    }

    fn kick_back(&self, sparks: &Sparks) -> SparkJudgement {
        let allowed = self.model.settings().limits.greatest_cranking.angle();
        let mut worst = (Cause::Cranking, CrankAngle::MIN);
        for spark in sparks.0.iter().filter(|spark| spark.cause.is_starting()) {
            let earliest = spark.angles.as_ref().map(|angles| self.without_slack(angles));
            worst = earliest.filter(|earliest| *earliest > worst.1).map_or(worst, |earliest| (spark.cause, earliest));
        }
        SparkJudgement { cause: worst.0, demand: Demand::KickBack { earliest: worst.1, allowed } }
    }

    /// What the spread of the pulses and rounding add is not held against a limit on which the flank itself may stand.
    fn without_slack(&self, angles: &Angles) -> CrankAngle {
        let slack = self.spread() + self.rounding(angles.earliest_at);
        CrankAngle::saturating_from_bits((i64::from(angles.earliest.bits()) - slack) as i32)
    }

    fn own_tower(&self, sparks: &Sparks) -> Option<SparkJudgement> {
        let cap = self.around.cap.as_ref()?;
        let mut worst = (Cause::Running, 0_i32);
        for spark in sparks.0.iter().filter(|spark| spark.cause.is_ordinary()) {
            let Some(angles) = &spark.angles else { continue };
            for past in [angles.rotor_past.bits(), -angles.rotor_before.bits()] {
                if past.abs() > worst.1.abs() {
                    worst = (spark.cause, past);
                }
            }
        }
        // Past its own tower the next cylinder's is near, which has a whole pitch more to go; before it, the last one's, a pitch less.
        let pitch = cap.pitch() as i32;
        let stands = cap.line_up.bits() - worst.1;
        let next_stands = if worst.1 > 0 { stands + pitch } else { stands - pitch };
        Some(SparkJudgement {
            cause: worst.0,
            demand: Demand::OwnTower {
                past: CrankAngle::saturating_from_bits(worst.1),
                allowed: cap.allowed(),
                next_stands: CrankAngle::saturating_from_bits(next_stands),
            },
        })
    }

    fn current(&self, asked: &Asked) -> Option<SparkJudgement> {
        let (coil, allowed) = (self.around.coil?, asked.greatest_current?);
        Some(SparkJudgement {
            cause: Cause::Running,
            demand: Demand::GreatestCurrent { current: self.greatest_current(&coil), allowed },
        })
    }

    fn heat(&self, asked: &Asked) -> Option<SparkJudgement> {
        let (coil, allowed) = (self.around.coil?, asked.greatest_heat?);
        Some(SparkJudgement {
            cause: Cause::Running,
            demand: Demand::GreatestHeat { heat: self.greatest_heat(&coil), allowed },
        })
    }
}

fn least_energy(sparks: &Sparks, asked: &Asked) -> Option<SparkJudgement> {
    let asked = asked.least_energy?;
    // While the speed changes a single dwell may be cut short.
    let lasting = |cause: Cause| cause.is_ordinary() && !matches!(cause, Cause::SpeedFalling | Cause::SpeedRising);
    let ordinary = sparks.0.iter().filter(|spark| lasting(spark.cause));
    let worst =
        ordinary.filter_map(|spark| Some((spark.cause, spark.energy?.least))).min_by_key(|(_, energy)| *energy)?;
    Some(SparkJudgement { cause: worst.0, demand: Demand::LeastEnergy { energy: worst.1, asked } })
}
