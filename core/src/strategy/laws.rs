//! The laws, each a function that says in words what is broken.

use super::places::{Place, place_choices};
use super::streams::StreamEdge;
use crate::advance::{AdvanceModel, AdvanceSettings, Phase};
use crate::limits::{Judgement, Judgements};
use crate::pickup::{Pickup, TWO_TURNS};
use crate::quantity::Advance;
use crate::sequencer::{Answer, Sequencer};
use crate::timetable::{Firmware, Timetable};
use core::fmt;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestError, TestRunner};
use std::format;
use std::string::String;
use std::vec::Vec;

/// The limits that a model breaks. Written out, one line for each: where, by which sum, and what it is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BrokenLimits(pub Vec<Judgement>);

impl fmt::Display for BrokenLimits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, judgement) in self.0.iter().enumerate() {
            let end = if i == 0 { "" } else { "\n" };
            write!(f, "{end}{}: {judgement}", judgement.limit)?;
        }
        Ok(())
    }
}

impl core::error::Error for BrokenLimits {}

/// The law of limits: at no speed and depression does the sum pass a limit. A proof by [`AdvanceModel::judge`], not a sample.
///
/// # Errors
/// Every limit that is broken, with its worst corner.
pub fn limits(model: &AdvanceModel) -> Result<(), BrokenLimits> {
    let Judgements(judgements) = model.judge();
    let broken: Vec<_> = judgements.into_iter().filter(|judgement| !judgement.holds()).collect();
    if broken.is_empty() { Ok(()) } else { Err(BrokenLimits(broken)) }
}

/// The laws of one place: its sum is no nearer to a limit than the worst corner that the proof found, and its total is
/// within the bounds of the clamp, which acts only on a sum outside them.
///
/// # Errors
/// What is broken. It is a fault of this crate, and no curve can mend it.
pub fn place(model: &AdvanceModel, place: Place) -> Result<(), String> {
    let Place { phase, speed, depression, throttle_closed, trim } = place;
    let margins = model.margins_at(phase, speed, depression, throttle_closed, trim);
    for (judgement, margin) in model.judge().0.iter().zip(margins) {
        if margin.is_some_and(|margin| margin < judgement.margin) {
            return Err(format!("{}: {place:?} is worse than the worst corner, {judgement}", judgement.limit));
        }
    }
    let Some(breakdown) = model.advance_trimmed(phase, speed, depression, throttle_closed, trim) else {
        return Ok(());
    };
    let (least, greatest) = model.clamp_of(phase);
    let (sum, total) = (breakdown.sum, breakdown.total);
    let outside = sum < least.angle() || sum > greatest.angle();
    // Where the limits cross while cranking, the greatest one wins.
    if total > greatest || (total < least && greatest >= least) {
        return Err(format!("at {place:?} the total is {total}, outside {least} to {greatest}"));
    }
    if breakdown.clamped != outside || (!outside && total.angle() != sum) {
        return Err(format!("at {place:?} the clamp makes {total} of {sum}, with {least} to {greatest} allowed"));
    }
    Ok(())
}

/// The law of a spark: the order for a period in ticks, together with the lag, is not beyond the greatest advance of its phase, and what the
/// sequencer orders is that, clamped or not.
///
/// Phases without a spark, and periods beyond that of 30 crank rpm, break nothing.
///
/// # Errors
/// The delay that is too short.
pub fn spark(
    model: &AdvanceModel,
    pickup: &Pickup,
    firmware: &Firmware,
    table: &Timetable,
    (phase, period, vacuum): (Phase, u32, Advance),
) -> Result<(), String> {
    let pulses = i128::from(pickup.settings().pulses_in_two_turns);
    let stopped = 4 * i128::from(firmware.tick_rate.bits()) / pulses;
    if matches!(phase, Phase::Stopped | Phase::Overspeed) || i128::from(period) > stopped {
        return Ok(());
    }
    let delay = table.delay(phase, period, vacuum);
    // The sequencer leaves the clamp out where no sum of the model comes near to it.
    let (least, most) = model.added_range();
    if period >= table.times.too_fast && (least..=most).contains(&vacuum.bits()) {
        let ordered = table.delay_of_share(phase, period, table.share_of_period(vacuum));
        if ordered != delay {
            return Err(format!(
                "{phase:?} at a period of {period} ticks, {vacuum} added: ordered {ordered} ticks after the flank, clamped {delay}"
            ));
        }
    }
    let lag_q16 = i128::from(pickup.settings().lag.ticks_q16(firmware.tick_rate));
    let (_, greatest) = model.clamp_of(phase);
    let way = i128::from(pickup.pulses_of_way(greatest.bits()));
    // The way to the greatest advance, at `two turns` in `pulses` periods; a part of a tick is nobody's to order.
    let least_q16 = way * i128::from(period) * 65_536 / i128::from(TWO_TURNS);
    if (i128::from(delay) << 16) + lag_q16 + 1 < least_q16 {
        return Err(format!(
            "{phase:?} at a period of {period} ticks: ordered {delay} ticks after the flank, beyond the greatest {greatest}"
        ));
    }
    Ok(())
}

/// The law of orders: whatever edges come, no order keeps the coil on for longer than the largest dwell, and none is without
/// an end.
///
/// # Errors
/// The edge and the answer that broke it.
pub fn orders(table: &Timetable, stream: &[StreamEdge]) -> Result<(), String> {
    let largest = table.times.largest_dwell;
    let mut sequencer = Sequencer::new(table);
    let mut order: Option<(u32, u32)> = None;
    let take = |answer: Answer, now: u32, order: &mut Option<(u32, u32)>| -> Result<(), String> {
        let (on, off) = match answer {
            Answer::Nothing => return Ok(()),
            Answer::Cancel => {
                *order = None;
                return Ok(());
            }
            Answer::Order { on, off } => (on, off),
            Answer::MoveOff { off } => (order.map_or(now, |(on, _)| on), off),
        };
        *order = Some((on, off));
        if off.wrapping_sub(on) > largest {
            return Err(format!("{answer:?} at tick {now}: on for more than the largest dwell of {largest} ticks"));
        }
        Ok(())
    };
    let mut now = stream.first().map_or(0, |edge| edge.at);
    for edge in stream {
        let handled = edge.at.wrapping_add(edge.handled_after);
        let handled = if (handled.wrapping_sub(now) as i32) < 0 { now } else { handled };
        // After every coil-off the firmware polls.
        while let Some((_, off)) = order.filter(|(_, off)| (handled.wrapping_sub(*off) as i32) >= 0) {
            now = if (off.wrapping_sub(now) as i32) < 0 { now } else { off };
            order = None;
            take(sequencer.poll(now), now, &mut order)?;
        }
        now = handled;
        take(sequencer.edge(edge.flank, edge.at, now), now, &mut order)?;
    }
    Ok(())
}

/// A model, or a strategy of models: what [`keeps_its_limits!`](crate::keeps_its_limits) takes.
pub trait Models {
    /// The strategy.
    fn models(self) -> BoxedStrategy<AdvanceModel>;
}

impl Models for AdvanceModel {
    fn models(self) -> BoxedStrategy<AdvanceModel> {
        Just(self).boxed()
    }
}

impl<S: Strategy<Value = AdvanceModel> + 'static> Models for S {
    fn models(self) -> BoxedStrategy<AdvanceModel> {
        self.boxed()
    }
}

/// Holds models to the laws of limits and places. The body of [`keeps_its_limits!`](crate::keeps_its_limits).
///
/// # Panics
/// Where a law is broken, with the smallest model that breaks it and the words of the law.
pub fn assert_models_keep_their_limits(name: &str, models: impl Models) {
    let models = models.models();
    let config = || Config { failure_persistence: None, ..Config::default() };
    // The proof first and by itself, so that all shrinking goes into the model.
    let proven = TestRunner::new(config())
        .run(&models, |model| limits(&model).map_err(|broken| TestCaseError::fail(format!("{broken}"))));
    match proven {
        Ok(()) => {}
        Err(TestError::Fail(_, model)) => {
            let words = limits(&model).err().map_or_else(String::new, |broken| format!("{broken}"));
            panic!("{name}: the curve breaks a limit\n{words}\nThe curve: {}", InWords(model.settings()));
        }
        Err(TestError::Abort(reason)) => panic!("{name}: no models to test: {reason}"),
    }
    let places = TestRunner::new(config()).run(&(models, vec(place_choices(), 16)), |(model, choices)| {
        choices.iter().try_for_each(|choice| place(&model, choice.of(&model))).map_err(TestCaseError::fail)
    });
    if let Err(error) = places {
        panic!("{name}: a place is worse than the proof says, a fault of this crate\n{error}");
    }
}

/// The curve of a model in crank degrees.
struct InWords<'a>(&'a AdvanceSettings);

impl fmt::Display for InWords<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let AdvanceSettings { initial, cranking, held, centrifugal, vacuum, .. } = self.0;
        write!(f, "initial {initial}, cranking {cranking}, held {held}; centrifugal")?;
        for i in 0..centrifugal.count() {
            let (speed, advance) = centrifugal.breakpoint(i);
            write!(f, "{} {advance} at {speed}", comma(i))?;
        }
        let Some(vacuum) = vacuum else { return f.write_str("; no vacuum advance") };
        f.write_str("; vacuum")?;
        for i in 0..vacuum.curve.count() {
            let (depression, advance) = vacuum.curve.breakpoint(i);
            write!(f, "{} {advance} at {depression}", comma(i))?;
        }
        Ok(())
    }
}

const fn comma(i: usize) -> &'static str {
    if i == 0 { "" } else { "," }
}
