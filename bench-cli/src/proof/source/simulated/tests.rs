//! The whole way, byte by byte: commands, flanks, the core's sequencer, sparks, events. Wanted angles come from the curve's own
//! formula in `f64`; angles measured, from the commanded motion: 6 N degrees a second.
// Test figures are small and chosen; what a cast could lose is not there.
#![allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, clippy::cast_sign_loss, clippy::float_cmp)]

mod engine;
mod motion;
mod overdue;
#[cfg(unix)]
mod serial_port;
mod steady;

use std::io::{Read, Write};

use bobweight::{Firmware, Timetable};
use bobweight_wire::{EventKind, HostMessage, Intake, PickupPattern, RunLength, TimingEdge};

use super::bench::SIMULATED_TICK_RATE;
use super::*;
use crate::link::{Event, Link};
use engine::{engine, volts};

const TICKS: f64 = SIMULATED_TICK_RATE as f64;

/// The curve's own formula.
fn wanted(rpm: f64, kpa: f64) -> f64 {
    let between =
        |x: f64, (x0, y0): (f64, f64), (x1, y1): (f64, f64)| y0 + (y1 - y0) * ((x - x0) / (x1 - x0)).clamp(0.0, 1.0);
    let centrifugal = if rpm < 1700.0 {
        between(rpm, (900.0, 0.0), (1700.0, 12.0))
    } else {
        between(rpm, (1700.0, 12.0), (3300.0, 20.0))
    };
    8.0 + centrifugal + between(kpa, (16.0, 0.0), (40.0, 10.0))
}

fn timetable(imperfections: &Imperfections) -> (Timetable, Firmware) {
    let (model, pickup, dwell, firmware) = engine();
    let ignition = ImperfectIgnition::new(&model, &pickup, imperfections).unwrap();
    (ignition.timetable(&dwell, &firmware).unwrap(), firmware)
}

fn pattern() -> HostMessage {
    HostMessage::Pattern(PickupPattern {
        pulses_in_two_turns: 4,
        timing: bobweight_wire::CrankAngle(60 * 256),
        second: Some(bobweight_wire::CrankAngle(8 * 256)),
        timing_edge: TimingEdge::Falling,
    })
}

fn with_bench<R>(
    imperfections: Imperfections,
    seed: u64,
    run: impl FnOnce(&mut Link<SimulatedBench<CoreIgnition<'_>>>) -> R,
) -> R {
    let (table, firmware) = timetable(&imperfections);
    let ignition = CoreIgnition::new(&table, firmware, volts(12));
    let mut link = SimulatedBench::new(ignition, imperfections, seed).link().unwrap();
    link.request(pattern()).unwrap();
    run(&mut link)
}

fn wire_speed(rpm: f64) -> bobweight_wire::CrankSpeed {
    bobweight_wire::CrankSpeed((rpm * 256.0) as u32)
}

/// The events of one run, from its first flank to its end.
fn run<S: Read + Write>(link: &mut Link<S>, cycles: u32) -> Vec<Event> {
    let sequence = link.request(HostMessage::Run(RunLength::Cycles(cycles))).unwrap();
    let mut events = link.events().map(Result::unwrap);
    let _ = events.by_ref().take_while(|event| event.kind != EventKind::Begun(sequence)).count();
    events.take_while(|event| event.kind != EventKind::Finished).collect()
}

/// Angle BTDC of every spark: each belongs to the last timing flank, 60 degrees BTDC, and the crank turns steadily.
fn steady_angles(events: &[Event], rpm: f64) -> Vec<f64> {
    let mut flank = None;
    let mut angles = Vec::new();
    for event in events {
        match event.kind {
            EventKind::Timing => flank = Some(event.at),
            EventKind::CoilOff => {
                if let Some(flank) = flank {
                    angles.push(60.0 - 6.0 * rpm * (event.at - flank) as f64 / TICKS);
                }
            }
            _ => {}
        }
    }
    angles
}

fn settle<S: Read + Write>(link: &mut Link<S>, rpm: f64, kpa: f64) {
    let intake = Intake { depression: bobweight_wire::Depression((kpa * 256.0) as u16), throttle_closed: false };
    link.request(HostMessage::Intake(intake)).unwrap();
    link.request(HostMessage::Speed(wire_speed(rpm))).unwrap();
    run(link, 8);
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn deviation(values: &[f64]) -> f64 {
    let mean = mean(values);
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (values.len() - 1) as f64).sqrt()
}
