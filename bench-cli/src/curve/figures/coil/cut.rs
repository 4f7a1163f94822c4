//! The dwell that an ignition really gives at a steady speed: the core's own sequencer is asked, edge by edge.
//!
//! The largest duty, the last spark's burn time and the allowance for an engine that slows down all cut a dwell short, and
//! the core alone knows how.

use crate::curve::circuit::Circuit;
use crate::quantity::of_core::{crank_degrees, depression, speed, voltage};
use crate::record::figures::CutShort;
use crate::sheet::{DwellPoint, Settings, Sheet, SheetError};
use bobweight::quantity::{AdvanceRate, CrankSpeed, Depression, Voltage};
use bobweight::{Answer, Flank, Sequencer};

/// Edges until every step of a start is done: hysteresis, the first period, the dwell before its edge.
const EDGES: u32 = 12;
/// Speeds at which it is asked between idle and the greatest speed.
const SPEEDS: u32 = 200;
/// Rounding to ticks at both ends, ticks.
const ROUNDING: u32 = 3;

/// For each battery voltage, from where the dwell is cut short, with the vacuum advance off.
///
/// # Errors
/// A key that is missing, and a sheet whose sparks cannot be timed.
pub(super) fn cut_short(
    sheet: &Sheet,
    dwell: &[DwellPoint],
    circuit: &Circuit,
    volts: &[f64],
) -> Result<Vec<CutShort>, SheetError> {
    let settings = Settings::with_dwell(sheet, dwell)?;
    let (low, high) = (*sheet.engine.idle_crank_rpm.get()?, *sheet.engine.greatest_speed_crank_rpm.get()?);
    Ok(volts.iter().map(|volts| at_voltage(&settings, circuit, *volts, low, high)).collect())
}

fn at_voltage(settings: &Settings, circuit: &Circuit, volts: f64, low: f64, high: f64) -> CutShort {
    let battery = voltage(volts);
    let seconds = |ticks: u32| f64::from(ticks) / f64::from(settings.firmware.tick_rate.bits());
    let wanted = settings.timetable.dwell(battery);
    let is_cut = |crank_rpm: f64| steady_dwell(settings, battery, speed(crank_rpm), None) + ROUNDING < wanted;
    let speeds = || (0..=SPEEDS).map(|step| low + (high - low) * f64::from(step) / f64::from(SPEEDS));
    let dwells = speeds().map(|crank_rpm| (crank_rpm, steady_dwell(settings, battery, speed(crank_rpm), None)));
    let (shortest_at_crank_rpm, shortest) = dwells.min_by_key(|(_, dwell)| *dwell).unwrap_or((low, wanted));
    let first = speeds().find(|crank_rpm| is_cut(*crank_rpm));
    CutShort {
        volts,
        from_crank_rpm: first.map(|first| boundary((first - (high - low) / f64::from(SPEEDS)).max(low), first, is_cut)),
        shortest_ms: seconds(shortest) * 1e3,
        shortest_at_crank_rpm,
        current_a: circuit.current_a(volts, seconds(shortest)),
    }
}

/// Where the answer turns, between a speed with `false` and one with `true`; to half a crank rpm.
fn boundary(mut below: f64, mut from: f64, is_cut: impl Fn(f64) -> bool) -> f64 {
    while from - below > 0.5 {
        let middle = f64::midpoint(below, from);
        if is_cut(middle) {
            from = middle;
        } else {
            below = middle;
        }
    }
    from
}

/// The dwell in seconds that the settings order at a battery's voltage, a steady speed in crank rpm and a depression in kPa
/// that the throttle lets through; 0 where there is no spark.
pub fn steady_dwell_s(settings: &Settings, volts: f64, crank_rpm: f64, depression_kpa: Option<f64>) -> f64 {
    let depression = depression_kpa.map(depression);
    let ticks = steady_dwell(settings, voltage(volts), speed(crank_rpm), depression);
    f64::from(ticks) / f64::from(settings.firmware.tick_rate.bits())
}

/// The dwell in ticks of the last of some sparks at a steady speed; 0 where there is none.
fn steady_dwell(settings: &Settings, battery: Voltage, speed: CrankSpeed, depression: Option<Depression>) -> u32 {
    let mut sequencer = Sequencer::new(&settings.timetable);
    sequencer.battery(battery);
    let period = settings.timetable.period_of(speed);
    let (mut order, mut last) = (None, 0);
    let obey = |order: &mut Option<(u32, u32)>, answer| match answer {
        Answer::Nothing => {}
        Answer::Order { on, off } => *order = Some((on, off)),
        Answer::MoveOff { off } => *order = order.map(|(on, _)| (on, off)),
        Answer::Cancel => *order = None,
    };
    for edge in 0..EDGES + edges_to_add(settings, period, depression) {
        let now = edge.wrapping_mul(period);
        if depression.is_some() {
            sequencer.depression(depression, false, now);
        }
        let answer = sequencer.edge(Flank::Timing, now, now);
        obey(&mut order, answer);
        // The spark before the next edge, and then the poll that may order the next dwell.
        while let Some((on, off)) = order.filter(|(_, off)| off.wrapping_sub(now) < period) {
            last = off.wrapping_sub(on);
            order = None;
            let answer = sequencer.poll(off);
            obey(&mut order, answer);
        }
    }
    last
}

/// Edges until a depression's advance is all added, at the rate at which it may be.
fn edges_to_add(settings: &Settings, period: u32, depression: Option<Depression>) -> u32 {
    let Some(vacuum) = settings.model.settings().vacuum.filter(|_| depression.is_some()) else { return 0 };
    let per_second = f64::from(vacuum.greatest_rate.bits()) / f64::from(AdvanceRate::STEP);
    let seconds = crank_degrees(settings.model.vacuum_advance(depression, false)).max(0.0) / per_second;
    let edges = seconds * f64::from(settings.firmware.tick_rate.bits()) / f64::from(period.max(1));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the cast saturates; at 720 sparks a second"
    )]
    let edges = edges.ceil().min(100_000.0) as u32;
    edges
}
