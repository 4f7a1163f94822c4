//! Prints an engine sheet's settings as the Rust text that the ignition's firmware is built with:
//! `cargo run -p bobweight-tests --example ignition_settings -- SHEET`.
//!
//! Every number is the raw integer that the host's own ignition has, so that both time the same sparks.

use std::fmt::{Display, Write};
use std::path::Path;
use std::process::ExitCode;

use bobweight::VacuumSource;
use bobweight_bench::sheet::{self, Atmosphere, Flank, SensorKind, Settings, Sheet};

fn main() -> ExitCode {
    let Some(path) = std::env::args().nth(1) else {
        eprintln!("name the engine sheet: ignition_settings SHEET");
        return ExitCode::from(2);
    };
    match text(Path::new(&path)) {
        Ok(text) => {
            print!("{text}");
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn text(path: &Path) -> Result<String, Box<dyn std::error::Error>> {
    let sheet = sheet::read(path)?;
    let settings = Settings::from_sheet(&sheet)?;
    let mut text = String::from(HEAD);
    model(&mut text, &settings)?;
    pickup(&mut text, &settings)?;
    coil(&mut text, &settings)?;
    let sensor = if settings.model.settings().vacuum.is_some() { sensor(&sheet)? } else { "None".to_owned() };
    writeln!(text, "const SENSOR: Option<PressureSensor> = {sensor};")?;
    let rises = *sheet.pickup.flank.get()? == Flank::Rising;
    writeln!(text, "const TIMING_FLANK_RISES: bool = {rises};")?;
    text.push_str(TAIL);
    Ok(text)
}

const HEAD: &str = "\
use bobweight::quantity::*;
use bobweight::*;

macro_rules! of { ($quantity:ident, $bits:expr) => { must!($quantity::from_bits($bits)) }; }

";

const TAIL: &str = "
const TIMETABLE: Timetable = match Timetable::new(&MODEL, &PICKUP, &DWELL, &FIRMWARE) {
    Ok(timetable) => timetable,
    Err(_) => panic!(\"these sparks cannot be timed\"),
};

pub static SETTINGS: Option<Settings> = Some(Settings {
    timetable: TIMETABLE,
    sensor: SENSOR,
    timing_flank_rises: TIMING_FLANK_RISES,
    second_flank: PICKUP.settings().second_flank_angle.is_some(),
    largest_dwell: (DWELL.settings().largest.bits() as u64 * FIRMWARE.tick_rate.bits() as u64 / 1_000_000_000) as u32,
    held_limit: (
        TIMETABLE.period_of(of!(CrankSpeed, 2_000 * CrankSpeed::STEP)),
        TIMETABLE.period_of(of!(CrankSpeed, 1_900 * CrankSpeed::STEP)),
    ),
});
";

/// A quantity of the core, by its raw integer.
fn of(quantity: &str, bits: impl Display) -> String {
    format!("of!({quantity}, {bits})")
}

/// A curve of the core, by the raw integers of its breakpoints.
fn curve(name: &str, x: &str, y: &str, breakpoints: impl Iterator<Item = (u32, i64)>) -> String {
    let points: Vec<String> = breakpoints.map(|(a, b)| format!("({}, {})", of(x, a), of(y, b))).collect();
    format!("must!({name}::new(&[{}]))", points.join(", "))
}

fn model(text: &mut String, settings: &Settings) -> std::fmt::Result {
    let s = settings.model.settings();
    let advance = |advance: bobweight::quantity::Advance| of("Advance", advance.bits());
    let speed = |speed: bobweight::quantity::CrankSpeed| of("CrankSpeed", speed.bits());
    let centrifugal = (0..s.centrifugal.count()).map(|i| {
        let (x, y) = s.centrifugal.breakpoint(i);
        (x.bits(), i64::from(y.bits()))
    });
    let vacuum = match &s.vacuum {
        None => "None".to_owned(),
        Some(vacuum) => {
            let points = (0..vacuum.curve.count()).map(|i| {
                let (x, y) = vacuum.curve.breakpoint(i);
                (x.bits(), i64::from(y.bits()))
            });
            let source = match vacuum.source {
                VacuumSource::Ported => "Ported",
                VacuumSource::Manifold => "Manifold",
            };
            format!(
                "Some(Vacuum {{ curve: {}, source: VacuumSource::{source}, greatest_rate: {} }})",
                curve("VacuumCurve", "Depression", "Advance", points),
                of("AdvanceRate", vacuum.greatest_rate.bits())
            )
        }
    };
    writeln!(
        text,
        "const MODEL: AdvanceModel = must!(AdvanceModel::new(AdvanceSettings {{
    initial: {},
    cranking: {},
    held: {},
    centrifugal: {},
    vacuum: {vacuum},
    limits: Limits {{ greatest: {}, greatest_without_vacuum: {}, greatest_cranking: {}, least: {} }},
    speeds: PhaseSpeeds {{ cranking_below: {}, running_from: {}, no_spark_above: {}, spark_again_below: {} }},
}}));",
        advance(s.initial),
        advance(s.cranking),
        advance(s.held),
        curve("CentrifugalCurve", "CrankSpeed", "Advance", centrifugal),
        advance(s.limits.greatest),
        advance(s.limits.greatest_without_vacuum),
        advance(s.limits.greatest_cranking),
        advance(s.limits.least),
        speed(s.speeds.cranking_below),
        speed(s.speeds.running_from),
        speed(s.speeds.no_spark_above),
        speed(s.speeds.spark_again_below),
    )
}

fn pickup(text: &mut String, settings: &Settings) -> std::fmt::Result {
    let p = settings.pickup.settings();
    let angle = |angle: bobweight::quantity::CrankAngle| of("CrankAngle", angle.bits());
    let second = p.second_flank_angle.map_or("None".to_owned(), |second| format!("Some({})", angle(second)));
    writeln!(
        text,
        "const PICKUP: Pickup = must!(Pickup::new(PickupSettings {{
    pulses_in_two_turns: {},
    angle: {},
    second_flank_angle: {second},
    lag: {},
    greatest_acceleration: {},
    pulse_spread: {},
}}));",
        p.pulses_in_two_turns,
        angle(p.angle),
        of("Duration", p.lag.bits()),
        of("Acceleration", p.greatest_acceleration.bits()),
        angle(p.pulse_spread),
    )
}

fn coil(text: &mut String, settings: &Settings) -> std::fmt::Result {
    let d = settings.dwell.settings();
    let points = (0..d.curve.count()).map(|i| {
        let (x, y) = d.curve.breakpoint(i);
        (u32::from(x.bits()), i64::from(y.bits()))
    });
    writeln!(
        text,
        "const DWELL: Dwell = must!(Dwell::new(DwellSettings {{
    curve: {},
    largest: {},
    largest_duty: {},
    burn_time: {},
}}));",
        curve("DwellCurve", "Voltage", "Duration", points),
        of("Duration", d.largest.bits()),
        of("Duty", d.largest_duty.bits()),
        of("Duration", d.burn_time.bits()),
    )
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a sheet's volts and pressures are small")]
fn sensor(sheet: &Sheet) -> Result<String, Box<dyn std::error::Error>> {
    let s = &sheet.sensor;
    let scaled = |value: f64| (value * 65_536.0).round() as u32;
    let points = s.calibration.get()?.iter().map(|point| (scaled(point.volts), i64::from(scaled(point.kpa))));
    let calibration = curve("SensorCurve", "SensorVoltage", "Pressure", points);
    let kind = match s.kind.get()? {
        SensorKind::Differential => "SensorKind::Differential".to_owned(),
        SensorKind::Absolute => match s.atmosphere.get()? {
            Atmosphere::ReadAtKeyOn => "SensorKind::Absolute(Atmosphere::ReadAtKeyOn)".to_owned(),
            Atmosphere::Constant(kpa) => {
                format!("SensorKind::Absolute(Atmosphere::Constant({}))", of("Pressure", scaled(*kpa)))
            }
        },
    };
    let [lower, upper] = s.band_volts.get()?.map(|volts| of("SensorVoltage", scaled(volts)));
    Ok(format!(
        "Some(must!(PressureSensor::new(SensorSettings {{ kind: {kind}, calibration: {calibration}, band: ({lower}, {upper}) }})))"
    ))
}
