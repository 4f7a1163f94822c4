//! Constants in Rust: a wrong one does not compile.

use super::{Export, printable};
use bobweight::quantity::{Advance, CrankAngle, CrankSpeed, Duration, Pressure, SensorVoltage};
use bobweight::{Atmosphere, Limit, PressureSensor, SensorKind, Trim, VacuumSource};
use std::fmt::{Display, Write};

const HEAD: &str = "\
// A module of firmware that links the crate `bobweight`: keep it as `engine.rs` and say `mod engine;`.
//
// Every number is the raw integer of its quantity, so that nothing is rounded on the way; the comment beside it says it for
// people. The compiler runs each constructor: a number that is changed by hand and makes no curve does not compile.
// `engine::TIMETABLE` is the curve in ticks of the timer that the sheet names, for `bobweight::Sequencer`.

use bobweight::image::EngineSettings;
use bobweight::quantity::*;
use bobweight::*;

";

const TAIL: &str = "
/// What an ignition keeps.
pub const ENGINE: EngineSettings =
    EngineSettings { model: MODEL, pickup: PICKUP, timing_flank_rises: TIMING_FLANK_RISES, dwell: DWELL, sensor: SENSOR };

/// The curve in ticks. Sparks that cannot be timed do not compile.
pub const TIMETABLE: Timetable = must!(Timetable::new(&MODEL, &PICKUP, &DWELL, &FIRMWARE));
";

pub fn text(export: &Export) -> String {
    let mut text = String::new();
    for line in export.origin() {
        let _ = writeln!(text, "// {line}");
    }
    text.push_str("//\n");
    text.push_str(HEAD);
    model(&mut text, export);
    pickup(&mut text, export);
    dwell(&mut text, export);
    let sensor = export.engine().sensor.as_ref().map_or("None".to_owned(), sensor);
    let _ = writeln!(text, "\n/// The manifold's sensor.\npub const SENSOR: Option<PressureSensor> = {sensor};");
    let firmware = export.settings().firmware;
    let _ = writeln!(
        text,
        "\n/// The box that the sheet names.\npub const FIRMWARE: Firmware = Firmware {{\n    tick_rate: {}\n    latency: {}\n}};",
        field("TickRate", firmware.tick_rate.bits(), firmware.tick_rate),
        field("Duration", firmware.latency.bits(), firmware.latency),
    );
    text + TAIL
}

/// A quantity by its raw integer.
fn of(quantity: &str, bits: impl Display) -> String {
    format!("must!({quantity}::from_bits({bits}))")
}

/// The same as a field's value, with what it means.
fn field(quantity: &str, bits: impl Display, means: impl Display) -> String {
    format!("{}, // {}", of(quantity, bits), printable(&means.to_string()))
}

fn advance(value: Advance) -> String {
    field("Advance", value.bits(), value)
}

fn angle(value: CrankAngle) -> String {
    field("CrankAngle", value.bits(), value)
}

fn speed(value: CrankSpeed) -> String {
    field("CrankSpeed", value.bits(), value)
}

fn duration(value: Duration) -> String {
    field("Duration", value.bits(), value)
}

fn curve(name: &str, points: impl Iterator<Item = (String, String, String)>) -> String {
    let mut text = format!("must!({name}::new(&[\n");
    for (x, y, means) in points {
        let _ = writeln!(text, "            ({x}, {y}), // {means}");
    }
    text + "        ]))"
}

macro_rules! points {
    ($curve:expr, $x:literal, $y:literal) => {
        (0..$curve.count()).map(|i| {
            let (x, y) = $curve.breakpoint(i);
            (of($x, x.bits()), of($y, y.bits()), format!("{x}: {y}"))
        })
    };
}

fn model(text: &mut String, export: &Export) {
    let s = export.engine().model.settings();
    let vacuum = s.vacuum.as_ref().map_or("None".to_owned(), |vacuum| {
        let source = match vacuum.source {
            VacuumSource::Manifold => "Manifold",
            VacuumSource::Ported => "Ported",
        };
        format!(
            "Some(Vacuum {{\n        curve: {},\n        source: VacuumSource::{source},\n        greatest_rate: {}\n    }})",
            curve("VacuumCurve", points!(vacuum.curve, "Depression", "Advance")),
            field("AdvanceRate", vacuum.greatest_rate.bits(), vacuum.greatest_rate),
        )
    });
    let limit = |limit: Limit| format!("        {}: {}\n", limit.key(), advance(s.limits.of(limit)));
    let limits = Limit::ALL.map(limit).concat();
    let _ = writeln!(
        text,
        "/// The advance: crank degrees before top dead centre.
pub const MODEL: AdvanceModel = must!(AdvanceModel::new(AdvanceSettings {{
    initial: {}
    cranking: {}
    held: {}
    centrifugal: {},
    vacuum: {vacuum},
    limits: Limits {{
{limits}    }},
    speeds: PhaseSpeeds {{
        cranking_below: {}
        running_from: {}
        no_spark_above: {}
        spark_again_below: {}
    }},
}})){};",
        advance(s.initial),
        advance(s.cranking),
        advance(s.held),
        curve("CentrifugalCurve", points!(s.centrifugal, "CrankSpeed", "Advance")),
        speed(s.speeds.cranking_below),
        speed(s.speeds.running_from),
        speed(s.speeds.no_spark_above),
        speed(s.speeds.spark_again_below),
        trim(*export.engine().model.trim()),
    );
}

/// The bounds of a trim input: nothing where the sheet has none, as before there was any.
fn trim(trim: Trim) -> String {
    let (later, earlier) = trim.tenths();
    if trim == Trim::NONE {
        return String::new();
    }
    format!(
        "\n// tenths of a crank degree, to the late and to the early side: for `Sequencer::depression_trimmed`\n.with_trim(must!(Trim::from_tenths({later}, {earlier})))"
    )
}

fn pickup(text: &mut String, export: &Export) {
    let p = export.engine().pickup.settings();
    let second = p
        .second_flank_angle
        .map_or("None,".to_owned(), |second| format!("Some({}), // {second}", of("CrankAngle", second.bits())));
    let moving = p.moving_flank.map_or("None,".to_owned(), |moving| {
        format!(
            "Some(MovingFlank {{ earliest: {}, latest: {} }}), // {} to {}",
            of("CrankAngle", moving.earliest.bits()),
            of("CrankAngle", moving.latest.bits()),
            moving.earliest,
            moving.latest
        )
    });
    let _ = writeln!(
        text,
        "
/// The pickup.
pub const PICKUP: Pickup = must!(Pickup::new(PickupSettings {{
    pulses_in_two_turns: {},
    angle: {}
    second_flank_angle: {second}
    moving_flank: {moving}
    bounce: {}
    lag: {}
    greatest_acceleration: {}
    pulse_spread: {}
}}));
/// Whether the flank that times the spark rises at the ignition's input.
pub const TIMING_FLANK_RISES: bool = {};",
        p.pulses_in_two_turns,
        angle(p.angle),
        duration(p.bounce),
        duration(p.lag),
        field("Acceleration", p.greatest_acceleration.bits(), p.greatest_acceleration),
        angle(p.pulse_spread),
        export.engine().timing_flank_rises,
    );
}

fn dwell(text: &mut String, export: &Export) {
    let d = export.engine().dwell.settings();
    let _ = writeln!(
        text,
        "
/// The coil.
pub const DWELL: Dwell = must!(Dwell::new(DwellSettings {{
    curve: {},
    largest: {}
    largest_duty: {}
    burn_time: {}
}}));",
        curve("DwellCurve", points!(d.curve, "Voltage", "Duration")),
        duration(d.largest),
        field("Duty", d.largest_duty.bits(), d.largest_duty),
        duration(d.burn_time),
    );
}

fn sensor(sensor: &PressureSensor) -> String {
    let s = sensor.settings();
    let kind = match s.kind {
        SensorKind::Differential => "SensorKind::Differential,".to_owned(),
        SensorKind::Absolute(Atmosphere::ReadAtKeyOn) => "SensorKind::Absolute(Atmosphere::ReadAtKeyOn),".to_owned(),
        SensorKind::Absolute(Atmosphere::Constant(kpa)) => {
            let of: fn(&str, Pressure) -> String = |name, kpa| of(name, kpa.bits());
            format!("SensorKind::Absolute(Atmosphere::Constant({})), // {kpa} absolute", of("Pressure", kpa))
        }
    };
    let volts = |volts: SensorVoltage| of("SensorVoltage", volts.bits());
    let (lower, upper) = s.band;
    format!(
        "Some(must!(PressureSensor::new(SensorSettings {{\n    kind: {kind}\n    calibration: {},\n    band: ({}, {}), // {lower} to {upper}\n}})))",
        curve("SensorCurve", points!(s.calibration, "SensorVoltage", "Pressure")),
        volts(lower),
        volts(upper),
    )
}
