use super::*;
use crate::record::coil::HeatedBy;
use std::collections::HashMap;

/// The rows of a vector file by the names of its columns.
fn rows(text: &str) -> Vec<HashMap<&str, f64>> {
    let mut lines = text.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let names = lines.next().expect("a heading");
    let number = |cell: &str| cell.parse().unwrap_or_else(|_| panic!("{cell}"));
    lines.map(|cells| names.iter().copied().zip(cells.into_iter().map(number)).collect()).collect()
}

fn known(rows: &str) -> Vec<(HashMap<&str, f64>, CoilReadings)> {
    let within = |value: f64, share: f64, besides: f64| Some(Read { value, within: Some(share * value + besides) });
    let reading = |row: &HashMap<&str, f64>| {
        let ohms = |name: &str| within(row[name], 0.005, 0.02);
        let steady = |name: &str| within(row[name], 0.005, 0.02);
        let alternating = |name: &str| within(row[name], 0.01, 0.01).expect("a reading");
        CoilReadings {
            resistance: ohms("resistance"),
            leads: ohms("leads"),
            cold_c: Some(row["cold_c"]),
            supply: steady("supply"),
            across_coil: steady("across_coil"),
            across_switch: steady("across_switch"),
            given_ballast_ohm: None,
            winding_by_sheet_ohm: None,
            hot: ohms("hot"),
            after_s: Some(row["after_min"] * 60.0),
            hotter: ohms("hotter"),
            inductance: Some(Inductance::Measured(Alternating {
                mains_hz: within(row["mains"], 0.01, 0.0).expect("a reading"),
                series_ohm: ohms("series").expect("a reading"),
                across_series: alternating("across_series"),
                across_coil: alternating("across_primary"),
                across_both: alternating("across_both"),
            })),
        }
    };
    self::rows(rows).into_iter().map(|row| (row.clone(), reading(&row))).collect()
}

const READ: &str = include_str!("../../../../tests/truth/reference/vectors/coil_by_meter.csv");

fn first() -> CoilReadings {
    known(READ)[0].1
}

fn nothing_wanted() -> Use<'static> {
    Use {
        wanted: None,
        driver_drop_volts: None,
        battery: Battery { from: 6.0, to: 16.0 },
        largest_dwell_s: None,
        largest_duty: None,
        burn_time_s: None,
        cylinders: None,
        top_crank_rpm: None,
        idle_crank_rpm: None,
        air_c: None,
        loop_ohm: None,
        allowed: Allowed::default(),
        sheet: None,
    }
}

fn a_four() -> Use<'static> {
    Use {
        wanted: Some(WantedSpark::Energy(0.04)),
        driver_drop_volts: Some(1.0),
        cylinders: Some(4),
        top_crank_rpm: Some(5_000.0),
        idle_crank_rpm: Some(700.0),
        ..nothing_wanted()
    }
}

/// Source: `NumPy`, which made the readings of known coils by Ohm's law and by phasors, and drew what they may be out
/// (`tests/truth/reference/coil_by_meter.py`).
#[test]
fn what_the_readings_were_made_of_is_found_again_with_what_it_may_be_out() {
    let mut count = 0;
    for (row, readings) in known(READ) {
        type Figure = fn(&CoilReadings) -> Option<f64>;
        let figures: [(&str, &str, Figure); 3] = [
            ("coil_ohm", "coil_out", CoilReadings::coil_ohm),
            ("rest_ohm", "rest_out", CoilReadings::rest_ohm),
            ("inductance_mh", "inductance_out", |readings| Some(readings.inductance_h()? * 1e3)),
        ];
        for (figure, out, of) in figures {
            let found = of(&readings).expect(figure);
            assert!((found / row[figure] - 1.0).abs() < 1e-9, "{figure}: {found}, made of {}", row[figure]);
            let by = readings.give_or_take(of).expect(out);
            // Stated before it was looked at: what is straightened out here is straight to 5 %.
            assert!((by / row[out] - 1.0).abs() < 0.05, "{out}: {by}, drawn {}", row[out]);
            count += 1;
        }
        let alternating = readings.alternating_ohm().expect("it was read");
        assert!((alternating - row["alternating_ohm"]).abs() < 1e-9);
    }
    assert_eq!(count, 12);
}

/// Source: the differential equation of a body that is heated by volts behind a resistance and loses heat in proportion to its rise,
/// solved by `SciPy`.
#[test]
fn two_readings_by_the_clock_tell_where_the_warming_ends() {
    for (row, readings) in known(READ) {
        let Section::Known(heat) = result(&readings, &nothing_wanted()).expect("a result").heat else {
            panic!("{row:?}")
        };
        let warmed = heat.warmed.expect("it was looked at");
        let found = warmed.kelvin_per_watt.value;
        assert!((found / row["kelvin_per_watt"] - 1.0).abs() < 1e-4, "{found}, made of {}", row["kelvin_per_watt"]);
        let minutes = warmed.time_constant_min.expect("two readings");
        assert!(
            (minutes / row["time_constant_min"] - 1.0).abs() < 0.1,
            "{minutes}, made of {}",
            row["time_constant_min"]
        );
        // One reading alone gives less than there is, and says so.
        let once = CoilReadings { hotter: None, ..readings };
        let Section::Known(heat) = result(&once, &nothing_wanted()).expect("a result").heat else { panic!("{row:?}") };
        let warmed = heat.warmed.expect("it was looked at");
        assert!(!warmed.at_end && warmed.time_constant_min.is_none());
        assert!(warmed.kelvin_per_watt.value < row["kelvin_per_watt"]);
        assert!(warmed_in_words(&heat).contains("one reading cannot tell where"));
    }
}

/// By hand: steady watts P through K kelvin a watt with time constant T give `rise = P K (1 - exp(-t/T))`; with P K = 80 and t = T the
/// rises are 80 * 0.63212 = 50.57 and 80 * 0.86466 = 69.17.
#[test]
fn rises_of_an_even_warming_are_led_to_their_end() {
    let copper = |rise: f64| copper::resistance_at(2.0, 20.0, 20.0 + rise);
    let read = |value: f64| Some(Read { value, within: None });
    let readings = CoilReadings {
        resistance: read(2.0),
        leads: read(0.0),
        cold_c: Some(20.0),
        hot: read(copper(50.570)),
        hotter: read(copper(69.173)),
        after_s: Some(900.0),
        ..CoilReadings::default()
    };
    // A ballast of as many ohms as the winding has on its way: its watts, R / (R + r)^2, stay the same within 0.4 %.
    let readings = CoilReadings { supply: read(4.27), across_coil: read(2.0), ..readings };
    let Section::Known(heat) = result(&readings, &nothing_wanted()).expect("a result").heat else { panic!("no heat") };
    let warmed = heat.warmed.expect("it was looked at");
    let end = warmed.kelvin_per_watt.value * warmed.watts;
    assert!((end - 80.0).abs() < 0.5, "{end}");
    assert!((warmed.time_constant_min.expect("two") - 15.0).abs() < 0.15, "{warmed:?}");
    assert!(warmed.kelvin_per_watt.give_or_take.is_none(), "nobody said how exact the meter is");
}

/// Source: `SciPy` `quad`, `tests/truth/reference/coil_by_meter.py`.
#[test]
fn current_energy_and_heat_of_a_dwell_agree_with_an_integration() {
    let rows = rows(include_str!("../../../../tests/truth/reference/vectors/coil_heat.csv"));
    for row in &rows {
        let circuit = Circuit {
            resistance_ohm: row["resistance_ohm"],
            inductance_h: row["inductance_mh"] / 1e3,
            driver_drop_volts: row["driver_drop_v"],
        };
        let (volts, dwell) = (row["volts"], row["dwell_ms"] / 1e3);
        for (found, wanted) in [
            (circuit.current_a(volts, dwell), row["current_a"]),
            (circuit.energy_j(volts, dwell) * 1e3, row["energy_mj"]),
            (circuit.square_ampere_seconds(volts, dwell) * 1e3, row["square_a2_ms"]),
        ] {
            assert!((found / wanted - 1.0).abs() < 1e-9, "{row:?}: {found}, {wanted}");
        }
    }
    assert_eq!(rows.len(), 4);
}

fn dwell_of(readings: &CoilReadings, wanted: &Use) -> DwellOfCoil {
    match result(readings, wanted).expect("a result").dwell {
        Section::Known(dwell) => dwell,
        Section::Missing(why) => panic!("{why}"),
    }
}

/// By hand: 40 mJ in 7 mH are sqrt(2 * 0.04 / 0.007) = 3.381 A. Four cylinders at 5 000 crank rpm spark every 120 / 20 000 s = 6 ms; of that
/// a coil that may be on 70 % has 4.2 ms. At 16 V less 1 V through 2.9 ohm, 5.172 A at last, with L/R = 2.4138 ms, 3.381 A are reached
/// after 2.4138 * -ln(1 - 0.65367) = 2.560 ms.
#[test]
fn the_table_is_the_circuits_and_top_speed_cuts_it_short() {
    let dwell = dwell_of(&first(), &a_four());
    assert!((dwell.wanted_a - 3.381).abs() < 1e-3, "{}", dwell.wanted_a);
    let last = dwell.table.last().expect("a row");
    assert!((last.dwell_ms - 2.56).abs() < 0.006 && (last.energy_mj - 40.0).abs() < 0.3, "{last:?}");
    for row in &dwell.table {
        let top = row.at_top.expect("a speed");
        assert!((top.dwell_ms - row.dwell_ms.min(4.2)).abs() < 1e-9, "{row:?}");
        assert!(top.hot_energy_mj < top.energy_mj.value && top.energy_mj.value <= row.energy_mj + 1e-9);
        assert!(top.energy_mj.give_or_take.is_some_and(|by| by > 0.0 && by < 0.2 * top.energy_mj.value), "{row:?}");
    }
    // Three time constants, 7.24 ms, rounded up.
    assert!((dwell.largest_dwell_ms - 7.3).abs() < 1e-9, "{}", dwell.largest_dwell_ms);
}

/// By hand: from 1.5 ohm at 20 C copper comes to 1.5 * 1.393 = 2.0895 ohm with 100 K more; with 1.4 ohm beside it the dwell of 16 V, 2.56
/// ms, gives 15 / 3.4895 * (1 - exp(-2.56 * 3.4895 / 7)) = 3.0988 A and half of 7 mH times its square, 33.61 mJ.
#[test]
fn a_warm_winding_has_less_energy_after_the_same_dwell() {
    let dwell = dwell_of(&first(), &a_four());
    let last = dwell.table.last().expect("a row");
    let top = last.at_top.expect("a speed");
    let by_hand = {
        let current = 15.0 / 3.4895 * -(-last.dwell_ms * 3.4895 / 7.0).exp_m1();
        0.5 * 7.0 * current * current
    };
    assert!((top.hot_energy_mj - by_hand).abs() < 1e-6 && (by_hand - 33.61).abs() < 0.1, "{top:?} {by_hand}");
}

/// By hand, of the first coil: 15 V over 3.381 A are 4.437 ohm, of which the winding has 1.5, so that 2.94 hold the current; 11 V over it
/// are 3.254 ohm at 12 V, and 2.0895 of them the warm winding's.
#[test]
fn the_ballast_that_holds_and_the_one_that_still_lets_through() {
    let said = dwell_of(&first(), &a_four()).ballast.join("\n");
    assert!(said.contains("alone holds the current to 3.38 A at 16 V: 2.94 ohm or more"), "{said}");
    assert!(said.contains("no ballast at all lets 3.38 A be reached at 6 V: the winding alone has 2.09 ohm"), "{said}");
    assert!(said.contains("no ballast does both"), "{said}");
    let narrow = Use { battery: Battery { from: 12.0, to: 13.0 }, ..a_four() };
    let said = dwell_of(&first(), &narrow).ballast.join("\n");
    assert!(said.contains("still reached at 12 V, the winding 100 K warmer: less than 1.16 ohm"), "{said}");
    // 12 V over 3.381 A less 1.5 ohm is 2.05: more than 1.16.
    assert!(said.contains("no ballast does both"), "{said}");
    // A winding that hardly warms beside its drop: 24 ohm loop at low current.
    let small = Use { wanted: Some(WantedSpark::Current(0.6)), battery: Battery { from: 14.0, to: 15.0 }, ..a_four() };
    let said =
        dwell_of(&CoilReadings { inductance: Some(Inductance::Given(0.05)), ..first() }, &small).ballast.join("\n");
    // (15 - 1)/0.6 - 1.5 = 21.83, and (14 - 1)/0.6 - 2.09 = 19.58.
    assert!(said.contains("21.83 ohm or more") && said.contains("less than 19.58 ohm"), "{said}");
}

/// By hand: 16 V less 1 V over 2.9 ohm are 5.172 A, and 5.172^2 * 1.5 = 40.1 W cold.
#[test]
fn heat_is_told_for_current_left_on_for_idle_and_for_the_top() {
    let cold = CoilReadings { hot: None, hotter: None, after_s: None, ..first() };
    let Section::Known(heat) = result(&cold, &a_four()).expect("a result").heat else { panic!("no heat") };
    let watts: Vec<f64> = heat.rows.iter().map(|row| row.watts).collect();
    assert_eq!(
        heat.rows.iter().map(|row| row.used).collect::<Vec<_>>(),
        [HeatedBy::LeftOn, HeatedBy::Idle, HeatedBy::TopSpeed]
    );
    assert!((watts[0] - 40.13).abs() < 0.01, "{watts:?}");
    // One and the same dwell, 5 000 / 700 times as often.
    assert!((watts[2] / watts[1] - 5_000.0 / 700.0).abs() < 1e-9, "{watts:?}");
    assert!(heat.rows.iter().all(|row| row.winding_c.is_none()) && warmed_in_words(&heat).contains("not looked at"));
    let Section::Known(heat) = result(&first(), &a_four()).expect("a result").heat else { panic!("no heat") };
    let reached: Vec<f64> = heat.rows.iter().map(|row| row.winding_c.expect("told")).collect();
    assert!(reached[0] > reached[2] && reached[2] > reached[1] && reached[1] > 20.0, "{reached:?}");
    // What is given off is what goes in, at the temperature that is told.
    let each = heat.warmed.expect("looked at").kelvin_per_watt.value;
    for row in &heat.rows {
        assert!((20.0 + each * row.watts - row.winding_c.expect("told")).abs() < 1e-6, "{row:?}");
    }
    assert!(heat_warnings(&heat).iter().any(|said| said.contains("ages fast")) == (reached[0] > 105.0));
    let warm = Use { air_c: Some(60.0), ..a_four() };
    let Section::Known(warm) = result(&first(), &warm).expect("a result").heat else { panic!("no heat") };
    assert!(warm.rows[1].winding_c.expect("told") > reached[1] + 39.0);
}

#[test]
fn what_is_missing_is_said_and_never_guessed() {
    let bare = CoilReadings { inductance: None, ..first() };
    let Section::Missing(why) = result(&bare, &nothing_wanted()).expect("a result").dwell else { panic!("guessed") };
    for missing in ["`--inductance`", "No ohms and no steady volts tell it", "`--driver-drop`", "`--energy`"] {
        assert!(why.contains(missing), "{why}");
    }
    assert!(!why.contains("`--across-coil`"), "the loop is known: {why}");
    let never = Use { wanted: Some(WantedSpark::Current(20.0)), ..a_four() };
    let Section::Missing(why) = result(&first(), &never).expect("a result").dwell else { panic!("guessed") };
    assert!(why.contains("never reaches 20 A"), "{why}");
    let loose = CoilReadings { supply: None, across_coil: None, hot: None, ..first() };
    let Section::Missing(why) = result(&loose, &a_four()).expect("a result").heat else { panic!("guessed") };
    assert!(why.contains("`--supply` and `--across-coil`"), "{why}");
}

#[test]
fn readings_that_cannot_be_are_refused() {
    let read = |value: f64| Some(Read { value, within: None });
    let with = |change: fn(&mut Alternating)| {
        let mut readings = first();
        if let Some(Inductance::Measured(alternating)) = &mut readings.inductance {
            change(alternating);
        }
        readings
    };
    for (what, readings) in [
        ("the leads alone have", CoilReadings { leads: read(1.7), ..first() }),
        ("more than the 12.3 V of the battery", CoilReadings { across_coil: read(12.2), ..first() }),
        ("not more than the", CoilReadings { hot: read(1.69), ..first() }),
        ("not more than the", CoilReadings { hotter: read(1.93), ..first() }),
        ("which no coil lives through", CoilReadings { hotter: read(2.9), ..first() }),
        ("make no triangle", with(|read| read.across_both.value = 9.0)),
        ("make no triangle", with(|read| read.across_both.value = 4.0)),
        // In step with the current are less volts than the copper alone takes.
        ("less than the 1.5 ohm of its copper", with(|read| read.across_both.value = 7.2)),
    ] {
        let refused = result(&readings, &nothing_wanted()).expect_err(what);
        assert!(refused.what.contains(what) && !refused.help.is_empty(), "{what}: {refused:?}");
    }
    assert!(result(&first(), &nothing_wanted()).is_ok());
}

/// 1.66 ohm after 1.65 by a meter that is out by 0.1 ohm: nobody knows how warm that is, and no temperature is told of it.
#[test]
fn a_warming_that_the_meter_cannot_see_gives_no_temperature() {
    let coarse = |value: f64| Some(Read { value, within: Some(0.1 + 0.01 * value) });
    let exact = |value: f64| Some(Read { value, within: None });
    let readings = CoilReadings {
        resistance: coarse(1.7),
        leads: coarse(0.2),
        hot: coarse(1.85),
        hotter: coarse(1.86),
        supply: exact(12.3),
        across_coil: exact(6.2),
        ..first()
    };
    let Section::Known(heat) = result(&readings, &a_four()).expect("a result").heat else { panic!("no heat") };
    assert!(warmed_in_words(&heat).contains("cannot tell from nothing"), "{}", warmed_in_words(&heat));
    for row in &heat.rows {
        assert_eq!(row.winding_c, None);
        assert!(!heat_row_in_words(&heat, row).contains(" C in air"), "{}", heat_row_in_words(&heat, row));
    }
    let told = result(&readings, &a_four()).expect("a result").not_told.join("\n");
    assert!(told.contains("`--dc-accuracy`"), "{told}");
    let known = result(&first(), &a_four()).expect("a result").not_told.join("\n");
    assert!(!known.contains("`--dc-accuracy`"), "{known}");
}
