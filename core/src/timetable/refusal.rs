//! What cannot be timed is refused when the timetable is made, with figures.

use super::{Firmware, Timetable};
use crate::advance::AdvanceModel;
use crate::divide::floored;
use crate::dwell::{Dwell, SHORTEST_DWELL};
use crate::pickup::Pickup;
use crate::quantity::{Advance, CrankAngle, CrankSpeed, Decimal, Duration, Duty, TickRate};
use core::fmt;

/// Why the sparks of a model cannot be timed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum TimetableError {
    /// A tick is worth more than half a crank degree at the highest speed.
    TickTooCoarse {
        /// The firmware's tick rate.
        tick_rate: TickRate,
        /// The highest speed.
        speed: CrankSpeed,
    },
    /// The firmware's latency is above 10 ms.
    Latency(Duration),
    /// The spark would come sooner after its edge than lag and latency allow; and, where no dwell can begin
    /// before its edge, than the shortest dwell after this edge does.
    TooSoonAfterEdge {
        /// Where.
        speed: CrankSpeed,
        /// By how much.
        missing: CrankAngle,
        /// The least pickup angle that this spark takes; another spark can take more.
        pickup_angle: CrankAngle,
    },
    /// The spark would not come before the next edge.
    NotBeforeNextEdge {
        /// Where.
        speed: CrankSpeed,
        /// By how much.
        missing: CrankAngle,
        /// The greatest pickup angle that this spark takes; another spark can take less.
        pickup_angle: CrankAngle,
    },
    /// The spark would still burn at the next edge.
    BurnsIntoNextEdge {
        /// Where.
        speed: CrankSpeed,
        /// By how much.
        missing: CrankAngle,
        /// The greatest pickup angle that this spark takes; another spark can take less.
        pickup_angle: CrankAngle,
    },
    /// While cranking, the shortest dwell from the second flank and its spark's burn time are not over at the next flank.
    NoRoomAfterSecondFlank {
        /// The fastest cranking.
        speed: CrankSpeed,
        /// By how much.
        missing: CrankAngle,
        /// The greatest pickup angle that this spark takes; another spark can take less.
        pickup_angle: CrankAngle,
    },
    /// At the highest speed a period is shorter than burn time, shortest dwell and latency together, or the largest duty
    /// leaves less of it than the shortest dwell.
    PeriodTooShort {
        /// The highest speed.
        speed: CrankSpeed,
        /// The period there.
        period: Duration,
        /// What it takes.
        needed: Duration,
    },
    /// Points bounce for longer than a quarter of the period at the highest speed: the next flank could come meanwhile.
    BounceTooLong {
        /// The highest speed.
        speed: CrankSpeed,
        /// How long they bounce.
        bounce: Duration,
        /// A quarter of the period there.
        allowed: Duration,
    },
    /// Without a second flank, the cranking advance lies further from the pickup's flank than 3/8 of a pulse.
    CrankingTooFar {
        /// Between flank and cranking advance.
        distance: CrankAngle,
        /// 3/8 of a pulse.
        allowed: CrankAngle,
    },
    /// With a second flank, the cranking advance is not its angle.
    CrankingOffSecondFlank {
        /// The cranking advance.
        cranking: Advance,
        /// The second flank.
        second_flank: CrankAngle,
    },
    /// A reluctor's spark would come after its own zero crossing.
    AfterOwnCrossing {
        /// Where.
        speed: CrankSpeed,
        /// By how much.
        missing: CrankAngle,
        /// The greatest angle of the crossing, which is the static advance, that this spark takes.
        pickup_angle: CrankAngle,
    },
    /// While cranking, the shortest dwell from a reluctor's crossing and its spark's burn time take more than half a pulse.
    NoRoomAfterCrossing {
        /// The fastest cranking.
        speed: CrankSpeed,
        /// By how much.
        missing: CrankAngle,
    },
    /// A reluctor's cranking advance is not the angle of its crossing.
    CrankingOffCrossing {
        /// The cranking advance.
        cranking: Advance,
        /// The crossing.
        crossing: CrankAngle,
    },
    /// A reluctor's crossing lies above the greatest cranking limit.
    CrossingTooEarly {
        /// The crossing.
        crossing: CrankAngle,
        /// The limit.
        greatest_cranking: Advance,
    },
    /// The second flank lies above the greatest cranking limit.
    SecondFlankTooEarly {
        /// The second flank.
        second_flank: CrankAngle,
        /// The limit.
        greatest_cranking: Advance,
    },
}

impl TimetableError {
    /// What is wrong, for the message of a compile error.
    pub const fn message(&self) -> &'static str {
        match self {
            Self::TickTooCoarse { .. } => "a tick is worth more than half a crank degree at the highest speed",
            Self::Latency(_) => "the firmware's latency is at most 10 ms",
            Self::TooSoonAfterEdge { .. } => "the spark comes too soon after the pickup's flank",
            Self::NotBeforeNextEdge { .. } => "the spark does not come before the next flank",
            Self::BurnsIntoNextEdge { .. } => "the spark still burns at the next flank",
            Self::NoRoomAfterSecondFlank { .. } => {
                "the shortest dwell from the second flank, and its spark, last into the next flank"
            }
            Self::PeriodTooShort { .. } => "the period at the highest speed has no room for burn time and dwell",
            Self::BounceTooLong { .. } => "points bounce for longer than a quarter of the period at the highest speed",
            Self::CrankingTooFar { .. } => "the cranking advance lies too far from the pickup's flank",
            Self::CrankingOffSecondFlank { .. } => "the cranking advance is not the second flank's angle",
            Self::AfterOwnCrossing { .. } => "the spark comes after its own zero crossing",
            Self::NoRoomAfterCrossing { .. } => {
                "the shortest dwell from the zero crossing, and its spark, last longer than half a pulse"
            }
            Self::CrankingOffCrossing { .. } => "the cranking advance is not the zero crossing's angle",
            Self::CrossingTooEarly { .. } => "the zero crossing lies above the greatest cranking limit",
            Self::SecondFlankTooEarly { .. } => "the second flank lies above the greatest cranking limit",
        }
    }
}

impl fmt::Display for TimetableError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let microseconds = |time: Duration| Decimal { steps: i64::from(time.bits()), step: 1_000 };
        match self {
            Self::TickTooCoarse { tick_rate, speed } => {
                write!(f, "{} of {speed}: {tick_rate} is too slow", self.message())
            }
            Self::Latency(latency) => write!(f, "{}, not {} us", self.message(), microseconds(*latency)),
            Self::TooSoonAfterEdge { speed, missing, pickup_angle } => write!(
                f,
                "at {speed} {}: {missing} are missing; it takes a pickup angle of at least {pickup_angle} BTDC",
                self.message()
            ),
            Self::NotBeforeNextEdge { speed, missing, pickup_angle }
            | Self::BurnsIntoNextEdge { speed, missing, pickup_angle }
            | Self::NoRoomAfterSecondFlank { speed, missing, pickup_angle } => write!(
                f,
                "at {speed} {}: {missing} are missing; it takes a pickup angle of at most {pickup_angle} BTDC",
                self.message()
            ),
            Self::AfterOwnCrossing { speed, missing, pickup_angle } => write!(
                f,
                "at {speed} {}: {missing} are missing; it takes a crossing at {pickup_angle} BTDC or later",
                self.message()
            ),
            Self::NoRoomAfterCrossing { speed, missing } => write!(
                f,
                "at {speed} {}: {missing} are missing; it takes a lower `running_from` or a shorter burn time",
                self.message()
            ),
            Self::CrankingOffCrossing { cranking, crossing } => {
                write!(f, "{}: {cranking} and {crossing}", self.message())
            }
            Self::CrossingTooEarly { crossing, greatest_cranking } => {
                write!(f, "{}: {crossing} above {greatest_cranking}", self.message())
            }
            Self::PeriodTooShort { speed, period, needed } => write!(
                f,
                "at {speed} a period is {} us; burn time, shortest dwell, largest duty and latency take {} us",
                microseconds(*period),
                microseconds(*needed)
            ),
            Self::BounceTooLong { speed, bounce, allowed } => write!(
                f,
                "at {speed} {}: {} us, where at most {} us will do",
                self.message(),
                microseconds(*bounce),
                microseconds(*allowed)
            ),
            Self::CrankingTooFar { distance, allowed } => write!(
                f,
                "{}: {distance}, where at most {allowed} (3/8 of a pulse) will do; move the pickup or give it a second flank",
                self.message()
            ),
            Self::CrankingOffSecondFlank { cranking, second_flank } => {
                write!(f, "{}: {cranking} and {second_flank}", self.message())
            }
            Self::SecondFlankTooEarly { second_flank, greatest_cranking } => {
                write!(f, "{}: {second_flank} above {greatest_cranking}", self.message())
            }
        }
    }
}

impl core::error::Error for TimetableError {}

/// The crank angle, in steps, swept in a time: 6 N t degrees, rounded up.
const fn swept(speed: CrankSpeed, time: Duration) -> i32 {
    const { assert!(CrankAngle::STEP / CrankSpeed::STEP == 256, "the scales of angle and speed are 256 apart") }
    (6 * 256 * speed.bits() as u64 * time.bits() as u64).div_ceil(1_000_000_000) as i32
}

const fn angle(bits: i32) -> CrankAngle {
    CrankAngle::saturating_from_bits(bits)
}

struct Refusal<'a> {
    table: &'a Timetable,
    model: &'a AdvanceModel,
    pickup: &'a Pickup,
    burn: Duration,
    /// From an edge to the earliest spark whose dwell began before the edge.
    to_a_spark: Duration,
    /// From an edge to the earliest spark whose dwell begins after the edge.
    to_a_dwelt_spark: Duration,
}

/// Refuses what no timetable can be made of.
pub(super) const fn refuse_firmware(
    model: &AdvanceModel,
    pickup: &Pickup,
    dwell: &Dwell,
    firmware: &Firmware,
) -> Result<(), TimetableError> {
    if firmware.latency.bits() > 10_000_000 {
        return Err(TimetableError::Latency(firmware.latency));
    }
    let highest = model.settings().speeds.no_spark_above;
    if 12 * highest.bits() as u64 > firmware.tick_rate.bits() as u64 * CrankSpeed::STEP as u64 {
        return Err(TimetableError::TickTooCoarse { tick_rate: firmware.tick_rate, speed: highest });
    }
    let d = dwell.settings();
    let in_a_row = d.burn_time.bits() + SHORTEST_DWELL.bits() + firmware.latency.bits();
    // The largest duty is above 0, or the dwell would not have been made. Under 2^49, and then under 2^30 for 1/65 536.
    let for_duty = floored(SHORTEST_DWELL.bits() as i64 * Duty::STEP as i64, d.largest_duty.bits() as i64) as u64 + 1;
    let needed = if for_duty > in_a_row as u64 { for_duty } else { in_a_row as u64 };
    let pulses = pickup.settings().pulses_in_two_turns as u64;
    let two_turns_ns = 120 * 1_000_000_000 * CrankSpeed::STEP as i64;
    let period = floored(two_turns_ns, (pulses * highest.bits() as u64) as i64) as u64;
    if period < needed {
        return Err(TimetableError::PeriodTooShort {
            speed: highest,
            period: Duration::saturating_from_bits(period as u32),
            needed: Duration::saturating_from_bits(if needed > u32::MAX as u64 { u32::MAX } else { needed as u32 }),
        });
    }
    let bounce = pickup.settings().bounce;
    let allowed = Duration::saturating_from_bits((period >> 2) as u32);
    if bounce.bits() > allowed.bits() {
        return Err(TimetableError::BounceTooLong { speed: highest, bounce, allowed });
    }
    Ok(())
}

/// Refuses a timetable whose sparks have no room.
pub(super) const fn refuse_sparks(
    table: &Timetable,
    model: &AdvanceModel,
    pickup: &Pickup,
    dwell: &Dwell,
    firmware: &Firmware,
) -> Result<(), TimetableError> {
    let to_a_spark = pickup.settings().lag.bits() + firmware.latency.bits();
    let refusal = Refusal {
        table,
        model,
        pickup,
        burn: dwell.settings().burn_time,
        to_a_spark: Duration::saturating_from_bits(to_a_spark),
        to_a_dwelt_spark: Duration::saturating_from_bits(to_a_spark + SHORTEST_DWELL.bits()),
    };
    if let Err(error) = refusal.cranking() {
        return Err(error);
    }
    if let Err(error) = refusal.running() {
        return Err(error);
    }
    if let Err(error) = refusal.held() {
        return Err(error);
    }
    refusal.after_second_flank()
}

impl Refusal<'_> {
    const fn cranking(&self) -> Result<(), TimetableError> {
        let s = self.model.settings();
        let p = self.pickup.settings();
        if self.pickup.times_next_pulse() {
            return self.cranking_by_crossing();
        }
        if let Some(second_flank) = p.second_flank_angle {
            if second_flank.bits() > s.limits.greatest_cranking.bits() {
                return Err(TimetableError::SecondFlankTooEarly {
                    second_flank,
                    greatest_cranking: s.limits.greatest_cranking,
                });
            }
            if second_flank.bits() != s.cranking.bits() {
                return Err(TimetableError::CrankingOffSecondFlank { cranking: s.cranking, second_flank });
            }
            return Ok(());
        }
        let distance = p.angle.bits() - s.cranking.bits();
        let allowed = self.pickup.pulse() / 8 * 3;
        if distance > allowed {
            return Err(TimetableError::CrankingTooFar { distance: angle(distance), allowed: angle(allowed) });
        }
        self.not_too_soon(s.speeds.running_from, s.cranking.bits(), self.to_a_dwelt_spark)
    }

    /// A reluctor's cranking sparks come at its crossing, and a dwell that begins there leaves half of the pulse free.
    const fn cranking_by_crossing(&self) -> Result<(), TimetableError> {
        let s = self.model.settings();
        let crossing = self.pickup.settings().angle;
        if crossing.bits() > s.limits.greatest_cranking.bits() {
            return Err(TimetableError::CrossingTooEarly { crossing, greatest_cranking: s.limits.greatest_cranking });
        }
        if crossing.bits() != s.cranking.bits() {
            return Err(TimetableError::CrankingOffCrossing { cranking: s.cranking, crossing });
        }
        let speed = s.speeds.running_from;
        let missing = swept(speed, SHORTEST_DWELL) + swept(speed, self.burn) - self.pickup.pulse() / 2;
        if missing > 0 {
            return Err(TimetableError::NoRoomAfterCrossing { speed, missing: angle(missing) });
        }
        Ok(())
    }

    /// Between the second flank and the next one there is room for the shortest dwell and its spark, at the speed where cranking ends.
    /// A longer dwell is shortened to the room that there is: see `Sequencer`.
    const fn after_second_flank(&self) -> Result<(), TimetableError> {
        let Some(second_flank) = self.pickup.settings().second_flank_angle else { return Ok(()) };
        let speed = self.model.settings().speeds.running_from;
        let pickup = self.pickup.settings().angle.bits();
        let taken = swept(speed, SHORTEST_DWELL) + swept(speed, self.burn);
        let missing = taken - (self.pickup.pulse() - (pickup - second_flank.bits()));
        if missing <= 0 {
            return Ok(());
        }
        let pickup_angle = angle(pickup - missing);
        Err(TimetableError::NoRoomAfterSecondFlank { speed, missing: angle(missing), pickup_angle })
    }

    /// From this speed on a dwell may begin before its edge, for every spark of at least this advance.
    const fn dwell_precedes_from(&self, least: i32) -> CrankSpeed {
        let s = self.model.settings();
        // The latest spark leaves the longest time for an edge to be missing.
        let latest = self.pickup.way(least);
        let share_q16 = self.pickup.settings().pulses_in_two_turns as i32 * latest / 720;
        let mut below = s.speeds.cranking_below.bits();
        let mut from = s.speeds.no_spark_above.bits();
        while from - below > 1 {
            let middle = below + (from - below) / 2;
            let period = self.table.period_of(CrankSpeed::saturating_from_bits(middle));
            if self.table.dwell_can_precede(period, share_q16) {
                from = middle;
            } else {
                below = middle;
            }
        }
        CrankSpeed::saturating_from_bits(from)
    }

    /// The least advance of a running engine that is not held.
    const fn least_running(&self) -> i32 {
        let s = self.model.settings();
        let (least, _) = s.centrifugal.range();
        s.initial.bits() + least.bits() + self.model.added_range().0
    }

    /// Judges the corners: angle against speed is linear between the breakpoints of the centrifugal curve.
    const fn running(&self) -> Result<(), TimetableError> {
        let s = self.model.settings();
        let after_edge = self.dwell_precedes_from(self.least_running());
        let mut i = 0;
        while i < s.centrifugal.count() {
            let (speed, _) = s.centrifugal.breakpoint(i);
            if speed.bits() > s.speeds.cranking_below.bits()
                && speed.bits() < s.speeds.no_spark_above.bits()
                && let Err(error) = self.corner(speed, after_edge)
            {
                return Err(error);
            }
            i += 1;
        }
        if let Err(error) = self.corner(s.speeds.cranking_below, after_edge) {
            return Err(error);
        }
        // The last speed at which every dwell must find room after its edge.
        if after_edge.bits() > s.speeds.cranking_below.bits()
            && let Err(error) = self.corner(CrankSpeed::saturating_from_bits(after_edge.bits() - 1), after_edge)
        {
            return Err(error);
        }
        self.corner(s.speeds.no_spark_above, after_edge)
    }

    /// Judges the held advance at the speeds where it has sparks, and at no others.
    ///
    /// The sequencer makes no held spark above `PhaseSpeeds::held`: the period of an edge that orders one is at least that
    /// speed's. The held advance is one angle at every speed, and what lag, latency, dwell and burn time sweep grows with the
    /// speed, so the top speed is the worst corner; and, for a dwell that must find room after its edge, the last speed at
    /// which it must. Slower than `cranking_below` there is no held spark either.
    const fn held(&self) -> Result<(), TimetableError> {
        let s = self.model.settings();
        let (bottom, top, held) = (s.speeds.cranking_below, s.speeds.held().no_spark_above, s.held.bits());
        if top.bits() < bottom.bits() {
            return Ok(());
        }
        let after_edge = self.dwell_precedes_from(held);
        let last = if top.bits() < after_edge.bits() { top.bits() } else { after_edge.bits() - 1 };
        if last >= bottom.bits()
            && let Err(error) = self.not_too_soon(CrankSpeed::saturating_from_bits(last), held, self.to_a_dwelt_spark)
        {
            return Err(error);
        }
        if let Err(error) = self.not_too_soon(top, held, self.to_a_spark) {
            return Err(error);
        }
        self.not_too_late(top, held)
    }

    /// Judges the advance of a running engine at one speed; `after_edge` is the speed from which on a dwell may precede its
    /// edge.
    const fn corner(&self, speed: CrankSpeed, after_edge: CrankSpeed) -> Result<(), TimetableError> {
        let s = self.model.settings();
        let (vacuum_least, vacuum_greatest) = self.model.added_range();
        let base = s.initial.bits() + s.centrifugal.at(speed).bits();
        let time = if speed.bits() < after_edge.bits() { self.to_a_dwelt_spark } else { self.to_a_spark };
        if let Err(error) = self.not_too_soon(speed, base + vacuum_greatest, time) {
            return Err(error);
        }
        self.not_too_late(speed, base + vacuum_least)
    }

    const fn not_too_soon(&self, speed: CrankSpeed, advance: i32, time: Duration) -> Result<(), TimetableError> {
        let pickup = self.pickup.settings().angle.bits();
        let missing = swept(speed, time) - self.pickup.way(advance);
        if missing <= 0 {
            return Ok(());
        }
        Err(TimetableError::TooSoonAfterEdge { speed, missing: angle(missing), pickup_angle: angle(pickup + missing) })
    }

    const fn not_too_late(&self, speed: CrankSpeed, advance: i32) -> Result<(), TimetableError> {
        let pickup = self.pickup.settings().angle.bits();
        let pulse = self.pickup.pulse();
        let after_edge = pickup - advance;
        if self.pickup.times_next_pulse() {
            // At its own crossing is not after it, and a crossing is heard while the spark burns.
            if after_edge <= 0 {
                return Ok(());
            }
            let pickup_angle = angle(pickup - after_edge);
            return Err(TimetableError::AfterOwnCrossing { speed, missing: angle(after_edge), pickup_angle });
        }
        if after_edge >= pulse {
            let missing = after_edge - pulse + 1;
            return Err(TimetableError::NotBeforeNextEdge {
                speed,
                missing: angle(missing),
                pickup_angle: angle(pickup - missing),
            });
        }
        let missing = swept(speed, self.burn) - (pulse - after_edge);
        if missing > 0 {
            return Err(TimetableError::BurnsIntoNextEdge {
                speed,
                missing: angle(missing),
                pickup_angle: angle(pickup - missing),
            });
        }
        Ok(())
    }
}
