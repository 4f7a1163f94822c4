//! Constants in C99 and C++11.
//!
//! Who compiles a curve into firmware of another language evaluates it with arithmetic of its own, so it gets the sheet's
//! figures and not the image: arrays of breakpoints and one constant structure, each a whole number of the steps that the
//! image has, so that nothing is rounded on the way. The image is for ignitions that read one.

use super::{Export, printable};
use bobweight::quantity::{Advance, CrankAngle, CrankSpeed, Depression, Duty, Pressure, SensorVoltage, Voltage};
use bobweight::{Atmosphere, Limit, SensorKind, VacuumSource};
use std::fmt::{Display, Write};

const TYPES: &str = "\
#ifndef BOBWEIGHT_ENGINE_H
#define BOBWEIGHT_ENGINE_H

#include <stdint.h>

";

const HOW: &str = "\
/*
 * Figures for firmware in C99 or C++11 that evaluates the curves itself. Every figure is a whole number of steps, so
 * that nothing is rounded on the way; the comments say it for people.
 *
 * Running: advance = initial + centrifugal(speed) + vacuum(depression), then not above greatest and not below least.
 * Cranking: the cranking advance alone. Held: the held advance alone. A curve is linear between its breakpoints and
 * flat beyond them. A sensor that has failed gives no vacuum advance. Positive is before top dead centre. A trim input may
 * add to a running engine's sum from -trim_later to trim_earlier, in tenths of a degree; one that has failed, -trim_later.
 */
";

const STRUCTURE: &str = "\
struct bobweight_breakpoint {
    uint32_t x;
    int32_t y;
};

enum bobweight_vacuum { BOBWEIGHT_NO_VACUUM, BOBWEIGHT_MANIFOLD_VACUUM, BOBWEIGHT_PORTED_VACUUM };
enum bobweight_sensor {
    BOBWEIGHT_NO_SENSOR,
    BOBWEIGHT_DIFFERENTIAL,
    BOBWEIGHT_ABSOLUTE_READ_AT_KEY_ON,
    BOBWEIGHT_ABSOLUTE_CONSTANT
};

";

struct Field {
    kind: &'static str,
    name: &'static str,
    value: String,
    means: String,
}

fn field(kind: &'static str, name: &'static str, value: impl Display, means: impl Display) -> Field {
    Field { kind, name, value: value.to_string(), means: printable(&means.to_string()) }
}

pub fn text(export: &Export) -> String {
    let mut text = String::from("/*\n");
    for line in export.origin() {
        let _ = writeln!(text, " * {line}");
    }
    text.push_str(" */\n");
    text.push_str(TYPES);
    text.push_str(HOW);
    for (name, step) in [
        ("CRANK_DEGREE", Advance::STEP),
        ("CRANK_RPM", CrankSpeed::STEP),
        ("KPA", Depression::STEP),
        ("VOLT", Voltage::STEP),
        ("SENSOR_VOLT", SensorVoltage::STEP),
        ("WHOLE_DUTY", Duty::STEP),
    ] {
        let _ = writeln!(text, "#define BOBWEIGHT_STEPS_IN_A_{name} {step}");
    }
    text.push('\n');
    text.push_str(STRUCTURE);
    curves(&mut text, export);
    structure(&mut text, &fields(export));
    text + "\n#endif\n"
}

macro_rules! points {
    ($curve:expr) => {
        (0..$curve.count())
            .map(|i| {
                let (x, y) = $curve.breakpoint(i);
                (x.bits().to_string(), y.bits().to_string(), format!("{x}: {y}"))
            })
            .collect::<Vec<_>>()
    };
}

fn curves(text: &mut String, export: &Export) {
    let engine = export.engine();
    let model = engine.model.settings();
    array(text, "centrifugal", "crank rpm to crank degrees", &points!(model.centrifugal));
    if let Some(vacuum) = &model.vacuum {
        array(text, "vacuum", "kPa depression to crank degrees", &points!(vacuum.curve));
    }
    array(text, "dwell", "battery volts to nanoseconds", &points!(engine.dwell.settings().curve));
    if let Some(sensor) = &engine.sensor {
        array(text, "sensor", "sensor volts to kPa", &points!(sensor.settings().calibration));
    }
}

fn array(text: &mut String, name: &str, what: &str, points: &[(String, String, String)]) {
    let count = points.len();
    let _ = writeln!(text, "/* {what} */\n#define ENGINE_{}_COUNT {count}", name.to_uppercase());
    let _ = writeln!(text, "static const struct bobweight_breakpoint engine_{name}[{count}] = {{");
    for (x, y, means) in points {
        let _ = writeln!(text, "    {{ {x}u, {y} }}, /* {means} */");
    }
    text.push_str("};\n\n");
}

fn fields(export: &Export) -> Vec<Field> {
    let engine = export.engine();
    let advance = |name, value: Advance| field("int32_t", name, value.bits(), value);
    let speed = |name, value: CrankSpeed| field("uint32_t", name, format!("{}u", value.bits()), value);
    let angle = |name, value: CrankAngle| field("int32_t", name, value.bits(), value);
    let (model, pickup, dwell) = (engine.model.settings(), engine.pickup.settings(), engine.dwell.settings());
    let (limits, speeds) = (&model.limits, &model.speeds);
    let ns = |name, time: bobweight::quantity::Duration| field("uint32_t", name, format!("{}u", time.bits()), time);
    let vacuum = model.vacuum.as_ref();
    let source = vacuum.map_or("BOBWEIGHT_NO_VACUUM", |vacuum| match vacuum.source {
        VacuumSource::Manifold => "BOBWEIGHT_MANIFOLD_VACUUM",
        VacuumSource::Ported => "BOBWEIGHT_PORTED_VACUUM",
    });
    let rate = vacuum.map_or(("0".to_owned(), "no vacuum advance".to_owned()), |vacuum| {
        (vacuum.greatest_rate.bits().to_string(), vacuum.greatest_rate.to_string())
    });
    let second = pickup.second_flank_angle;
    let (later, earlier) = engine.model.trim().tenths();
    let mut fields =
        vec![advance("initial", model.initial), advance("cranking", model.cranking), advance("held", model.held)];
    fields.extend(Limit::ALL.map(|limit| advance(limit.key(), limits.of(limit))));
    fields.extend([
        speed("cranking_below", speeds.cranking_below),
        speed("running_from", speeds.running_from),
        speed("no_spark_above", speeds.no_spark_above),
        speed("spark_again_below", speeds.spark_again_below),
        field("enum bobweight_vacuum", "vacuum_source", source, "where the hose is connected"),
        field("int32_t", "greatest_vacuum_rate", rate.0, rate.1),
        field("uint8_t", "pulses_in_two_turns", pickup.pulses_in_two_turns, "in two crank turns"),
        field("uint8_t", "timing_flank_rises", u8::from(engine.timing_flank_rises), "at the ignition's input"),
        angle("pickup_angle", pickup.angle),
        field("uint8_t", "has_second_flank", u8::from(second.is_some()), "whether the pulse's other flank is used"),
        angle("second_flank_angle", second.unwrap_or(CrankAngle::saturating_from_bits(0))),
        ns("lag_ns", pickup.lag),
        field(
            "uint32_t",
            "greatest_acceleration",
            format!("{}u", pickup.greatest_acceleration.bits()),
            pickup.greatest_acceleration,
        ),
        angle("pulse_spread", pickup.pulse_spread),
        ns("largest_dwell_ns", dwell.largest),
        field("uint32_t", "largest_duty", format!("{}u", dwell.largest_duty.bits()), dwell.largest_duty),
        ns("burn_time_ns", dwell.burn_time),
        field("uint8_t", "trim_later", later, "tenths of a crank degree"),
        field("uint8_t", "trim_earlier", earlier, "tenths of a crank degree"),
    ]);
    fields.extend(sensor_fields(export));
    fields
}

fn sensor_fields(export: &Export) -> Vec<Field> {
    let sensor = export.engine().sensor.as_ref().map(bobweight::PressureSensor::settings);
    let none = Pressure::saturating_from_bits(0);
    let (kind, atmosphere) = match sensor.map(|sensor| sensor.kind) {
        None => ("BOBWEIGHT_NO_SENSOR", none),
        Some(SensorKind::Differential) => ("BOBWEIGHT_DIFFERENTIAL", none),
        Some(SensorKind::Absolute(Atmosphere::ReadAtKeyOn)) => ("BOBWEIGHT_ABSOLUTE_READ_AT_KEY_ON", none),
        Some(SensorKind::Absolute(Atmosphere::Constant(pressure))) => ("BOBWEIGHT_ABSOLUTE_CONSTANT", pressure),
    };
    let nothing = SensorVoltage::saturating_from_bits(0);
    let (lower, upper) = sensor.map_or((nothing, nothing), |sensor| sensor.band);
    let volts = |name, value: SensorVoltage| field("uint32_t", name, format!("{}u", value.bits()), value);
    vec![
        field("enum bobweight_sensor", "sensor", kind, "what it compares the manifold with"),
        field("uint32_t", "constant_atmosphere", format!("{}u", atmosphere.bits()), atmosphere),
        volts("failed_below", lower),
        volts("failed_above", upper),
    ]
}

fn structure(text: &mut String, fields: &[Field]) {
    text.push_str("/* times in nanoseconds, all else in steps; greatest_acceleration in crank rpm per s */\n");
    text.push_str("struct bobweight_engine {\n");
    for Field { kind, name, .. } in fields {
        let _ = writeln!(text, "    {kind} {name};");
    }
    text.push_str("};\n\nstatic const struct bobweight_engine engine = {\n");
    for Field { name, value, means, .. } in fields {
        let _ = writeln!(text, "    {value}, /* {name}: {means} */");
    }
    text.push_str("};\n");
}
