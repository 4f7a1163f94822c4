//! The model: initial + centrifugal + vacuum advance, a trim where there is one, and what a figure is made of.
//!
//! This is the form for people, limits and reports: degrees and rpm. An interrupt handler uses the same model worked out in
//! ticks, the [`Timetable`](crate::Timetable).

use crate::curve::{CentrifugalCurve, VacuumCurve};
use crate::limits::Limits;
use crate::quantity::{Advance, AdvanceRate, CrankAngle, CrankSpeed, Depression};
use crate::trim::Trim;
use core::fmt;

/// What the engine does, as far as the spark is concerned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Phase {
    /// No edge for longer than a period of 30 crank rpm. No spark.
    Stopped,
    /// Turned by the starter: the cranking advance alone.
    Cranking,
    /// Running: initial + centrifugal + vacuum.
    Running,
    /// Running with the advance held, for setting the ignition on the engine: the held advance alone.
    Held,
    /// Above the greatest speed, or held and above [`NO_HELD_SPARK_ABOVE`]. No spark.
    Overspeed,
}

/// Where the vacuum unit's hose is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum VacuumSource {
    /// Below the throttle: depression at idle too.
    Manifold,
    /// Just above the closed throttle: nothing while the throttle is closed.
    Ported,
}

/// The vacuum advance of an engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Vacuum {
    /// Advance over depression.
    pub curve: VacuumCurve,
    /// Where the hose is connected.
    pub source: VacuumSource,
    /// How fast it may be added. It is taken away at once.
    pub greatest_rate: AdvanceRate,
}

/// The speeds at which the phase changes, each pair with its hysteresis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PhaseSpeeds {
    /// A running engine that falls below this is cranking.
    pub cranking_below: CrankSpeed,
    /// A cranking engine that reaches this is running.
    pub running_from: CrankSpeed,
    /// Above this there is no spark.
    pub no_spark_above: CrankSpeed,
    /// Once there was none, there is one again below this.
    pub spark_again_below: CrankSpeed,
}

/// Everything that settles an advance. Any values can be put here; [`AdvanceModel::new`] checks them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AdvanceSettings {
    /// Initial timing: what is there before centrifugal and vacuum advance.
    pub initial: Advance,
    /// The advance while cranking.
    pub cranking: Advance,
    /// The advance while held.
    pub held: Advance,
    /// Centrifugal advance over speed.
    pub centrifugal: CentrifugalCurve,
    /// Vacuum advance, where the engine has it.
    pub vacuum: Option<Vacuum>,
    /// What the engine allows.
    pub limits: Limits,
    /// The speeds at which the phase changes.
    pub speeds: PhaseSpeeds,
}

/// Why settings do not make a model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum ModelError {
    /// `cranking_below` is not below `running_from`, or lies below 30 crank rpm.
    CrankingSpeeds,
    /// `spark_again_below` is not below `no_spark_above`.
    OverspeedSpeeds,
    /// `running_from` is not below `spark_again_below`.
    NoRunningRange,
    /// `least` is above one of the greatest limits.
    LimitsCrossed,
}

impl ModelError {
    /// What is wrong, in a sentence; also the message of a compile error.
    pub const fn message(&self) -> &'static str {
        match self {
            Self::CrankingSpeeds => "cranking_below is at least 30 crank rpm and below running_from",
            Self::OverspeedSpeeds => "spark_again_below is below no_spark_above",
            Self::NoRunningRange => "running_from is below spark_again_below",
            Self::LimitsCrossed => "the least advance is not above any of the greatest limits",
        }
    }
}

impl fmt::Display for ModelError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.message())
    }
}

impl core::error::Error for ModelError {}

/// What an advance is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Breakdown {
    /// The initial, cranking or held advance, as the phase has it.
    pub initial: Advance,
    /// What the centrifugal curve gives.
    pub centrifugal: Advance,
    /// What the vacuum curve gives.
    pub vacuum: Advance,
    /// What a trim gives.
    pub trim: Advance,
    /// Their plain sum. The limits judge this, before any clamp.
    pub sum: CrankAngle,
    /// The sum within the limits: what is ordered.
    pub total: Advance,
    /// Whether the clamp changed the sum.
    pub clamped: bool,
}

/// A checked model of an engine's advance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AdvanceModel {
    settings: AdvanceSettings,
    trim: Trim,
}

pub(crate) const NONE: Advance = match Advance::from_bits(0) {
    Ok(none) => none,
    Err(_) => panic!("no advance is an advance"),
};

/// Below this the engine counts as stopped: 30 crank rpm.
pub const STOPPED_BELOW: CrankSpeed = match CrankSpeed::from_bits(30 * CrankSpeed::STEP) {
    Ok(speed) => speed,
    Err(_) => panic!("30 crank rpm is a speed"),
};

/// With the advance held there is no spark above this: 2 000 crank rpm.
///
/// Somebody holds the advance to set the ignition at idle and a little above it, and a held advance is late for a fast
/// engine. It also lets the flank of the pickup lie where the whole advance asks for it: far from a held spark, whose burn
/// time at the greatest speed would reach the next flank. The figure is a choice; it has no source.
pub const NO_HELD_SPARK_ABOVE: CrankSpeed = match CrankSpeed::from_bits(2_000 * CrankSpeed::STEP) {
    Ok(speed) => speed,
    Err(_) => panic!("2 000 crank rpm is a speed"),
};

/// Once there was none, there is a held spark again below this: 1 900 crank rpm.
pub const HELD_SPARK_AGAIN_BELOW: CrankSpeed = match CrankSpeed::from_bits(1_900 * CrankSpeed::STEP) {
    Ok(speed) => speed,
    Err(_) => panic!("1 900 crank rpm is a speed"),
};

const fn slower(a: CrankSpeed, b: CrankSpeed) -> CrankSpeed {
    if a.bits() < b.bits() { a } else { b }
}

impl PhaseSpeeds {
    /// These speeds with the advance held: what ends the sparks of a running engine ends held ones too.
    #[must_use]
    pub const fn held(&self) -> Self {
        Self {
            no_spark_above: slower(self.no_spark_above, NO_HELD_SPARK_ABOVE),
            spark_again_below: slower(self.spark_again_below, HELD_SPARK_AGAIN_BELOW),
            ..*self
        }
    }
}

impl AdvanceModel {
    /// A model of these settings.
    ///
    /// Limits that the sum breaks are not refused here, for a curve that breaks them must still be seen and judged: see
    /// [`AdvanceModel::judge`].
    ///
    /// # Errors
    /// [`ModelError`] where two settings contradict each other.
    pub const fn new(settings: AdvanceSettings) -> Result<Self, ModelError> {
        let speeds = &settings.speeds;
        if speeds.cranking_below.bits() < STOPPED_BELOW.bits()
            || speeds.cranking_below.bits() >= speeds.running_from.bits()
        {
            return Err(ModelError::CrankingSpeeds);
        }
        if speeds.spark_again_below.bits() >= speeds.no_spark_above.bits() {
            return Err(ModelError::OverspeedSpeeds);
        }
        if speeds.running_from.bits() >= speeds.spark_again_below.bits() {
            return Err(ModelError::NoRunningRange);
        }
        let limits = &settings.limits;
        let least = limits.least.bits();
        if least > limits.greatest.bits() || least > limits.greatest_without_vacuum.bits() {
            return Err(ModelError::LimitsCrossed);
        }
        Ok(Self { settings, trim: Trim::NONE })
    }

    /// The settings of this model.
    #[must_use]
    pub const fn settings(&self) -> &AdvanceSettings {
        &self.settings
    }

    /// The same model with a trim, instead of the one that it has; a new model has none.
    #[must_use]
    pub const fn with_trim(self, trim: Trim) -> Self {
        Self { trim, ..self }
    }

    /// The bounds of its trim; [`Trim::NONE`] where it has none.
    #[must_use]
    pub const fn trim(&self) -> &Trim {
        &self.trim
    }

    /// The advance in a phase at a speed and depression, without any trim, and what it is made of. Pure: no state, no rate.
    ///
    /// A depression of `None` is a failed or absent sensor and gives no vacuum advance. `throttle_closed` matters to a ported
    /// hose only. `None` is answered in the phases without a spark, stopped and overspeed.
    ///
    /// Each curve is rounded to the nearest 1/65 536 crank degree, so the total is within 0.001 crank degrees of the formula.
    #[must_use]
    pub const fn advance(
        &self,
        phase: Phase,
        speed: CrankSpeed,
        depression: Option<Depression>,
        throttle_closed: bool,
    ) -> Option<Breakdown> {
        self.advance_trimmed(phase, speed, depression, throttle_closed, NONE)
    }

    /// The same with an input that asks for a trim. It is kept to the model's bounds, and a running engine alone is given it.
    #[must_use]
    pub const fn advance_trimmed(
        &self,
        phase: Phase,
        speed: CrankSpeed,
        depression: Option<Depression>,
        throttle_closed: bool,
        trim: Advance,
    ) -> Option<Breakdown> {
        let s = &self.settings;
        match phase {
            Phase::Stopped | Phase::Overspeed => None,
            Phase::Cranking => Some(self.breakdown(phase, [s.cranking, NONE, NONE, NONE])),
            Phase::Held => Some(self.breakdown(phase, [s.held, NONE, NONE, NONE])),
            Phase::Running => {
                let vacuum = self.vacuum_advance(depression, throttle_closed);
                Some(self.breakdown(phase, [s.initial, s.centrifugal.at(speed), vacuum, self.trim.given(Some(trim))]))
            }
        }
    }

    /// The least and the greatest of what vacuum advance and trim add; nothing at all is always possible.
    pub(crate) const fn added_range(&self) -> (i32, i32) {
        let (least, greatest) = match &self.settings.vacuum {
            Some(vacuum) => {
                let (least, greatest) = vacuum.curve.range();
                (if least.bits() < 0 { least.bits() } else { 0 }, if greatest.bits() > 0 { greatest.bits() } else { 0 })
            }
            None => (0, 0),
        };
        (least + self.trim.least().bits(), greatest + self.trim.greatest().bits())
    }

    /// What the vacuum unit gives once it has followed its depression.
    #[must_use]
    pub const fn vacuum_advance(&self, depression: Option<Depression>, throttle_closed: bool) -> Advance {
        match &self.settings.vacuum {
            Some(vacuum) => vacuum_advance(vacuum.source, &vacuum.curve, depression, throttle_closed),
            None => NONE,
        }
    }

    /// The least and the greatest that may be ordered in a phase.
    #[must_use]
    pub const fn clamp_of(&self, phase: Phase) -> (Advance, Advance) {
        let limits = &self.settings.limits;
        match phase {
            // Cranking is bound from above only: a late spark starts badly, an early one breaks a wrist.
            Phase::Cranking => (Advance::MIN, limits.greatest_cranking),
            _ => (limits.least, limits.greatest),
        }
    }

    const fn breakdown(&self, phase: Phase, parts: [Advance; 4]) -> Breakdown {
        let [initial, centrifugal, vacuum, trim] = parts;
        // Four advances of at most 90 crank degrees: the sum stays far inside an angle's range.
        let sum = CrankAngle::saturating_from_bits(initial.bits() + centrifugal.bits() + vacuum.bits() + trim.bits());
        let (least, greatest) = self.clamp_of(phase);
        let total = if sum.bits() > greatest.bits() {
            greatest
        } else if sum.bits() < least.bits() {
            least
        } else {
            Advance::saturating_from_bits(sum.bits())
        };
        Breakdown { initial, centrifugal, vacuum, trim, sum, total, clamped: total.bits() != sum.bits() }
    }
}

/// Up to which speed the throttle counts as closed where nobody says how it stands: 1.15 times the idle speed, in crank rpm.
///
/// An engine never idles at the very rpm of its sheet, and one that turns faster than this idles no more. An ignition asks
/// its switch at the throttle instead, and what a person says goes before this rule; it is for a reading, a test point or an
/// operating condition that knows its speed alone. 1.15 is common practice and has no source.
#[must_use]
pub const fn throttle_closed_up_to(idle: CrankSpeed) -> CrankSpeed {
    // 20 000 crank rpm in steps, 23 times, are under 2^27.
    CrankSpeed::saturating_from_bits(crate::divide::floored(23 * idle.bits() as i64, 20) as u32)
}

/// Whether the throttle counts as closed at a speed: see [`throttle_closed_up_to`].
#[must_use]
pub const fn throttle_counts_as_closed(speed: CrankSpeed, idle: CrankSpeed) -> bool {
    speed.bits() <= throttle_closed_up_to(idle).bits()
}

/// The one rule of what a depression gives; the timetable follows it too.
pub(crate) const fn vacuum_advance(
    source: VacuumSource,
    curve: &VacuumCurve,
    depression: Option<Depression>,
    throttle_closed: bool,
) -> Advance {
    match depression {
        Some(_) if matches!(source, VacuumSource::Ported) && throttle_closed => NONE,
        Some(depression) => curve.at(depression),
        None => NONE,
    }
}
