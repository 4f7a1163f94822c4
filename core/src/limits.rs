//! What the engine allows, judged over the whole domain.
//!
//! The limits are demands on the sum *before* the clamp. The sum is separable, `initial + centrifugal(speed) +
//! vacuum(depression) + trim`, and each part is linear between its breakpoints and flat beyond them. Its extremes over every speed,
//! depression and trim therefore lie at corners: where both curves have a breakpoint, at an end of the trim. No sampling, nothing missed.

mod words;

use crate::advance::{AdvanceModel, NONE, Phase, VacuumSource};
use crate::curve::{CentrifugalCurve, VacuumCurve};
use crate::quantity::{Advance, CrankAngle, CrankSpeed, Depression};

/// The four limits of an engine, in crank degrees before top dead centre.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Limits {
    /// Never more than this, running or held.
    pub greatest: Advance,
    /// Never more than this at full throttle: with no depression, or without a sensor.
    pub greatest_without_vacuum: Advance,
    /// Never more than this while cranking.
    pub greatest_cranking: Advance,
    /// Never less than this, running or held.
    pub least: Advance,
}

/// Which limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Limit {
    /// The greatest of all, running and held.
    Greatest,
    /// The greatest at full throttle, running and held.
    GreatestWithoutVacuum,
    /// The greatest while cranking.
    GreatestCranking,
    /// The least, running and held.
    Least,
}

impl Limit {
    /// All of them, in the order of [`Judgements`].
    pub const ALL: [Self; 4] = [Self::Greatest, Self::GreatestWithoutVacuum, Self::GreatestCranking, Self::Least];

    /// The name of its field in [`Limits`], which is its key wherever limits are written down.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Greatest => "greatest",
            Self::GreatestWithoutVacuum => "greatest_without_vacuum",
            Self::GreatestCranking => "greatest_cranking",
            Self::Least => "least",
        }
    }
}

impl Limits {
    /// What a limit allows.
    #[must_use]
    pub const fn of(&self, limit: Limit) -> Advance {
        match limit {
            Limit::Greatest => self.greatest,
            Limit::GreatestWithoutVacuum => self.greatest_without_vacuum,
            Limit::GreatestCranking => self.greatest_cranking,
            Limit::Least => self.least,
        }
    }

    /// Limits from what each allows, in the order of [`Limit::ALL`].
    #[must_use]
    pub const fn in_order(allowed: [Advance; Limit::ALL.len()]) -> Self {
        let [greatest, greatest_without_vacuum, greatest_cranking, least] = allowed;
        Self { greatest, greatest_without_vacuum, greatest_cranking, least }
    }
}

/// The corner where the sum comes nearest to a limit, or passes it furthest; of breakpoints that are equal, the first of each
/// curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Corner {
    /// Whether the sum is that of the running engine, else the cranking or held advance at any speed.
    pub running: bool,
    /// The speed, for a running engine.
    pub speed: CrankSpeed,
    /// The depression; `None` for a failed or absent sensor, or an engine without vacuum advance.
    pub depression: Option<Depression>,
    /// The trim; nought for a cranking or held advance, or an engine without one.
    pub trim: Advance,
    /// The sum there, before the clamp.
    pub sum: CrankAngle,
}

/// How the sum lies to one limit over the whole domain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Judgement {
    /// Which limit.
    pub limit: Limit,
    /// What it allows.
    pub allowed: Advance,
    /// The worst corner.
    pub worst: Corner,
    /// How far the worst corner stays inside the limit; negative where it breaks it.
    pub margin: CrankAngle,
}

impl Judgement {
    /// Whether the limit holds everywhere. Standing exactly on it holds.
    #[must_use]
    pub const fn holds(&self) -> bool {
        self.margin.bits() >= 0
    }
}

/// The four judgements of a model, in the order of [`Limit`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Judgements(pub [Judgement; Limit::ALL.len()]);

impl Judgements {
    /// Whether every limit holds everywhere.
    #[must_use]
    pub const fn hold(&self) -> bool {
        let mut left: &[Judgement] = &self.0;
        while let [judgement, others @ ..] = left {
            if !judgement.holds() {
                return false;
            }
            left = others;
        }
        true
    }
}

/// One part of the sum at the place where it is greatest or least.
#[derive(Clone, Copy)]
struct Part<X: Copy> {
    at: X,
    advance: Advance,
}

macro_rules! extreme_of {
    ($name:ident, $curve:ty, $x:ty) => {
        /// The extreme breakpoint of a curve; the leftmost where several are equal.
        const fn $name(curve: &$curve, greatest: bool) -> Part<$x> {
            let (at, advance) = curve.breakpoint(0);
            let mut extreme = Part { at, advance };
            let mut i = 1;
            while i < curve.count() {
                let (at, advance) = curve.breakpoint(i);
                let beyond = if greatest {
                    advance.bits() > extreme.advance.bits()
                } else {
                    advance.bits() < extreme.advance.bits()
                };
                if beyond {
                    extreme = Part { at, advance };
                }
                i += 1;
            }
            extreme
        }
    };
}
extreme_of!(extreme_of_centrifugal, CentrifugalCurve, CrankSpeed);
extreme_of!(extreme_of_vacuum, VacuumCurve, Depression);

/// Which depressions a limit counts.
#[derive(Clone, Copy)]
enum Counted {
    /// Every depression there can be.
    Any,
    /// Full throttle: no depression at all.
    None,
}

impl AdvanceModel {
    /// How the sum lies to each of the four limits, over every speed, depression and trim there can be.
    #[must_use]
    pub const fn judge(&self) -> Judgements {
        let limits = &self.settings().limits;
        let cranking = at_any_speed(self.settings().cranking);
        Judgements([
            judged(Limit::Greatest, limits.greatest, self.worst(true, Counted::Any)),
            judged(Limit::GreatestWithoutVacuum, limits.greatest_without_vacuum, self.worst(true, Counted::None)),
            judged(Limit::GreatestCranking, limits.greatest_cranking, cranking),
            judged(Limit::Least, limits.least, self.worst(false, Counted::Any)),
        ])
    }

    /// How far the sum of one place stays inside each limit, in the order of [`judge`](Self::judge); negative where it breaks
    /// it, and `None` where the limit does not count the place.
    #[must_use]
    pub const fn margins_at(
        &self,
        phase: Phase,
        speed: CrankSpeed,
        depression: Option<Depression>,
        throttle_closed: bool,
        trim: Advance,
    ) -> [Option<CrankAngle>; Limit::ALL.len()] {
        let Some(breakdown) = self.advance_trimmed(phase, speed, depression, throttle_closed, trim) else {
            return [None; Limit::ALL.len()];
        };
        let sum = breakdown.sum;
        let limits = &self.settings().limits;
        if matches!(phase, Phase::Cranking) {
            return [None, None, Some(margin(Limit::GreatestCranking, limits.greatest_cranking, sum)), None];
        }
        let full_throttle = match depression {
            Some(depression) => depression.bits() == 0 || matches!(phase, Phase::Held),
            None => true,
        };
        let without_vacuum = margin(Limit::GreatestWithoutVacuum, limits.greatest_without_vacuum, sum);
        [
            Some(margin(Limit::Greatest, limits.greatest, sum)),
            if full_throttle { Some(without_vacuum) } else { None },
            None,
            Some(margin(Limit::Least, limits.least, sum)),
        ]
    }

    /// The extreme corner of the sum, running or held.
    const fn worst(&self, greatest: bool, counted: Counted) -> Corner {
        let s = self.settings();
        let centrifugal = extreme_of_centrifugal(&s.centrifugal, greatest);
        let vacuum = self.extreme_vacuum(greatest, counted);
        let trim = if greatest { self.trim().greatest() } else { self.trim().least() };
        let sum = s.initial.bits() + centrifugal.advance.bits() + vacuum.advance.bits() + trim.bits();
        let held = s.held.bits();
        let held_is_worse = if greatest { held > sum } else { held < sum };
        if held_is_worse {
            return at_any_speed(s.held);
        }
        Corner {
            running: true,
            speed: centrifugal.at,
            depression: vacuum.at,
            trim,
            sum: CrankAngle::saturating_from_bits(sum),
        }
    }

    /// The extreme of the vacuum advance. No vacuum advance is always possible: the sensor can fail.
    const fn extreme_vacuum(&self, greatest: bool, counted: Counted) -> Part<Option<Depression>> {
        let nothing = Part { at: None, advance: NONE };
        let Some(vacuum) = &self.settings().vacuum else {
            return nothing;
        };
        // The throttle of a ported engine can be open at any depression, so the source changes nothing here.
        let (VacuumSource::Manifold | VacuumSource::Ported) = vacuum.source;
        let extreme = match counted {
            Counted::Any => extreme_of_vacuum(&vacuum.curve, greatest),
            Counted::None => Part { at: Depression::MIN, advance: vacuum.curve.at(Depression::MIN) },
        };
        let beyond_nothing = if greatest { extreme.advance.bits() > 0 } else { extreme.advance.bits() < 0 };
        if beyond_nothing { Part { at: Some(extreme.at), advance: extreme.advance } } else { nothing }
    }
}

/// The corner of an advance that stands alone, cranking or held.
const fn at_any_speed(advance: Advance) -> Corner {
    Corner { running: false, speed: CrankSpeed::MIN, depression: None, trim: NONE, sum: advance.angle() }
}

/// How far a sum stays inside a limit. Everything that judges a limit asks here.
const fn margin(limit: Limit, allowed: Advance, sum: CrankAngle) -> CrankAngle {
    let inside = match limit {
        Limit::Least => sum.bits() - allowed.bits(),
        _ => allowed.bits() - sum.bits(),
    };
    CrankAngle::saturating_from_bits(inside)
}

const fn judged(limit: Limit, allowed: Advance, worst: Corner) -> Judgement {
    Judgement { limit, allowed, worst, margin: margin(limit, allowed, worst.sum) }
}
