//! A model worked out in one pickup's ticks: from a period to the delay of its spark, without a division.
//!
//! With m pulses in two crank turns and a period of T ticks at f ticks a second, the crank turns at `N = 120 f / (m T)` rpm,
//! and the spark comes `T m (pickup angle - advance) / 720 - lag` after its edge. Within one ramp of the centrifugal curve the
//! advance is `a + b N`, and N is proportional to 1/T, so that delay is *linear in T*: `T (p - q) - r` with
//! `p = m (pickup angle - a) / 720`, `q = m vacuum / 720` and `r = b f / 6 + lag f`. Thresholds in T choose the ramp. All of
//! it is worked out once, with divisions, when the timetable is made; what is left is a multiplication.
//!
//! Factors of T carry 16 binary places: half a place is at most 0.0055 crank degrees with one pulse in two turns and less with
//! more. Offsets carry 16 binary places of a tick, so a delay is rounded once, to the nearest tick. The clamp's bounds are
//! rounded towards its inside: a spark is never beyond the greatest limit, not by one tick.

mod refusal;
mod timing;

pub use refusal::TimetableError;
pub use timing::Window;

use crate::advance::{AdvanceModel, NONE, Phase, STOPPED_BELOW, VacuumSource, vacuum_advance};
use crate::curve::{Breakpoints, MOST_BREAKPOINTS, VacuumCurve};
use crate::divide::floored;
use crate::dwell::{Dwell, SHORTEST_DWELL};
use crate::limits::Judgements;
use crate::pickup::{Pickup, TWO_TURNS};
use crate::quantity::{Advance, CrankSpeed, Depression, Duration, TickRate, Voltage};
use crate::trim::Trim;

/// The firmware that will use a timetable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Firmware {
    /// How fast its timer counts.
    pub tick_rate: TickRate,
    /// The longest time from an edge, or from a moment that it is asked about, until an order has reached the pin's timer.
    pub latency: Duration,
}

/// A delay that is linear in the period: `T factor - offset`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Line {
    /// In 1/65 536 of a period.
    factor_q16: i32,
    /// In whole ticks, the part below in `offset_q16`.
    offset: i32,
    /// In 1/65 536 of a tick, added to `offset`.
    offset_q16: u16,
}

impl Line {
    const ZERO: Self = Self { factor_q16: 0, offset: 0, offset_q16: 0 };

    const fn new(factor_q16: i64, offset_q16: i64) -> Self {
        Self {
            factor_q16: factor_q16 as i32,
            offset: (offset_q16 >> 16) as i32,
            offset_q16: (offset_q16 & 0xffff) as u16,
        }
    }

    /// The value at a period, less `q_q16` of the period, plus `round_q16` of a tick, rounded down.
    ///
    /// The products stay inside 32 bits for every period up to that of 30 crank rpm: there m T is at most 8e8 ticks, and no
    /// factor passes m/2 outside a ramp; inside one, the product is the delay plus the offset, at most 8e8 + 3.4e7.
    const fn at(&self, period: u32, q_q16: i32, round_q16: u16) -> i32 {
        let (whole, part) = scaled(period, self.factor_q16.wrapping_sub(q_q16));
        let part = part as i32 + round_q16 as i32 - self.offset_q16 as i32;
        whole.wrapping_sub(self.offset).wrapping_add(part >> 16)
    }
}

/// Ticks times a factor in 1/65 536: whole ticks, rounded down, and the 1/65 536 that remain. No wider product than 32 bits.
pub(crate) const fn scaled(ticks: u32, factor_q16: i32) -> (i32, u16) {
    let (factor_whole, factor_part) = (factor_q16 >> 16, factor_q16 as u16 as u32);
    let (high, low) = (ticks >> 16, ticks & 0xffff);
    let low_product = low * factor_part;
    // A chip multiplies in 8 bits: most periods are shorter than 65 536 ticks, and most factors less than 2.
    let mut whole = match factor_whole {
        0 => 0,
        1 => ticks as i32,
        _ => (ticks as i32).wrapping_mul(factor_whole),
    };
    if high > 0 {
        whole = whole.wrapping_add((high * factor_part) as i32);
    }
    let whole = whole.wrapping_add((low_product >> 16) as i32);
    (whole, low_product as u16)
}

/// A model, a pickup and a coil in the ticks of one firmware.
///
/// Periods and delays are in ticks. A period of `u32::MAX` or 0 is as good as any other: it is taken as that of 30 crank rpm
/// or as the shortest there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Timetable {
    /// One line for each ramp of the centrifugal curve and its two flat ends, from slow to fast.
    running: [Line; MOST_BREAKPOINTS + 1],
    /// The shortest period of each line but the last.
    from: [u32; MOST_BREAKPOINTS],
    breakpoints: u8,
    cranking: Line,
    held: Line,
    /// The delay of the greatest and of the least advance there may be, running or held.
    earliest: Line,
    latest: Line,
    /// Whether a sum of this model can come so near to one of these that a rounding matters.
    clamp_can_act: bool,
    /// The delay of the greatest advance there may be while cranking.
    earliest_cranking: Line,
    vacuum: Option<(VacuumSource, VacuumCurve)>,
    pub(crate) trim: Trim,
    pulses: u8,
    pub(crate) times: Times,
    dwell: Breakpoints,
}

/// The other figures that the sequencer needs, in ticks or as it says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(crate) struct Times {
    /// The period of 30 crank rpm. Anything longer is a stop.
    pub stopped: u32,
    /// The period of 5/4 of the highest speed. Anything shorter is not looked at.
    pub too_fast: u32,
    /// Periods at which the phase changes.
    pub cranking_above: u32,
    pub running_to: u32,
    pub no_spark_below: u32,
    pub spark_again_above: u32,
    /// The last two with the advance held.
    pub no_held_spark_below: u32,
    pub held_spark_again_above: u32,
    /// The shortest and the largest dwell, and the burn time.
    pub shortest_dwell: u32,
    pub largest_dwell: u32,
    pub burn: u32,
    /// Largest duty in 1/65 536 of a period.
    pub duty_q16: i32,
    /// The firmware's latency, rounded up.
    pub latency: u32,
    /// How long after a flank no other is looked at, rounded up.
    pub bounce: u32,
    /// The lag, rounded down.
    pub lag: u32,
    /// From the second flank to the next first one, in 1/65 536 of a period, rounded down; 0 where the pickup gives no second flank.
    pub after_second_flank_q16: i32,
    /// The pickup is a reluctor: its crossing times the spark of the next pulse.
    pub times_next_pulse: bool,
    /// While cranking, a dwell may begin by the moving flank: even a spark there would be inside the greatest cranking limit.
    pub dwell_by_moving_flank: bool,
    /// How much of a period there is at least between the two flanks of one pulse, in 1/65 536.
    pub between_flanks_q16: u16,
    /// How much a window is widened, in 1/65 536 of a period: T/128 and four times the spread.
    pub widening_q16: i32,
    /// Of the acceleration: see [`Timetable::change`].
    pub change_shift: i8,
    pub change_per_square: u32,
    pub change_top: u32,
    /// How much vacuum advance and trim may be added in 65 536 ticks, in steps of an advance.
    pub vacuum_rate: u32,
    /// Ticks in a second.
    pub second: u32,
}

impl Timetable {
    /// The timetable of a model, a pickup and a coil for one firmware.
    ///
    /// # Errors
    /// [`TimetableError`] when a spark of the model cannot be timed, with the speed and what is missing.
    pub const fn new(
        model: &AdvanceModel,
        pickup: &Pickup,
        dwell: &Dwell,
        firmware: &Firmware,
    ) -> Result<Self, TimetableError> {
        if let Err(error) = refusal::refuse_firmware(model, pickup, dwell, firmware) {
            return Err(error);
        }
        let s = model.settings();
        let p = pickup.settings();
        let lines = Lines { pickup, rate: firmware.tick_rate };
        let mut running = [Line::ZERO; MOST_BREAKPOINTS + 1];
        let mut from = [0; MOST_BREAKPOINTS];
        let breakpoints = s.centrifugal.count();
        let mut i = 0;
        while i < breakpoints && i < MOST_BREAKPOINTS {
            let (speed, advance) = s.centrifugal.breakpoint(i);
            from[i] = timing::period_up(speed, p.pulses_in_two_turns, firmware.tick_rate);
            running[i] = if i == 0 {
                lines.flat(s.initial.bits() + advance.bits())
            } else {
                lines.ramp(s.initial, s.centrifugal.breakpoint(i - 1), (speed, advance))
            };
            i += 1;
        }
        let (_, at_top) = s.centrifugal.breakpoint(MOST_BREAKPOINTS);
        running[breakpoints] = lines.flat(s.initial.bits() + at_top.bits());
        let (least, greatest) = model.clamp_of(Phase::Running);
        // A reluctor has no spark later than its own crossing.
        let least = if pickup.times_next_pulse() && least.bits() < p.angle.bits() {
            Advance::saturating_from_bits(p.angle.bits())
        } else {
            least
        };
        let (_, greatest_cranking) = model.clamp_of(Phase::Cranking);
        let table = Self {
            running,
            from,
            breakpoints: breakpoints as u8,
            cranking: lines.flat(s.cranking.bits()),
            held: lines.flat(s.held.bits()),
            earliest: lines.bound(greatest, true),
            latest: lines.bound(least, false),
            clamp_can_act: lines.come_near(model, least, greatest),
            earliest_cranking: lines.bound(greatest_cranking, true),
            vacuum: match s.vacuum {
                Some(vacuum) => Some((vacuum.source, vacuum.curve)),
                None => None,
            },
            trim: *model.trim(),
            pulses: p.pulses_in_two_turns,
            times: timing::times(model, pickup, dwell, firmware),
            dwell: dwell.settings().curve.raw().in_ticks(firmware.tick_rate),
        };
        match refusal::refuse_sparks(&table, model, pickup, dwell, firmware) {
            Ok(()) => Ok(table),
            Err(error) => Err(error),
        }
    }

    /// How many ticks after its edge the spark is ordered, at a period and with a vacuum advance, and its trim, already worked out.
    ///
    /// Rounded to the nearest tick; within one tick and 0.02 crank degrees of the model everywhere, and never so early that
    /// the order plus the lag passes the phase's greatest limit. Stopped and overspeed are answered as running.
    #[must_use]
    pub const fn delay(&self, phase: Phase, period: u32, vacuum: Advance) -> u32 {
        // The caller's vacuum advance may be more than this model's.
        self.delay_within(true, phase, period, self.share_of_period(vacuum))
    }

    /// The same with the vacuum advance as a share of the period: see [`share_of_period`](Self::share_of_period).
    pub(crate) const fn delay_of_share(&self, phase: Phase, period: u32, vacuum_q16: i32) -> u32 {
        self.delay_within(self.clamp_can_act, phase, period, vacuum_q16)
    }

    const fn delay_within(&self, clamp: bool, phase: Phase, period: u32, vacuum_q16: i32) -> u32 {
        let period = if period > self.times.stopped { self.times.stopped } else { period };
        let delay = match phase {
            Phase::Cranking => {
                let delay = self.cranking.at(period, 0, HALF);
                let earliest = self.earliest_cranking.at(period, 0, UP);
                if delay < earliest { earliest } else { delay }
            }
            Phase::Held if clamp => self.clamped(self.held.at(period, 0, HALF), period),
            Phase::Held => self.held.at(period, 0, HALF),
            Phase::Running | Phase::Stopped | Phase::Overspeed => {
                let delay = self.running_line(period).at(period, vacuum_q16, HALF);
                if clamp { self.clamped(delay, period) } else { delay }
            }
        };
        // The refusals leave no negative delay at a period of the engine's range; a shorter one is answered with "at once".
        if delay < 0 { 0 } else { delay as u32 }
    }

    /// What the vacuum unit gives at a depression once it has followed it; `None` is a failed or absent sensor.
    #[must_use]
    pub const fn vacuum_advance(&self, depression: Option<Depression>, throttle_closed: bool) -> Advance {
        match &self.vacuum {
            Some((source, curve)) => vacuum_advance(*source, curve, depression, throttle_closed),
            None => NONE,
        }
    }

    /// How many ticks a second it was made for.
    #[must_use]
    pub const fn tick_rate(&self) -> TickRate {
        TickRate::saturating_from_bits(self.times.second)
    }

    /// The latency of the firmware in ticks, rounded up.
    #[must_use]
    pub const fn latency(&self) -> u32 {
        self.times.latency
    }

    /// The largest dwell in ticks, rounded down.
    #[must_use]
    pub const fn largest_dwell(&self) -> u32 {
        self.times.largest_dwell
    }

    /// The dwell in ticks that the coil needs at a battery voltage, before it is shortened to the largest duty.
    #[must_use]
    pub const fn dwell(&self, battery: Voltage) -> u32 {
        self.dwell.at(battery.bits() as u32) as u32
    }

    /// The dwell of a battery that nobody has measured: the one for the highest voltage, for too short is safer than too long.
    #[must_use]
    pub const fn dwell_of_unknown_battery(&self) -> u32 {
        self.dwell.get(MOST_BREAKPOINTS).1 as u32
    }

    /// The period in ticks of a speed, rounded to the nearest: `120 f / (m N)`; that of 30 crank rpm for anything slower.
    #[must_use]
    pub const fn period_of(&self, speed: CrankSpeed) -> u32 {
        if speed.bits() < STOPPED_BELOW.bits() {
            return self.times.stopped;
        }
        let twice = 240 * self.times.second as u64 * CrankSpeed::STEP as u64;
        let per_tick = self.pulses as u64 * speed.bits() as u64;
        (floored(twice as i64, per_tick as i64) as u64).div_ceil(2) as u32
    }

    const fn running_line(&self, period: u32) -> &Line {
        let mut i = 0;
        while i < self.breakpoints as usize && i < MOST_BREAKPOINTS && period < self.from[i] {
            i += 1;
        }
        &self.running[i]
    }

    /// A delay within those of the greatest and the least advance. Where both bind, the later one wins.
    const fn clamped(&self, delay: i32, period: u32) -> i32 {
        let latest = self.latest.at(period, 0, 0);
        let delay = if delay > latest { latest } else { delay };
        let earliest = self.earliest.at(period, 0, UP);
        if delay < earliest { earliest } else { delay }
    }

    /// m advance / 720, in 1/65 536 of a period, rounded to the nearest. A division: worked out when a sample arrives, not at each edge.
    pub(crate) const fn share_of_period(&self, advance: Advance) -> i32 {
        const { assert!(Advance::STEP == 1 << 16, "an advance and a factor have the same binary places") }
        floored(self.pulses as i64 * advance.bits() as i64 + 360, 720) as i32
    }
}

/// Rounds to the nearest tick.
const HALF: u16 = 1 << 15;
/// Rounds up to a whole tick: later.
const UP: u16 = u16::MAX;

/// Makes lines for one pickup and tick rate.
struct Lines<'a> {
    pickup: &'a Pickup,
    rate: TickRate,
}

impl Lines<'_> {
    const fn lag_q16(&self) -> i64 {
        self.pickup.settings().lag.ticks_q16(self.rate) as i64
    }

    const fn pulses(&self) -> i64 {
        self.pickup.settings().pulses_in_two_turns as i64
    }

    /// The delay of an advance that does not change with speed.
    const fn flat(&self, advance: i32) -> Line {
        Line::new(nearest(self.pickup.pulses_of_way(advance) * 65_536, TWO_TURNS as i64), self.lag_q16())
    }

    /// The delay of a bound of the clamp, rounded towards the inside of the limits.
    const fn bound(&self, advance: Advance, earliest: bool) -> Line {
        let way = self.pickup.pulses_of_way(advance.bits()) * 65_536;
        let factor = way.div_euclid(TWO_TURNS as i64);
        let exact = way.rem_euclid(TWO_TURNS as i64) == 0;
        Line::new(if earliest && !exact { factor + 1 } else { factor }, self.lag_q16())
    }

    /// Whether a running or held sum lies outside the bounds of the clamp, or so near to one that rounding could bring it there.
    ///
    /// A sum that is `room` inside a bound differs from it by `m room / 720` of a period. Line, vacuum share and bound are rounded by
    /// less than 2/65 536 of a period together, their offsets and the delay itself by less than 3 ticks.
    const fn come_near(&self, model: &AdvanceModel, least: Advance, greatest: Advance) -> bool {
        let Judgements([most, _, _, fewest]) = model.judge();
        let (above, below) = (greatest.bits() - most.worst.sum.bits(), fewest.worst.sum.bits() - least.bits());
        let room = if above < below { above } else { below };
        let share_q16 = floored(self.pulses() * room as i64, 720);
        let top = model.settings().speeds.no_spark_above;
        let shortest = timing::period_up(top, self.pickup.settings().pulses_in_two_turns, self.rate) as i64 / 2;
        (share_q16 - 2) * shortest < 3 * 65_536
    }

    /// The delay on a ramp: `a = A0 - b N0`, `b = (A1 - A0) / (N1 - N0)`.
    const fn ramp(&self, initial: Advance, left: (CrankSpeed, Advance), right: (CrankSpeed, Advance)) -> Line {
        let (n0, n1) = (left.0.bits() as i64, right.0.bits() as i64);
        let rise = right.1.bits() as i64 - left.1.bits() as i64;
        let run = n1 - n0;
        let way = self.pickup.pulses_of_way(initial.bits() + left.1.bits());
        // 30 + 23 bits, plus 23 + 23 and 4 for the pulses: under 2^54.
        let factor = nearest(way * run + self.pulses() * rise * n0, 720 * run);
        // b f / 6: 23 + 28 + 8 bits are under 2^60.
        let offset = nearest(rise * self.rate.bits() as i64 * CrankSpeed::STEP as i64, 6 * run);
        Line::new(factor, offset + self.lag_q16())
    }
}

/// A quotient rounded to the nearest whole number.
const fn nearest(dividend: i64, divisor: i64) -> i64 {
    floored(dividend + divisor / 2, divisor)
}

pub(crate) const fn shortest_dwell(rate: TickRate) -> u32 {
    SHORTEST_DWELL.ticks_up(rate)
}
