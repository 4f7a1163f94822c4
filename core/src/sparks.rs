//! Every spark that an ignition can make: for each cause the angles, the tower that the rotor faces, the energy, and the rule that bounds it.
//!
//! The limits of an engine are held to what a curve orders. People are hurt by the other sparks: those of the starter, of a speed that
//! changes, of an edge that is lost or false, of a key turned off. This list has all of them. It is worked out from the rules of
//! [`Sequencer`](crate::Sequencer) and from what stands around the ignition, the [`Surroundings`], over the whole range of speeds: within each
//! cell of it every quantity is bounded from both sides, so that nothing between two speeds is missed, and what is said is
//! never narrower than the truth.
//!
//! Angles are crank degrees before the top dead centre of the spark's own cylinder, negative after it; earliest is the greatest.

mod cells;
mod coil;
mod cranking;
mod judged;
mod reluctor;
mod running;
mod swing;

pub use coil::{COLD, HOT};
pub use judged::{Asked, Demand, SparkJudgement};
pub use swing::turned_while_cranking;

use crate::advance::{AdvanceModel, Phase};
use crate::circuit::Circuit;
use crate::curve::CentrifugalCurve;
use crate::divide::floored;
use crate::dwell::Dwell;
use crate::pickup::Pickup;
use crate::quantity::{CrankAngle, CrankSpeed, Energy, Swing, Voltage};
use crate::timetable::{Firmware, Timetable};

/// What makes a spark, one cause at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Cause {
    /// Running at one speed.
    Running,
    /// Running while the speed falls as fast as it can.
    SpeedFalling,
    /// Running while the speed rises as fast as it can.
    SpeedRising,
    /// Running with the advance held, at a speed that may change.
    Held,
    /// Turned by the starter alone, at any voltage that the battery has then.
    Cranking,
    /// The same at the least of these voltages.
    BatteryLow,
    /// Still cranking, while the engine catches.
    Catching,
    /// The first sparks after a stop.
    AfterStop,
    /// A key turned on while the engine stands.
    KeyOn,
    /// Running, with one edge of the pickup lost.
    LostEdge,
    /// Running, with one edge that is none.
    FalseEdge,
    /// Cranking, with one edge that is none.
    FalseEdgeCranking,
    /// Many edges that are none.
    Burst,
    /// A key turned off, or the supply lost, in a dwell.
    KeyOff,
    /// A controller that starts anew in a dwell.
    Reset,
    /// A vacuum sensor that sticks inside its band.
    SensorStuck,
}

impl Cause {
    /// All of them, in the order of [`Sparks`].
    pub const ALL: [Self; 16] = [
        Self::Running,
        Self::SpeedFalling,
        Self::SpeedRising,
        Self::Held,
        Self::Cranking,
        Self::BatteryLow,
        Self::Catching,
        Self::AfterStop,
        Self::KeyOn,
        Self::LostEdge,
        Self::FalseEdge,
        Self::FalseEdgeCranking,
        Self::Burst,
        Self::KeyOff,
        Self::Reset,
        Self::SensorStuck,
    ];

    /// Its name wherever a list is written down.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Running => "running",
            Self::SpeedFalling => "speed_falling",
            Self::SpeedRising => "speed_rising",
            Self::Held => "held",
            Self::Cranking => "cranking",
            Self::BatteryLow => "battery_low",
            Self::Catching => "catching",
            Self::AfterStop => "after_stop",
            Self::KeyOn => "key_on",
            Self::LostEdge => "lost_edge",
            Self::FalseEdge => "false_edge",
            Self::FalseEdgeCranking => "false_edge_cranking",
            Self::Burst => "burst",
            Self::KeyOff => "key_off",
            Self::Reset => "reset",
            Self::SensorStuck => "sensor_stuck",
        }
    }

    /// Whether a sound engine makes such sparks in use, again and again. The others take a fault, or are the one or two of an engine that
    /// catches: they are told, and of them only the kick of a starting engine is judged.
    #[must_use]
    pub const fn is_ordinary(self) -> bool {
        matches!(
            self,
            Self::Running | Self::SpeedFalling | Self::SpeedRising | Self::Held | Self::Cranking | Self::BatteryLow
        )
    }

    /// Whether the starter turns the engine then.
    #[must_use]
    pub const fn is_starting(self) -> bool {
        matches!(self, Self::Cranking | Self::BatteryLow | Self::Catching | Self::AfterStop)
    }
}

/// The rule that bounds a spark's angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Rule {
    /// What is ordered at that speed.
    Ordered,
    /// The delay is a share of the last period, and the speed changes by no more than the greatest acceleration.
    LastPeriod,
    /// Dwell begins at the second flank, and the spark comes one dwell later.
    SecondFlank,
    /// Timed from the timing flank while the starter's speed swings.
    Swing,
    /// At its own zero crossing or up to one dwell after it, and never before it.
    ZeroCrossing,
    /// By the last period, and at its own zero crossing at the latest; a dwell that is not over by then has its three quarters, one
    /// that is still to begin begins there.
    OwnCrossing,
    /// Without its edge a spark waits for the slowest edge there can be.
    SlowestEdge,
    /// A false edge is believed only inside the window of the last period.
    Window,
    /// No dwell begins before the moving flank of a reluctor, and a false one begins none in the first seven eighths of a pulse's time.
    MovingFlank,
    /// The current stops wherever its dwell has come to.
    Dwell,
    /// The period may hold two pulses, for an edge that comes before 3/8 of the last one is refused.
    TwoPulses,
    /// Nothing bounds it but one spark to an edge that is believed.
    Nothing,
    /// No dwell begins, so there is no spark.
    NoDwell,
}

/// Between which angles a spark lies, and where the crank turns so that it comes to each end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Angles {
    /// The earliest.
    pub earliest: CrankAngle,
    /// The speed there.
    pub earliest_at: CrankSpeed,
    /// The latest.
    pub latest: CrankAngle,
    /// The speed there.
    pub latest_at: CrankSpeed,
    /// How far before its own tower the rotor stands at the first spark that reaches furthest that way, in crank degrees; twice its own degrees.
    pub rotor_before: CrankAngle,
    /// How far past its own tower it stands, at most, likewise.
    pub rotor_past: CrankAngle,
}

/// The least and the greatest energy of a spark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Energies {
    /// With the least voltage, the shortest dwell and the winding 100 K above 20 degrees Celsius.
    pub least: Energy,
    /// With the greatest voltage, the longest dwell and the winding at -20 degrees Celsius.
    pub greatest: Energy,
}

/// The sparks of one cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Spark {
    /// The cause.
    pub cause: Cause,
    /// The angles; `None` where there is no spark.
    pub angles: Option<Angles>,
    /// The energy; `None` where there is no spark, or no coil is known.
    pub energy: Option<Energies>,
    /// What bounds the angles.
    pub rule: Rule,
}

impl Spark {
    /// Whether it can come anywhere in the cycle of its cylinder: nothing bounds it, and the range is a whole pulse or more.
    #[must_use]
    pub const fn is_anywhere(&self, pickup: &Pickup) -> bool {
        match &self.angles {
            Some(angles) => {
                matches!(self.rule, Rule::Nothing | Rule::Window)
                    && angles.earliest.bits() - angles.latest.bits() >= pickup.pulse()
            }
            None => false,
        }
    }
}

/// How the starter turns the engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Starter {
    /// The fastest mean speed of a compression.
    pub fastest: CrankSpeed,
    /// The fastest over the slowest speed within a compression.
    pub swing: Swing,
}

/// Least and greatest voltage of the battery, as the ignition measures it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Battery {
    /// While the starter turns the engine.
    pub cranking: [Voltage; 2],
    /// While the engine runs.
    pub running: [Voltage; 2],
}

/// The coil, as far as its sparks' energy goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Coil {
    /// The circuit of the running engine, its winding at 20 degrees Celsius.
    pub circuit: Circuit,
    /// Whether the starter's contact bypasses the ballast.
    pub ballast_bypassed: bool,
}

/// The old cap and its rotor, where the sparks still go through them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Cap {
    /// One for each cylinder, 2 to 12.
    pub towers: u8,
    /// Where the crank stands when the rotor faces its tower.
    pub line_up: CrankAngle,
    /// What half the distance of two towers is lessened by, in crank degrees: twice the cap's own.
    pub margin: CrankAngle,
    /// What old weights that still work turn the rotor ahead of its shaft.
    pub carried: Option<CentrifugalCurve>,
}

impl Cap {
    /// From one tower to the next, in steps of a crank angle.
    const fn pitch(&self) -> i64 {
        floored(crate::pickup::TWO_TURNS as i64, if self.towers > 0 { self.towers as i64 } else { 1 })
    }

    /// How far from its tower a rotor may stand, in crank degrees: half the distance of two towers less the margin.
    #[must_use]
    pub const fn allowed(&self) -> CrankAngle {
        CrankAngle::saturating_from_bits((self.pitch() / 2) as i32 - self.margin.bits())
    }

    /// Which tower stands nearest to a rotor so many crank degrees past its own: 0 its own, 1 the next in the firing order, -1 the one before; and
    /// how far away the next nearest one is.
    #[must_use]
    pub const fn facing(&self, past: CrankAngle) -> (i8, CrankAngle) {
        let (pitch, past) = (self.pitch(), past.bits() as i64);
        let tower = floored(past + pitch / 2, pitch);
        let off = past - tower * pitch;
        (tower as i8, CrankAngle::saturating_from_bits((pitch - off.abs()) as i32))
    }
}

/// What stands around an ignition.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Surroundings {
    /// The starter.
    pub starter: Starter,
    /// The battery.
    pub battery: Battery,
    /// The coil, where it is known.
    pub coil: Option<Coil>,
    /// The cap, where there is one.
    pub cap: Option<Cap>,
}

/// The whole list, in the order of [`Cause::ALL`].
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Sparks(pub [Spark; Cause::ALL.len()]);

/// Works the list out for one ignition and what stands around it.
///
/// It holds where [`PickupSettings::greatest_acceleration`](crate::PickupSettings::greatest_acceleration) is at least `m N^2 / 192` crank rpm per s, with
/// m pulses in two turns and the starter's mean speed N: an engine that catches then leaves no period that is taken for noise. The tool refuses a
/// sheet that states less.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SparkList<'a> {
    /// Degrees and rpm.
    pub model: &'a AdvanceModel,
    /// The pulses.
    pub pickup: &'a Pickup,
    /// The dwell.
    pub dwell: &'a Dwell,
    /// The ignition.
    pub firmware: &'a Firmware,
    /// The model in its ticks.
    pub table: &'a Timetable,
    /// Starter, battery, coil and cap.
    pub around: &'a Surroundings,
}

impl SparkList<'_> {
    /// Every cause with its sparks.
    #[must_use]
    pub fn sparks(&self) -> Sparks {
        Sparks(Cause::ALL.map(|cause| self.of(cause)))
    }

    /// The sparks of one cause.
    #[must_use]
    pub fn of(&self, cause: Cause) -> Spark {
        let (angles, rule) = match cause {
            Cause::KeyOn => return Spark { cause, angles: None, energy: None, rule: Rule::NoDwell },
            // A sensor that sticks inside its band can say no more than full vacuum.
            Cause::Running | Cause::SensorStuck => (self.running(running::Run::steady()), Rule::Ordered),
            Cause::SpeedFalling => (self.running(running::Run::falling()), Rule::LastPeriod),
            Cause::SpeedRising => (self.running(running::Run::rising()), self.changing_rule()),
            Cause::Held => (self.held(), self.changing_rule()),
            Cause::Cranking => (self.cranking(self.around.battery.cranking), self.cranking_rule()),
            Cause::BatteryLow => {
                let [least, _] = self.around.battery.cranking;
                (self.cranking([least, least]), self.cranking_rule())
            }
            // After a stop the starter gathers speed, as an engine does that catches.
            Cause::Catching | Cause::AfterStop => (self.catching(), self.catching_rule()),
            Cause::LostEdge => (self.lost_edge(), Rule::SlowestEdge),
            Cause::FalseEdge => (self.false_edge(), Rule::Window),
            Cause::FalseEdgeCranking if self.crossing().is_some() => {
                (self.false_flank_while_cranking(), Rule::MovingFlank)
            }
            Cause::FalseEdgeCranking | Cause::Burst => (self.anywhere(), Rule::Nothing),
            Cause::KeyOff | Cause::Reset => (self.cut_dwell(), Rule::Dwell),
        };
        Spark { cause, angles: Some(angles), energy: self.energy(cause), rule }
    }

    /// The sparks of the starter at one voltage of the battery.
    #[must_use]
    pub fn cranking_at(&self, battery: Voltage) -> Spark {
        let cause = Cause::Cranking;
        let energy = self.cranking_energy([battery, battery]);
        Spark { cause, angles: Some(self.cranking([battery, battery])), energy, rule: self.cranking_rule() }
    }

    /// The running or the held clamp.
    fn clamp(&self) -> (i64, i64) {
        let (least, greatest) = self.model.clamp_of(Phase::Running);
        (i64::from(least.bits()), i64::from(greatest.bits()))
    }
}
