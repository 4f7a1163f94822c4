//! The sequencer's figures in ticks, and between which intervals an engine's next edge can come.

use super::{Firmware, Times, Timetable, scaled, shortest_dwell};
use crate::advance::{AdvanceModel, STOPPED_BELOW};
use crate::divide::floored;
use crate::dwell::Dwell;
use crate::pickup::{Pickup, TWO_TURNS};
use crate::quantity::{AdvanceRate, CrankSpeed, TickRate};

/// 120 f / (m N) in ticks, rounded down; a standing crank has the longest.
const fn period_down(speed: CrankSpeed, pulses: u8, rate: TickRate) -> u32 {
    narrowed(ticks_of_two_turns(rate), pulses as u64 * speed.bits() as u64, false)
}

/// 120 f / (m N) in ticks, rounded up; a standing crank has the longest.
pub(super) const fn period_up(speed: CrankSpeed, pulses: u8, rate: TickRate) -> u32 {
    narrowed(ticks_of_two_turns(rate), pulses as u64 * speed.bits() as u64, true)
}

/// The ticks of two turns at one step of a speed: 120 x 256 f, under 2^43.
const fn ticks_of_two_turns(rate: TickRate) -> u64 {
    120 * CrankSpeed::STEP as u64 * rate.bits() as u64
}

const fn narrowed(ticks: u64, divisor: u64, up: bool) -> u32 {
    if divisor == 0 {
        return u32::MAX;
    }
    let round = if up { divisor - 1 } else { 0 };
    let quotient = floored((ticks + round) as i64, divisor as i64) as u64;
    if quotient > u32::MAX as u64 { u32::MAX } else { quotient as u32 }
}

pub(super) const fn times(model: &AdvanceModel, pickup: &Pickup, dwell: &Dwell, firmware: &Firmware) -> Times {
    let speeds = &model.settings().speeds;
    let held = speeds.held();
    let p = pickup.settings();
    let d = dwell.settings();
    let rate = firmware.tick_rate;
    let pulses = p.pulses_in_two_turns;
    let change = Change::new(p.greatest_acceleration.bits(), pulses, rate);
    let fastest = 5 * pulses as u64 * speeds.no_spark_above.bits() as u64;
    let spread_q16 = (4 * pulses as i64 * p.pulse_spread.bits() as i64 * 65_536 / TWO_TURNS as i64) as i32;
    Times {
        stopped: period_down(STOPPED_BELOW, pulses, rate),
        too_fast: narrowed(4 * ticks_of_two_turns(rate), fastest, false),
        cranking_above: period_down(speeds.cranking_below, pulses, rate),
        running_to: period_down(speeds.running_from, pulses, rate),
        no_spark_below: period_up(speeds.no_spark_above, pulses, rate),
        spark_again_above: period_down(speeds.spark_again_below, pulses, rate),
        no_held_spark_below: period_up(held.no_spark_above, pulses, rate),
        held_spark_again_above: period_down(held.spark_again_below, pulses, rate),
        shortest_dwell: shortest_dwell(rate),
        largest_dwell: d.largest.ticks(rate),
        burn: d.burn_time.ticks_up(rate),
        duty_q16: d.largest_duty.bits() as i32,
        latency: firmware.latency.ticks_up(rate),
        bounce: p.bounce.ticks_up(rate),
        lag: p.lag.ticks(rate),
        after_second_flank_q16: match p.second_flank_angle {
            Some(second) => {
                let to_second = pulses as i64 * (p.angle.bits() - second.bits()) as i64;
                floored((TWO_TURNS as i64 - to_second) * 65_536, TWO_TURNS as i64) as i32
            }
            None => 0,
        },
        times_next_pulse: pickup.times_next_pulse(),
        dwell_by_moving_flank: match p.moving_flank {
            Some(moving) => moving.earliest.bits() <= model.settings().limits.greatest_cranking.bits(),
            None => false,
        },
        between_flanks_q16: match p.moving_flank {
            Some(moving) => {
                let between = pulses as i64 * (moving.latest.bits() - p.angle.bits()) as i64;
                // The crank is at most four times as fast there as over the whole pulse: see `Sequencer`.
                floored(between * 65_536, 4 * TWO_TURNS as i64) as u16
            }
            None => 0,
        },
        widening_q16: 65_536 / 128 + spread_q16 + 1,
        change_shift: change.shift,
        change_per_square: change.per_square,
        change_top: change.top,
        vacuum_rate: match &model.settings().vacuum {
            // 720 crank degrees a second at 1 kHz are just inside 32 bits.
            Some(vacuum) => added_in_65_536_ticks(vacuum.greatest_rate, rate),
            None => added_in_65_536_ticks(crate::trim::RATE_WITHOUT_VACUUM, rate),
        },
        second: rate.bits(),
    }
}

const fn added_in_65_536_ticks(most: AdvanceRate, rate: TickRate) -> u32 {
    floored(most.bits() as i64 * 65_536, rate.bits() as i64) as u32
}

/// How to work out `x = a m T^2 / 120`, the change of speed over one period as a share of the speed (a in crank rpm a second,
/// T in seconds), with two 16-bit products. With `x`, constant acceleration and one period T behind, the next period is `y T`:
/// `(1 -+ x/2) y -+ x y^2 / 2 = 1`.
struct Change {
    /// T is shifted right by this many places (left where negative) to fit 16 bits at `top`.
    shift: i8,
    /// `x` in 1/16 384 for each 65 536 of the shifted square, in 1/65 536.
    per_square: u32,
    /// The period where `x` is 5/8. Beyond it the widest window is used.
    top: u32,
}

/// 5/8 in 1/16 384.
const FIVE_EIGHTHS_Q14: u64 = 10_240;
/// The greatest `x` for which the longest next period is at most 7/4 T: `0.75 = 2.40625 x`. Above it the engine could stop.
const COULD_STOP_Q14: u32 = 5_106;

impl Change {
    const fn new(acceleration: u32, pulses: u8, rate: TickRate) -> Self {
        let f = rate.bits() as u64;
        // 120 x 5/8 f^2 is under 2^62.
        let top = (floored((75 * f * f) as i64, acceleration as i64 * pulses as i64) as u64).isqrt();
        let mut shift = 0;
        let mut shifted = if top > 0 { top } else { 1 };
        while shifted >= 65_535 {
            shifted >>= 1;
            shift += 1;
        }
        while shifted < 32_767 {
            shifted <<= 1;
            shift -= 1;
        }
        let square = shifted * shifted;
        let per_square = (FIVE_EIGHTHS_Q14 << 32).div_ceil(square);
        Self { shift, per_square: per_square as u32, top: if top > u32::MAX as u64 { u32::MAX } else { top as u32 } }
    }
}

/// Between which intervals after an edge the next one is believed, in ticks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Window {
    /// The shortest interval: 3/8 of the period or what the greatest acceleration allows, whichever is longer, less T/128 and
    /// four times the pickup's spread.
    pub lo: u32,
    /// The longest interval: 7/4 of the period or what the greatest deceleration allows, whichever is shorter, plus T/128 and
    /// four times the pickup's spread; never more than the period of 30 crank rpm.
    pub hi: u32,
    /// The longest interval as a multiple of the period, in 1/65 536, before it is kept to that of 30 crank rpm.
    pub slowest_q16: i32,
    /// Whether the engine could stop before its next edge.
    pub could_stop: bool,
}

impl Timetable {
    /// `x` of a period in 1/16 384, rounded up; `None` above 5/8.
    pub(crate) const fn change(&self, period: u32) -> Option<u32> {
        let t = &self.times;
        if period > t.change_top {
            return None;
        }
        let shifted = if t.change_shift >= 0 {
            (period >> (t.change_shift as u32 & 31)) + 1
        } else {
            period << (t.change_shift.unsigned_abs() as u32 & 31)
        };
        // At the top, 65 535 squared and 40 960 x 65 536 just fit 32 bits.
        let square = (shifted.wrapping_mul(shifted) >> 16) + 1;
        Some((square.wrapping_mul(t.change_per_square) >> 16) + 1)
    }

    /// Whether the engine could stop before the edge that follows a period. x grows with the square of the period: it reaches what
    /// a window's is kept to at 0.70614 of the period where it is 5/8; 45/64 is a little less.
    pub(crate) const fn could_stop(&self, period: u32) -> bool {
        let top = self.times.change_top;
        period > (top >> 1) + (top >> 3) + (top >> 4) + (top >> 6)
    }

    /// The window of the edge that follows a period.
    ///
    /// `y <= 1 + x + 4.52 x^2` up to x = 0.3117, and `y >= 1 - x + 0.72 x^2` up to x = 5/8, by the equation of `Change`:
    /// both ends were worked out in double precision on 200 000 values of x (largest 4.512, least 0.726), and are held by a test.
    #[must_use]
    pub const fn window(&self, period: u32) -> Window {
        self.window_of_change(period, self.change(period))
    }

    /// The window of the edge that follows a period which is half of the interval over a lost edge. Its mean speed lies a whole
    /// period back and not half of one, which an acceleration of twice the size covers.
    pub(crate) const fn window_after_lost(&self, period: u32) -> Window {
        let change = match self.change(period) {
            Some(x) if 2 * x <= FIVE_EIGHTHS_Q14 as u32 => Some(2 * x),
            _ => None,
        };
        self.window_of_change(period, change)
    }

    const fn window_of_change(&self, period: u32, change: Option<u32>) -> Window {
        let period = if period > self.times.stopped { self.times.stopped } else { period };
        let (widening, _) = scaled(period, self.times.widening_q16);
        // One tick for the period's own rounding and one for this.
        let widening = widening as u32 + 2;
        let mut shortest_q16 = 3 << 13;
        let mut longest_q16 = 7 << 14;
        let mut could_stop = true;
        if let Some(x) = change {
            let square_q16 = (x * x) >> 12;
            let lo = (65_536 - 4 * x + ((square_q16 * 737) >> 10)) as i32;
            if lo > shortest_q16 {
                shortest_q16 = lo;
            }
            if x <= COULD_STOP_Q14 {
                longest_q16 = (65_536 + 4 * x + ((square_q16 * 4_629) >> 10) + 2) as i32;
                could_stop = false;
            }
        }
        let (shortest, _) = scaled(period, shortest_q16);
        let slowest_q16 = longest_q16 + self.times.widening_q16;
        let (longest, _) = scaled(period, slowest_q16);
        let hi = (longest as u32).saturating_add(2);
        Window {
            lo: (shortest as u32).saturating_sub(widening),
            // An edge later than that is the first after a stop.
            hi: if hi > self.times.stopped { self.times.stopped } else { hi },
            slowest_q16,
            could_stop,
        }
    }

    /// Whether a dwell can begin before its edge, with a delay of this share of the period: the engine cannot stop before the
    /// edge, and waiting for the slowest one leaves at least the shortest dwell before the expected spark.
    pub(crate) const fn dwell_can_precede(&self, period: u32, share_q16: i32) -> bool {
        let window = self.window(period);
        let (wait, _) = scaled(period, window.slowest_q16 - 65_536);
        let (wait_of_spark, _) = scaled(wait as u32, share_q16);
        !window.could_stop && (wait + wait_of_spark + 4) as u32 + self.times.shortest_dwell <= self.times.largest_dwell
    }
}
