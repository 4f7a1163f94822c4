//! Sparks while the starter turns the engine, and while it catches.
//!
//! With a second flank a spark comes after it, whatever the crank does. Without one it is timed from the timing flank by the
//! period before, and a starter drags the crank over each compression slower than between them: the spark comes as
//! early as that makes it. A reluctor's crossing is such a second flank.

use super::cells::{Ordered, Widest};
use super::swing::{fastest_over_mean_q16, turned_while_cranking};
use super::{Angles, Rule, SparkList};
use crate::divide::floored;
use crate::quantity::{CrankSpeed, Voltage};

impl SparkList<'_> {
    /// The flank that a cranking spark comes after, whatever the crank does.
    fn second_flank(&self) -> Option<i64> {
        self.crossing().or(self.pickup.settings().second_flank_angle.map(|angle| i64::from(angle.bits())))
    }

    pub(super) fn cranking_rule(&self) -> Rule {
        match self.second_flank() {
            Some(_) if self.crossing().is_some() => Rule::ZeroCrossing,
            Some(_) => Rule::SecondFlank,
            None => Rule::Swing,
        }
    }

    /// Whether anything but its flank bounds the sparks of an engine that catches.
    pub(super) fn catches_gently(&self) -> bool {
        self.second_flank().is_some() && self.change_q16(self.model.settings().speeds.cranking_below) < 5 << 14
    }

    pub(super) fn catching_rule(&self) -> Rule {
        match self.catches_gently() {
            // Two pulses in a period end no cranking of a reluctor's engine: the flanks of the first were not a whole pulse.
            true if self.crossing().is_some() => Rule::ZeroCrossing,
            true => Rule::TwoPulses,
            false => Rule::Nothing,
        }
    }

    /// The fastest that the starter alone ever turns the crank, in 1/256 crank rpm.
    pub(super) fn starters_fastest(&self) -> i64 {
        let starter = &self.around.starter;
        ((i64::from(starter.fastest.bits()) * fastest_over_mean_q16(starter.swing)) >> 16) + 1
    }

    /// What the crank turns in a dwell and the lag at most, from a speed in 1/256 crank rpm that rises by `rise` crank rpm a second.
    #[inline(never)]
    pub(super) fn turned_in_dwell(&self, speed: i64, rise: i64, dwell_ns: i64) -> i64 {
        let time = dwell_ns + i64::from(self.pickup.settings().lag.bits());
        // 6 N t with N in 1/256, t in ns and an angle in 1/65 536; and 3 a t^2, with t in us so that it fits.
        let even = 6 * 256 * speed * (time / 1_000 + 1) / 1_000_000;
        let microseconds = time / 1_000 + 1;
        let gained = 3 * rise * microseconds / 1_000 * microseconds / 1_000 * 65_536 / 1_000_000;
        even + gained + 2
    }

    #[inline(never)]
    fn at_second_flank(&self, second: i64, speed: i64, rise: i64, dwell_ns: i64) -> Widest {
        let fastest = CrankSpeed::saturating_from_bits(speed as u32);
        let rounding = self.rounding(fastest);
        self.alone(
            second + self.spread() + rounding,
            second - self.spread() - rounding - self.turned_in_dwell(speed, rise, dwell_ns),
            fastest,
        )
    }

    /// One range that belongs to no cell; old weights are at rest then.
    #[inline(never)]
    pub(super) fn alone(&self, earliest: i64, latest: i64, at: CrankSpeed) -> Widest {
        let at_rest = self
            .around
            .cap
            .as_ref()
            .and_then(|cap| cap.carried.as_ref())
            .map_or(0, |curve| curve.at(CrankSpeed::MIN).bits());
        Widest::of(earliest, latest, at, self.line_up(), i64::from(at_rest))
    }

    /// The starter alone, with the battery between two voltages.
    pub(super) fn cranking(&self, battery: [Voltage; 2]) -> Angles {
        self.cranking_widest(battery).angles()
    }

    #[inline(never)]
    pub(super) fn cranking_widest(&self, battery: [Voltage; 2]) -> Widest {
        let fastest = self.starters_fastest();
        let at = CrankSpeed::saturating_from_bits(fastest as u32);
        if let Some(second) = self.second_flank() {
            return self.at_second_flank(second, fastest, 0, self.longest_dwell_ns(battery));
        }
        let wanted = i64::from(self.model.settings().cranking.bits());
        let f_q16 = self.delay_q16(wanted);
        let time_q32 = u32::try_from(floored((self.flank() - wanted).max(0) << 32, self.pulse())).unwrap_or(u32::MAX);
        let [least, most] = turned_while_cranking(time_q32, self.around.starter.swing);
        let slack = self.spread() + ((2 * self.spread() * f_q16) >> 16) + self.rounding(at);
        let earliest = self.flank() - ((self.pulse() * least) >> 32) + slack;
        let latest = self.flank() - ((self.pulse() * most) >> 32) - 1 - slack;
        self.alone(earliest.min(self.flank() + self.spread()), latest, at)
    }

    /// Still cranking by the last period, or just running by it, and already faster than it says.
    ///
    /// An engine that catches can gather speed so fast that its next edge comes before 3/8 of the last period: it is refused as false, and the
    /// period after it holds two pulses. The crank then turns twice as fast as its period says. Where the change of speed in one period is
    /// as great as the speed itself, even more pulses can lie in it: nothing but the flank itself then bounds the spark.
    pub(super) fn catching(&self) -> Angles {
        self.catching_widest().angles()
    }

    #[inline(never)]
    fn catching_widest(&self) -> Widest {
        let battery = self.around.battery;
        let speeds = &self.model.settings().speeds;
        let cranking = self.cranking_widest(battery.cranking);
        let x = self.change_q16(speeds.cranking_below);
        let Some(second) = self.second_flank().filter(|_| self.catches_gently()) else {
            return cranking.a_whole_pulse(self.pulse(), self.line_up());
        };
        let ends = [battery.cranking[0].min(battery.running[0]), battery.cranking[1].max(battery.running[1])];
        let dwell = self.longest_dwell_ns(ends);
        let rise = i64::from(self.pickup.settings().greatest_acceleration.bits());
        let slow = i64::from(speeds.running_from.bits()).max(self.starters_fastest());
        let to_second = self.flank() - second;
        let of_one = gathered(slow, rise, 4 * self.pulse() + to_second);
        let of_two = gathered(2 * slow, rise, 2 * self.pulse() + to_second);
        let by_second_flank = self.at_second_flank(second, of_one.max(of_two), rise, dwell);
        if self.crossing().is_some() {
            // Pulses that come much faster than the period that is believed are taken for noise for a while: the first that are believed may
            // come at any speed.
            let mut at_any_speed = Widest::NONE;
            self.each_cell(speeds.cranking_below, speeds.no_spark_above, Ordered::Running, &mut |cell| {
                let latest = self.latest_by_crossing(cell, 2, dwell).unwrap_or(second);
                at_any_speed.take(second, latest, cell, self.line_up());
            });
            return cranking.and(by_second_flank).and(at_any_speed);
        }
        // Just running: two pulses in the period, and half the change to each.
        let latest = self.late_by_two_pulses(self.least_running(), x / 2);
        cranking.and(by_second_flank).and(self.alone(i64::MIN / 2, latest, speeds.cranking_below))
    }

    /// A running engine that dies passes through cranking, slower and slower.
    #[inline(never)]
    pub(super) fn falling_while_cranking(&self) -> Widest {
        let speed = i64::from(self.model.settings().speeds.running_from.bits());
        let at = CrankSpeed::saturating_from_bits(speed as u32);
        if let Some(second) = self.second_flank() {
            let widest = self.at_second_flank(second, speed, 0, self.longest_dwell_ns(self.around.battery.running));
            return self.without_crossing(speed, 0).map_or(widest, |forced| widest.and(forced));
        }
        // It may stop just past the flank, and the spark then comes there.
        let cranking = i64::from(self.model.settings().cranking.bits());
        self.alone(self.flank() + self.spread(), cranking - self.spread() - self.rounding(at), at)
    }

    /// Cut off while the starter turns the engine.
    #[inline(never)]
    pub(super) fn cut_while_cranking(&self) -> Widest {
        let catching = self.catching_widest();
        if self.second_flank().is_some() {
            return self.without_crossing(0, 0).map_or(catching, |forced| catching.and(forced));
        }
        // Without a second flank dwell begins after the timing flank, at any place up to the spark.
        catching.and(self.alone(self.flank() + self.spread(), self.flank(), self.model.settings().speeds.running_from))
    }
}

/// The speed in 1/256 crank rpm that is gathered from another at `rise` crank rpm a second, so many steps of an angle further on.
#[inline(never)]
pub(super) fn gathered(from: i64, rise: i64, steps: i64) -> i64 {
    // N^2 grows by 2 (a / 6) A with A in degrees, here in 1/65 536 as N^2 is.
    let square = from * from + rise * steps / 3;
    square.unsigned_abs().isqrt() as i64 + 1
}
