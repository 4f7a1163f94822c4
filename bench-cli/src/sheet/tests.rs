mod wrong;

use super::*;
use crate::quantity::STANDARD_ATMOSPHERE_KPA;
use crate::quantity::units::KPA_PER_INHG;
use bobweight::Limit;

/// The demo as a person wrote it, without what the fit added.
pub(crate) fn demo_text() -> &'static str {
    let text = include_str!("../../demo/fire-float.toml");
    text.split_once("\n# Found by").map_or(text, |(written, _)| written)
}

/// The demo with a reluctor behind a conditioner in the place of its vane: the crossing where the vane's second flank stood.
pub(crate) fn reluctor_text() -> String {
    [
        ("kind = \"vane\"", "kind = \"coil\""),
        ("\nangle = \"60 crank degrees BTDC\"", "\nangle = \"8 crank degrees BTDC\""),
        (
            "second_flank_angle = \"8 crank degrees BTDC\"",
            "moving_flank = [\"18 crank degrees BTDC\", \"13 crank degrees BTDC\"]\nsignal_from = \"40 crank rpm\"",
        ),
    ]
    .iter()
    .fold(demo_text().to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "the demo does not have {from}");
        text.replacen(from, to, 1)
    })
}

fn demo() -> Sheet {
    parse("fire-float.toml", demo_text()).unwrap_or_else(|error| panic!("{error:?}"))
}

#[track_caller]
fn parsed(text: &str) -> Sheet {
    parse("sheet.toml", text).unwrap_or_else(|error| panic!("{error:?}"))
}

#[track_caller]
fn close(key: &Key<f64>, wanted: f64) {
    let got = *key.get().unwrap_or_else(|error| panic!("{error:?}"));
    assert!((got - wanted).abs() <= 1e-12 * wanted.abs(), "{}: {got}, not {wanted}", key.place().key());
}

#[test]
fn engine_distributor_and_pickup_of_the_demo_are_read_in_their_inner_units() -> Result<(), SheetError> {
    let sheet = demo();
    assert_eq!(sheet.name.get()?, "pump engine of the fire float");
    assert_eq!(sheet.readings_path()?, Path::new("fire-float-readings.csv"));
    assert_eq!(*sheet.engine.cylinders.get()?, 4);
    assert_eq!(*sheet.engine.firing_order.get()?, [1, 3, 4, 2]);
    assert_eq!(*sheet.engine.rotation.get()?, Rotation::Clockwise);
    close(&sheet.engine.idle_crank_rpm, 650.0);
    close(&sheet.engine.greatest_speed_crank_rpm, 4600.0);
    assert_eq!(*sheet.engine.supply.get()?, crate::quantity::DRIVEN);
    assert_eq!(*sheet.distributor.rotation.get()?, Rotation::Anticlockwise);
    assert_eq!(*sheet.distributor.old_advance.get()?, OldAdvance::Locked);
    assert_eq!(*sheet.pickup.place.get()?, PickupPlace::Distributor);
    assert_eq!(*sheet.pickup.kind.get()?, PickupKind::Vane);
    assert_eq!(*sheet.pickup.pulses_in_two_turns.get()?, 4);
    assert_eq!(*sheet.pickup.flank.get()?, Flank::Falling);
    close(&sheet.pickup.angle_crank_degrees, 60.0);
    close(&sheet.pickup.second_flank_angle_crank_degrees, 8.0);
    close(&sheet.pickup.lag_s, 0.0);
    close(&sheet.pickup.greatest_acceleration_crank_rpm_per_s, 6000.0);
    close(&sheet.pickup.pulse_spread_crank_degrees, 0.5);
    close(&sheet.ignition.tick_s, 0.5e-6);
    close(&sheet.ignition.latency_s, 100e-6);
    close(&sheet.ignition.clock_tolerance, 0.005);
    Ok(())
}

#[test]
fn the_curve_of_the_demo_is_read_in_its_inner_units() -> Result<(), SheetError> {
    let sheet = demo();
    close(&sheet.advance.initial_crank_degrees, 8.0);
    close(&sheet.advance.cranking_crank_degrees, 8.0);
    close(&sheet.advance.cranking_below_crank_rpm, 400.0);
    close(&sheet.advance.running_from_crank_rpm, 450.0);
    close(&sheet.advance.held_crank_degrees, 8.0);
    close(&sheet.advance.no_spark_above_crank_rpm, 4800.0);
    close(&sheet.advance.spark_again_below_crank_rpm, 4700.0);
    let curve: Vec<_> =
        sheet.centrifugal.breakpoints.get()?.iter().map(|point| (point.crank_rpm, point.crank_degrees)).collect();
    assert_eq!(curve, [(900.0, 0.0), (1700.0, 12.0), (3300.0, 20.0)]);
    assert_eq!(*sheet.vacuum.source.get()?, VacuumSource::Manifold);
    let curve: Vec<_> =
        sheet.vacuum.breakpoints.get()?.iter().map(|point| (point.depression_kpa, point.crank_degrees)).collect();
    assert_eq!(curve, [(5.0 * KPA_PER_INHG, 0.0), (12.0 * KPA_PER_INHG, 10.0)]);
    close(&sheet.vacuum.greatest_rate_crank_degrees_per_s, 30.0);
    Ok(())
}

#[test]
fn sensor_limits_and_coil_of_the_demo_are_read_in_their_inner_units() -> Result<(), SheetError> {
    let sheet = demo();
    assert_eq!(*sheet.sensor.kind.get()?, SensorKind::Absolute);
    let line: Vec<_> = sheet.sensor.calibration.get()?.iter().map(|point| (point.volts, point.kpa)).collect();
    assert_eq!(line, [(0.5, 20.0), (4.5, 110.0)]);
    let [low, high] = *sheet.sensor.band_volts.get()?;
    assert!((low - 0.3).abs() + (high - 4.7).abs() < 1e-12);
    assert_eq!(*sheet.sensor.atmosphere.get()?, Atmosphere::ReadAtKeyOn);
    close(&sheet.sensor.highest_place_m, 600.0);
    close(sheet.limits.of(Limit::Greatest), 42.0);
    close(sheet.limits.of(Limit::GreatestWithoutVacuum), 30.0);
    close(sheet.limits.of(Limit::GreatestCranking), 10.0);
    close(sheet.limits.of(Limit::Least), 0.0);
    close(&sheet.coil.resistance_ohm, 1.2);
    close(&sheet.coil.inductance_h, 0.006);
    close(&sheet.coil.driver_drop_volts, 1.0);
    close(&sheet.coil.current_a, 5.0);
    let dwell = sheet.coil.dwell.get()?;
    for (point, (volts, ms)) in dwell.iter().zip([(8.0, 9.7), (10.0, 5.5), (12.0, 3.9), (14.0, 3.1), (16.0, 2.6)]) {
        assert!(
            (point.volts - volts).abs() + (point.dwell_s - ms * 1e-3).abs() < 1e-12,
            "{point:?}, {volts} V {ms} ms"
        );
    }
    assert_eq!(dwell.len(), 5);
    close(&sheet.coil.largest_dwell_s, 0.01);
    close(&sheet.coil.largest_duty, 0.7);
    close(&sheet.coil.burn_time_s, 0.0015);
    close(&sheet.coil.least_energy_j, 0.03);
    let [condition, ..] = sheet.operating_conditions.as_slice() else { panic!("an operating condition") };
    assert_eq!(condition.name.get()?, "pumping");
    close(&condition.speed_crank_rpm, 2400.0);
    close(&condition.depression_kpa, 6.0 * KPA_PER_INHG);
    close(&sheet.tolerance.bench_crank_degrees, 0.5);
    close(&sheet.tolerance.bench_ramp_crank_degrees, 5.0);
    close(&sheet.tolerance.light_crank_degrees, 2.0);
    Ok(())
}

#[test]
fn a_value_keeps_its_line_and_key_for_later_refusals() {
    let sheet = demo();
    let refusal = sheet.pickup.angle_crank_degrees.refuse("leaves no time for the spark", "too late", "turn it");
    let line = demo_text().lines().position(|line| line.starts_with("angle =")).expect("the demo has the key") + 1;
    assert_eq!((refusal.key(), refusal.line()), (Some("pickup.angle"), Some(line)));
    assert_eq!(
        refusal.to_string(),
        format!("fire-float.toml, line {line}: `pickup.angle` leaves no time for the spark")
    );
}

#[test]
fn crlf_and_a_byte_order_mark_change_nothing() {
    let sheet = parsed(&format!("\u{feff}{}", demo_text().replace('\n', "\r\n")));
    assert_eq!(sheet.engine.idle_crank_rpm.value(), Some(&650.0));
    assert_eq!(sheet.engine.idle_crank_rpm.place().line(), demo().engine.idle_crank_rpm.place().line());
}

/// Which pulses an engine with one coil can have, by where the pickup sits. Source: geometry: a crank trigger passes the same
/// places in each of the two turns; a cap has as many towers as cylinders, and only there may a spark come. A double-ended coil
/// needs no cap, and serves one or two cylinders with a spark in each turn, for both pistons are at the top once a turn.
#[test]
fn pulses_are_as_many_as_cap_and_crank_allow() {
    for place in ["distributor", "cam", "crank"] {
        for cylinders in 1_u32..=12 {
            for pulses in 1_u32..=12 {
                let text = format!(
                    "bobweight_sheet = 1\n[engine]\ncylinders = {cylinders}\n[pickup]\nplace = \"{place}\"\n\
                     pulses_in_two_turns = {pulses}\n"
                );
                let capped = place == "distributor" || cylinders > 2;
                let right = if capped { pulses == cylinders } else { pulses % cylinders == 0 && pulses <= 2 }
                    && (place != "crank" || pulses % 2 == 0);
                match parse("engine.toml", &text) {
                    Ok(_) => assert!(right, "taken: {text}"),
                    Err(error) => {
                        assert!(!right, "refused: {text}{error}");
                        assert_eq!(error.key(), Some("pickup.pulses_in_two_turns"), "{text}");
                    }
                }
            }
        }
    }
}

/// Source of the factor two: U.S. Army TM 10-3930-644-14&P. Source of the atmosphere: U.S. Standard Atmosphere 1976.
#[test]
fn columns_are_read_in_the_units_of_their_heading() {
    let sheet = parsed(
        "bobweight_sheet = 1\n\
         [centrifugal]\n\
         unit = [\"distributor rpm\", \"distributor degrees\"]\n\
         breakpoints = [[450, 0], [850, 6.0]]\n\
         [vacuum]\n\
         unit = [\"kPa absolute\", \"crank degrees\"]\n\
         breakpoints = [[61.325, 10], [84.325, 0]]\n",
    );
    let centrifugal = sheet.centrifugal.breakpoints.value().expect("breakpoints");
    assert_eq!(centrifugal[1], CentrifugalBreakpoint { crank_rpm: 1700.0, crank_degrees: 12.0 });
    let vacuum = sheet.vacuum.breakpoints.value().expect("breakpoints");
    assert_eq!(vacuum[0].crank_degrees.to_bits(), 0.0_f64.to_bits());
    assert!((vacuum[0].depression_kpa - (STANDARD_ATMOSPHERE_KPA - 84.325)).abs() < 1e-9);
    assert!((vacuum[1].depression_kpa - 40.0).abs() < 1e-9);
}

#[test]
fn a_constant_atmosphere_of_the_sheet_is_what_absolute_pressures_are_counted_from() {
    let sheet = parsed(
        "bobweight_sheet = 1\n[sensor]\natmosphere = \"94 kPa absolute\"\n[[operating_condition]]\nname = \"moor\"\n\
         depression = \"54 kPa absolute\"\n",
    );
    assert_eq!(sheet.operating_conditions[0].depression_kpa.value(), Some(&40.0));
}

#[test]
fn found_and_specified_curves_are_read_beside_the_chosen_one() {
    let sheet = parsed(
        "bobweight_sheet = 1\n\
         [found.advance]\n\
         initial = \"8.2 crank degrees\"\n\
         initial_interval = [\"7.7 crank degrees\", \"8.7 crank degrees\"]\n\
         [found.centrifugal]\n\
         unit = [\"crank rpm\", \"crank degrees\"]\n\
         breakpoints = [[910, 0], [1690, 12.1]]\n\
         breakpoints_interval = [[[850, 980], [0, 0]], [[1600, 1800], [11.5, 12.9]]]\n\
         [specified.advance]\n\
         initial = \"8 crank degrees\"\n",
    );
    let found = sheet.found.expect("a found curve");
    assert_eq!(found.initial_interval_crank_degrees.value(), Some(&[7.7, 8.7]));
    assert_eq!(found.centrifugal_intervals.value().map(|all| all[1]), Some([[1600.0, 1800.0], [11.5, 12.9]]));
    assert_eq!(sheet.specified.expect("a specified curve").initial_crank_degrees.value(), Some(&8.0));
    assert!(sheet.advance.initial_crank_degrees.value().is_none());
}

#[test]
fn a_new_sheet_is_read_and_asks_its_question_where_a_key_is_needed() {
    let sheet = parsed(questions::NEW_SHEET);
    let missing = sheet.engine.idle_crank_rpm.get().expect_err("nobody has answered");
    let line = questions::NEW_SHEET.lines().position(|line| line.starts_with("# idle =")).expect("the question") + 1;
    assert_eq!((missing.key(), missing.line()), (Some("engine.idle"), Some(line)));
    let help = miette::Diagnostic::help(&missing).expect("a remedy").to_string();
    assert_eq!(help, "How fast does it idle? Write `idle = \"… crank rpm\"` under `[engine]`.");
}

/// The demo has every key that a person can write but those of engines that are not driven, so the new sheet must ask for each of
/// them, and for nothing else.
#[test]
fn a_new_sheet_asks_for_every_key() {
    let keys = |text: &str, prefix: &str| -> Vec<String> {
        let mut table = String::new();
        let mut keys = Vec::new();
        for line in text.lines() {
            let bare = line.trim_start_matches("# ");
            if bare.starts_with('[') {
                table = bare.split(']').next().unwrap_or_default().trim_start_matches('[').to_owned();
            } else if let Some((key, _)) = line.strip_prefix(prefix).and_then(|line| line.split_once(" = "))
                && key.chars().all(|c| c == '_' || c.is_ascii_lowercase())
            {
                assert!(
                    prefix.is_empty() || questions::question(&table, key).is_some_and(|asked| !asked.text.is_empty())
                );
                let key = format!("{table}.{key}");
                // The demo has more than one operating condition.
                if !keys.contains(&key) {
                    keys.push(key);
                }
            }
        }
        keys
    };
    let mut asked = keys(questions::NEW_SHEET, "# ");
    asked.insert(0, ".bobweight_sheet".to_owned());
    // The demo's engine is as its book has it.
    asked.retain(|key| !key.starts_with("changed."));
    // Nothing of it is assumed.
    asked.retain(|key| key != ".assumed");
    // And its pickup neither bounces nor moves a flank.
    asked.retain(|key| !["pickup.bounce", "pickup.moving_flank", "pickup.signal_from"].contains(&key.as_str()));
    // And nothing trims it.
    asked.retain(|key| !key.starts_with("advance.trim_"));
    let uneven = asked.iter().position(|key| key == "engine.firing_intervals").expect("it is asked for");
    asked.remove(uneven);
    assert_eq!(asked, keys(demo_text(), ""));
}

/// Whatever a slip of the finger does to a sheet, it is read or refused at a line that it has, and the message is whole.
#[test]
fn no_slip_of_the_finger_gets_past_a_message() {
    let slips = ["", "\"", "[", "]", "=", "\n", "#", "é", "9", "-", ".", "\u{0}"];
    let text = demo_text();
    let mut refused = 0;
    for (index, (at, letter)) in text.char_indices().enumerate() {
        let slipped = format!("{}{}{}", &text[..at], slips[index % slips.len()], &text[at + letter.len_utf8()..]);
        if let Err(error) = parse("sheet.toml", &slipped) {
            refused += 1;
            let line = error.line().expect("a line");
            assert!((1..=slipped.lines().count() + 1).contains(&line), "{error}");
            let rendered = crate::cli::render::render(&error, false, 100);
            assert!(rendered.contains("help: ") && rendered.contains("sheet.toml:"), "{rendered}");
        }
    }
    assert!(refused > 500, "most slips outside comments are noticed: {refused}");
}
