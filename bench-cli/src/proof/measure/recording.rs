//! Pairing: from events to pulses with their sparks.

use super::{Measured, Motion, Pulse, Spark};

/// What the stimulator saw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EventKind {
    /// The flank of the pickup that times sparks.
    TimingFlank,
    /// The pickup's other flank.
    SecondFlank,
    /// The coil began to charge.
    CoilOn,
    /// The coil was cut: a spark.
    CoilOff,
}

/// One event at an absolute time of the stimulator's clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Event {
    /// Ticks since the stimulator's clock began, not wrapped.
    pub at_ticks: u64,
    /// What happened.
    pub kind: EventKind,
}

/// The pickup of the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pickup {
    /// Evenly spaced pulses in two crank turns, 1 to 12.
    pub pulses_in_two_turns: usize,
    /// Angle of the timing flank, crank degrees BTDC.
    pub angle: f64,
}

impl Pickup {
    /// Crank degrees from pulse to pulse.
    #[expect(clippy::cast_precision_loss, reason = "at most 12")]
    pub fn spacing(&self) -> f64 {
        720.0 / self.pulses_in_two_turns as f64
    }
}

/// The events of one stretch of one commanded motion.
#[derive(Debug, Clone, Copy)]
pub struct Recording<'a> {
    /// The events in the order of time. Those before `from_ticks` are used for a dwell's start only.
    pub events: &'a [Event],
    /// Length of the stimulator's tick, seconds.
    pub tick_s: f64,
    /// Where the stretch begins, which is time 0 of the motion; after settling for a steady speed.
    pub from_ticks: u64,
    /// Where the stretch ends.
    pub to_ticks: u64,
    /// What was ordered.
    pub motion: Motion,
    /// Which pulse of the two turns the first timing flank in the stretch is, from 0.
    pub first_pulse: usize,
}

/// Why a record cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum MeasureError {
    /// Without flanks nothing says where the crank stands.
    #[error(
        "no timing flank came between tick {from_ticks} and tick {to_ticks}: look whether the stimulator was running"
    )]
    NoFlank {
        /// Begin of the stretch.
        from_ticks: u64,
        /// End of the stretch.
        to_ticks: u64,
    },
    /// The flanks wander off the commanded motion: a wrong clock, or the wrong stretch.
    #[error(
        "the timing flanks wander by {wander:.2} crank degrees against the commanded motion: the stimulator's tick or speed is not what the bench was told"
    )]
    NotTheCommandedMotion {
        /// How far, crank degrees from the first to the last quarter of the stretch.
        wander: f64,
    },
    /// Events must be in order.
    #[error("event {index} lies before the one ahead of it: the record is not in the order of time")]
    NotInOrder {
        /// Which event, from 0.
        index: usize,
    },
}

/// Flanks may wander this far against the commanded motion, crank degrees, before the record is refused.
const GREATEST_WANDER: f64 = 0.1;

/// Pairs the sparks of a record with its pulses; `wanted` is the curve: speed in crank rpm to crank degrees BTDC.
///
/// Only pulses whose whole window lies inside the stretch count, and of those only whole cycles. Errors of half a
/// spacing or more cannot be told from errors the other way.
pub fn measure(record: &Recording<'_>, pickup: Pickup, wanted: &dyn Fn(f64) -> f64) -> Result<Measured, MeasureError> {
    if let Some(before) = record.events.windows(2).position(|w| w[1].at_ticks < w[0].at_ticks) {
        return Err(MeasureError::NotInOrder { index: before + 1 });
    }
    let spacing = pickup.spacing();
    // Turned angle at which pulse 0 has its top dead centre.
    let dead_centre = first_flank(record, spacing)? + pickup.angle;
    let place = |seconds: f64| {
        let speed = record.motion.speed_crank_rpm(seconds);
        let wanted = wanted(speed);
        let turned = record.motion.turned(seconds);
        (speed, wanted, turned, (turned + wanted - dead_centre) / spacing)
    };
    let since = |at_ticks| seconds_between(record.from_ticks, at_ticks, record.tick_s);
    let first = (place(0.0).3 + 0.5).ceil();
    let after_last = (place(since(record.to_ticks)).3 - 0.5).floor() + 1.0;
    let m = pickup.pulses_in_two_turns;
    let count = whole_cycles(after_last - first, m);
    #[expect(clippy::cast_possible_truncation, reason = "a few thousand pulses")]
    let first = first as i64;
    let mut pulses: Vec<Pulse> = (first..)
        .take(count)
        .map(|sequence| Pulse {
            sequence,
            in_cycle: in_cycle(sequence, record.first_pulse, m),
            spark: None,
            extra: Vec::new(),
        })
        .collect();
    let mut on = None;
    for event in record.events {
        match event.kind {
            EventKind::CoilOn => on = Some(event.at_ticks),
            EventKind::CoilOff => {
                let dwell_s = on.take().map(|on| seconds_between(on, event.at_ticks, record.tick_s));
                // A capture shows the tick that has begun: on average the coil was cut half a tick later. Flanks are put out
                // at their tick.
                let (speed_crank_rpm, wanted, turned, position) = place(since(event.at_ticks) + record.tick_s / 2.0);
                let nearest = position.round();
                #[expect(clippy::cast_possible_truncation, reason = "a few thousand pulses")]
                let index = usize::try_from(nearest as i64 - first).ok();
                let Some(pulse) = index.and_then(|index| pulses.get_mut(index)) else { continue };
                let advance = dead_centre + nearest * spacing - turned;
                take(pulse, Spark { at_ticks: event.at_ticks, speed_crank_rpm, advance, wanted, dwell_s });
            }
            EventKind::TimingFlank | EventKind::SecondFlank => {}
        }
    }
    Ok(Measured { pulses_in_two_turns: m, pulses })
}

/// Gives a spark to its pulse: the one nearest to the wanted angle is the pulse's own.
fn take(pulse: &mut Pulse, spark: Spark) {
    match &mut pulse.spark {
        None => pulse.spark = Some(spark),
        Some(own) if spark.error().abs() < own.error().abs() => {
            pulse.extra.push(core::mem::replace(own, spark));
        }
        Some(_) => pulse.extra.push(spark),
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand pulses, never below 0")]
fn whole_cycles(pulses: f64, m: usize) -> usize {
    let pulses = pulses.max(0.0) as usize;
    pulses - pulses % m
}

fn in_cycle(sequence: i64, first_pulse: usize, m: usize) -> usize {
    let (first, m) = (i64::try_from(first_pulse).unwrap_or(0), i64::try_from(m).unwrap_or(1));
    usize::try_from((sequence + first).rem_euclid(m)).unwrap_or(0)
}

/// Seconds from one tick count to another, negative when it lies before.
#[expect(clippy::cast_precision_loss, reason = "differences inside one record are far below 2^52 ticks")]
fn seconds_between(from: u64, to: u64, tick_s: f64) -> f64 {
    if to >= from { (to - from) as f64 * tick_s } else { -((from - to) as f64) * tick_s }
}

/// Turned angle of pulse 0's timing flank: the median of all flanks, so that a lost, added or shifted pulse does not
/// move it, and the truncation of single flanks to a tick averages out.
fn first_flank(record: &Recording<'_>, spacing: f64) -> Result<f64, MeasureError> {
    let (from_ticks, to_ticks) = (record.from_ticks, record.to_ticks);
    let flanks: Vec<f64> = record
        .events
        .iter()
        .filter(|e| e.kind == EventKind::TimingFlank && (from_ticks..=to_ticks).contains(&e.at_ticks))
        .map(|e| record.motion.turned(seconds_between(from_ticks, e.at_ticks, record.tick_s)))
        .collect();
    let Some(&first) = flanks.first() else {
        return Err(MeasureError::NoFlank { from_ticks, to_ticks });
    };
    let departures: Vec<f64> = flanks
        .iter()
        .map(|flank| {
            let turned = flank - first;
            turned - spacing * (turned / spacing).round()
        })
        .collect();
    let quarter = departures.len().div_ceil(4);
    let wander = median(&departures[departures.len() - quarter..]) - median(&departures[..quarter]);
    if wander.abs() > GREATEST_WANDER {
        return Err(MeasureError::NotTheCommandedMotion { wander });
    }
    Ok(first + median(&departures))
}

/// The median of at least one value.
fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 { sorted[middle] } else { f64::midpoint(sorted[middle - 1], sorted[middle]) }
}
