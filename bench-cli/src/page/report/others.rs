//! What a fit, the figures, a check and an ignition say: each sentence of them, and their tables.

use super::page::Html;
use crate::curve::measured_coil::{heat_row_in_words, heat_warnings, measured_in_words, top_in_words, warmed_in_words};
use crate::proof::trials::place_in_words;
use crate::quantity::units::KPA_PER_INHG;
use crate::record::Record;
use crate::record::check::CheckResult;
use crate::record::coil::{AtTop, CoilResult};
use crate::record::figures::{Advice, CoilFigures, ConditionFigures, FiguresResult, Parts, RotorFigures, Section};
use crate::record::fit::{ByMeterRecord, FitRecord};
use crate::record::ignition::{Curve, IgnitionResult};
use crate::record::interval::Interval;
use crate::record::sparks::CrankingAtVoltage;
use crate::record::trials::{Heard, TrialsResult};
use crate::words::number::{fixed, short};
use crate::words::word_of;

/// The section of a result that has no charts; nothing of a bench run or a proof by light.
pub fn section(html: &mut Html, record: &Record) {
    match record {
        Record::Fit(result) => fit(html, result),
        Record::Coil(result) => coil_by_meter(html, result),
        Record::Figures(result) => figures(html, result),
        Record::Check(result) => check(html, result),
        Record::Ignition(result) => ignition(html, result),
        Record::Trials(result) => trials(html, result),
        Record::Bench(_) | Record::Light(_) => {}
    }
}

/// A value with its 95 % interval.
fn interval(value: &Interval, places: usize) -> String {
    let [value, low, high] = [value.value, value.low, value.high].map(|number| fixed(number, places));
    format!("{value} ({low} to {high})")
}

/// What an interval is made of where the meter may be out.
fn by_meter(by: &ByMeterRecord, places: usize, unit: &str, meter: &str) -> String {
    let readings = interval(&by.by_readings, places);
    format!("By the readings alone {readings} {unit}; the {meter} may be out there by {}.", fixed(by.within, places))
}

/// A fit: what was found in the old distributor, and what of it is worn.
fn fit(html: &mut Html, result: &FitRecord) {
    html.heading(2, "What the readings of the old distributor say");
    html.paragraph(&format!(
        "Found in {} readings with the hose off and {} with it on, of {}. Initial timing {} crank degrees BTDC, with its 95 % \
         interval; scatter {} crank degrees.",
        result.hose_off_readings,
        result.hose_on_readings,
        result.readings,
        interval(&result.initial_crank_degrees, 1),
        fixed(result.scatter_crank_degrees.value, 2)
    ));
    let rows: Vec<Vec<String>> = result
        .centrifugal
        .iter()
        .map(|row| vec![interval(&row.crank_rpm, 0), interval(&row.crank_degrees, 1)])
        .collect();
    html.table("Centrifugal advance found, with 95 % intervals", &["crank rpm", "crank degrees"], &rows);
    let mut said = Vec::new();
    said.extend(
        result
            .centrifugal
            .iter()
            .filter_map(|row| Some(by_meter(row.by_tachometer.as_ref()?, 0, "crank rpm", "tachometer"))),
    );
    if let Some(vacuum) = &result.vacuum {
        let by_gauge = [&vacuum.start_by_gauge, &vacuum.full_by_gauge].into_iter().flatten();
        said.extend(by_gauge.map(|by| by_meter(by, 1, "kPa depression", "gauge")));
        html.paragraph(&format!(
            "Vacuum advance found: from {} to {} kPa depression, {} crank degrees at most.",
            interval(&vacuum.start_kpa_depression, 1),
            interval(&vacuum.full_kpa_depression, 1),
            interval(&vacuum.greatest_crank_degrees, 1)
        ));
    }
    let misread = result
        .misread
        .iter()
        .chain(&result.second_misread)
        .chain(result.vacuum.iter().filter_map(|vacuum| vacuum.misread.as_ref()));
    said.extend(misread.map(|misread| {
        format!(
            "Line {} is probably misread ({} %): read that speed again.",
            misread.line,
            fixed(misread.probability * 100.0, 0)
        )
    }));
    said.extend(result.unsettled.iter().map(|why| format!("Not settled: {why}.")));
    said.extend(result.read_next.iter().map(|next| {
        format!(
            "Read next at {} crank rpm: breakpoint {} is uncertain by {} crank degrees.",
            fixed(next.crank_rpm, 0),
            next.breakpoint,
            fixed(next.worth_crank_degrees, 1)
        )
    }));
    said.extend(result.findings.iter().map(|finding| finding.sentence.clone()));
    said.extend(result.questions.iter().cloned());
    html.list(said);
}

/// The figures in every operating condition, what a change would do, the advice, the rotor, the coil.
fn figures(html: &mut Html, result: &FiguresResult) {
    html.heading(2, "The figures");
    if !result.engine.is_empty() {
        html.paragraph(&result.engine);
    }
    conditions(html, "Advance in every operating condition, crank degrees BTDC", &result.conditions);
    if let Some(wanted) = &result.full_throttle {
        html.paragraph(&format!(
            "For {} crank degrees in all at full throttle, set the initial timing to {} crank degrees: the centrifugal advance \
             adds {}, all of it from {} crank rpm.",
            short(wanted.wanted_crank_degrees, 1),
            short(wanted.initial_crank_degrees, 1),
            short(wanted.centrifugal_crank_degrees, 1),
            fixed(wanted.from_crank_rpm, 0)
        ));
    }
    html.list(&result.limits.statements);
    advice(html, &result.advice);
    if let Some(what_if) = &result.what_if {
        html.heading(3, "With a change");
        html.list(&what_if.changed);
        conditions(html, "Advance with the change, crank degrees BTDC", &what_if.conditions);
        html.list(&what_if.limits.statements);
        advice(html, &what_if.advice);
    }
    html.heading(3, "Rotor under the old cap");
    match &result.rotor {
        Section::Known(known) => rotor(html, known),
        Section::Missing(why) => html.paragraph(&format!("Cannot be told yet: {why}")),
    }
    html.heading(3, "Coil");
    match &result.coil {
        Section::Known(known) => coil(html, known),
        Section::Missing(why) => html.paragraph(&format!("Cannot be told yet: {why}")),
    }
}

/// A coil that was read by a meter and a clock.
fn coil_by_meter(html: &mut Html, result: &CoilResult) {
    html.heading(2, "What a meter and a clock say of the coil");
    html.list(&result.measured);
    html.heading(3, "Dwell and energy");
    match &result.dwell {
        Section::Missing(why) => html.paragraph(&format!("Cannot be told yet: {why}")),
        Section::Known(dwell) => {
            html.paragraph(&format!(
                "{} A wanted, at which the coil holds {}.",
                fixed(dwell.wanted_a, 2),
                measured_in_words(&dwell.energy_mj, "mJ", 1)
            ));
            let rows: Vec<Vec<String>> = dwell
                .table
                .iter()
                .map(|row| {
                    let top = |cell: fn(&AtTop) -> String| row.at_top.as_ref().map_or_else(|| "-".to_owned(), cell);
                    vec![
                        short(row.volts, 2),
                        fixed(row.dwell_ms, 2),
                        fixed(row.current_a, 2),
                        fixed(row.energy_mj, 1),
                        top(|top| fixed(top.dwell_ms, 2)),
                        top(|top| measured_in_words(&top.energy_mj, "mJ", 1)),
                        top(|top| fixed(top.hot_energy_mj, 1)),
                    ]
                })
                .collect();
            html.table(
                "Dwell and energy by the battery's voltage",
                &["V", "dwell, ms", "A", "mJ", "dwell at top, ms", "energy at top", "100 K warmer, mJ"],
                &rows,
            );
            html.list(dwell.top.iter().map(top_in_words).chain(dwell.ballast.iter().cloned()));
            html.heading(3, "For the sheet");
            html.list(&dwell.sheet_lines);
        }
    }
    html.heading(3, "Heat");
    match &result.heat {
        Section::Missing(why) => html.paragraph(&format!("Cannot be told yet: {why}")),
        Section::Known(heat) => {
            html.paragraph(&warmed_in_words(heat));
            html.list(heat.rows.iter().map(|row| heat_row_in_words(heat, row)));
            html.list(heat_warnings(heat));
        }
    }
    html.heading(3, "Not told by any of it");
    html.list(&result.not_told);
}

fn conditions(html: &mut Html, caption: &str, conditions: &[ConditionFigures]) {
    let row = |condition: &ConditionFigures| {
        let part = |part: fn(&Parts) -> f64| {
            condition.parts.as_ref().map_or_else(|| "-".to_owned(), |parts| fixed(part(parts), 1))
        };
        vec![
            condition.name.clone(),
            fixed(condition.speed_crank_rpm, 0),
            format!("{} ({})", fixed(condition.depression_kpa, 1), fixed(condition.depression_kpa / KPA_PER_INHG, 1)),
            part(|parts| parts.initial_crank_degrees),
            part(|parts| parts.centrifugal_crank_degrees),
            part(|parts| parts.vacuum_crank_degrees),
            part(|parts| parts.total_crank_degrees),
        ]
    };
    html.table(
        caption,
        &["condition", "crank rpm", "kPa (inHg) depression", "initial", "centrifugal", "vacuum", "total"],
        &conditions.iter().map(row).collect::<Vec<_>>(),
    );
    html.list(
        conditions.iter().flat_map(|condition| condition.why.iter().map(|why| format!("{}: {why}", condition.name))),
    );
}

fn advice(html: &mut Html, advice: &[Advice]) {
    html.list(advice.iter().map(|piece| {
        let basis = piece.basis.in_words();
        format!("{} {} ({basis})", piece.text, piece.reason)
    }));
}

fn rotor(html: &mut Html, rotor: &RotorFigures) {
    if rotor.towers.len() < 2 {
        return html.paragraph("One cylinder has one tower, or none: the spark cannot go to a wrong one.");
    }
    let distributor = |degrees: f64| format!("{} distributor degrees", fixed(degrees, 1));
    let towers: Vec<String> = rotor.towers.iter().map(u32::to_string).collect();
    html.definitions(&[
        (
            "Lined up",
            format!("with the tower of cylinder 1 at {} crank degrees BTDC", fixed(rotor.line_up_crank_degrees, 1)),
        ),
        ("To each side", distributor(rotor.each_side_distributor_degrees)),
        ("To the next tower", distributor(rotor.other_tower_distributor_degrees)),
        (
            "Tip and tower face each other",
            rotor.overlap_at_ends_distributor_degrees.map_or_else(
                || "not told: their widths are not in the sheet".to_owned(),
                |overlap| format!("by {} at either end", distributor(overlap)),
            ),
        ),
        (
            "At the pickup's flank",
            rotor.at_flank_before_tower_distributor_degrees.map_or_else(
                || "not told: the sheet has no flank".to_owned(),
                |before| {
                    let side = if before < 0.0 { "past" } else { "before" };
                    format!("{} {side} its tower", distributor(before.abs()))
                },
            ),
        ),
        (
            "Turns",
            format!(
                "{}, seen from above the cap; towers in that direction: {}",
                if rotor.clockwise { "clockwise" } else { "anticlockwise" },
                towers.join(", ")
            ),
        ),
    ]);
    if let Some(at) = rotor.towers_at_in_words() {
        html.paragraph(&format!("Mind: {at}."));
    }
}

fn coil(html: &mut Html, coil: &CoilFigures) {
    html.paragraph(&format!(
        "{} A wanted; below {} V of the battery it is never reached. A dwell without end would draw {} A.",
        short(coil.wanted_a, 1),
        fixed(coil.never_below_volts, 1),
        fixed(coil.most_ever_a, 1)
    ));
    let rows: Vec<Vec<String>> = coil
        .table
        .iter()
        .map(|row| {
            vec![
                short(row.volts, 1),
                row.needed_ms.map_or_else(|| "never".to_owned(), |needed| fixed(needed, 2)),
                fixed(row.dwell_ms, 2),
                fixed(row.current_a, 2),
            ]
        })
        .collect();
    let given = if coil.dwell_is_of_sheet { "the sheet's dwell, ms" } else { "proposed dwell, ms" };
    html.table("Dwell by the battery's voltage", &["V", "needed, ms", given, "current then, A"], &rows);
    if let Section::Missing(why) = &coil.cut_short {
        html.paragraph(&format!("Where the dwell is cut short cannot be told yet: {why}"));
    }
}

/// A check of the limits.
fn check(html: &mut Html, result: &CheckResult) {
    html.heading(2, "The limits");
    html.list(result.limits.iter().map(|limit| &limit.statement));
    html.list(result.clamp.iter().map(|clamp| &clamp.statement));
    let of_parts = [
        result.lag.as_ref().map(|lag| &lag.statement),
        result.cranking.as_ref().map(|cranking| &cranking.statement),
        result.stuck_sensor.as_ref().map(|sensor| &sensor.statement),
        result.climb.as_ref().map(|climb| &climb.statement),
    ];
    html.list(of_parts.into_iter().flatten());
    if let Some(sparks) = &result.sparks {
        html.heading(2, "Every spark");
        html.list(sparks.demands.iter().map(|demand| &demand.statement));
        html.list(sparks.rows.iter().map(|row| &row.statement));
        let volts = |at: &CrankingAtVoltage| {
            let energy = at.energy.map_or_else(String::new, |energy| {
                format!("{} to {}", fixed(energy.least_mj, 1), fixed(energy.greatest_mj, 1))
            });
            vec![short(at.volts, 2), fixed(at.earliest_crank_degrees, 1), fixed(at.latest_crank_degrees, 1), energy]
        };
        let rows: Vec<Vec<String>> = sparks.cranking.iter().map(volts).collect();
        let heading = ["V", "earliest, crank degrees BTDC", "latest, likewise", "energy, mJ"];
        html.table("The starter's sparks by the battery's voltage", &heading, &rows);
        html.list(&sparks.assumed);
    }
    html.list(&result.warnings);
    html.list(&result.not_told);
}

/// What was written into an ignition, or read out of one.
fn ignition(html: &mut Html, result: &IgnitionResult) {
    html.heading(2, "The curve in the ignition");
    let said = |curve: &Option<Curve>| {
        curve.as_ref().map_or_else(|| "no curve that can be read".to_owned(), |curve| curve.statement.clone())
    };
    let mut rows = vec![("Ignition", result.place.clone())];
    if result.before.is_some() {
        rows.push(("Before", said(&result.before)));
    }
    rows.push(("Now", said(&result.now)));
    if let (Some(sheet), Some(tables)) = (&result.sheet, &result.differs_in) {
        let compared = match tables.as_slice() {
            [] => format!("it is the curve of {}", sheet.file),
            tables => format!("it is NOT the curve of {}: it differs in {}", sheet.file, tables.join(", ")),
        };
        rows.push(("Compared", compared));
    }
    html.definitions(&rows);
    if let Some(curve) = &result.now {
        html.as_written("The curve as the tables of a sheet", &curve.tables);
    }
}

/// Trials: what they come to, each of them, and what they do not prove.
fn trials(html: &mut Html, result: &TrialsResult) {
    html.heading(2, "Trials of the timing");
    html.paragraph(&format!(
        "{}: {} trials at {}.",
        result.trials_file,
        result.trials.len(),
        place_in_words(&result.said)
    ));
    html.list(&result.statements);
    // What `[changed]` says stands in the statements, too; here it is with its source.
    let rows: Vec<Vec<String>> = result
        .begin
        .effects
        .iter()
        .map(|effect| {
            let [low, high] = effect.moves_crank_degrees.map(|degrees| fixed(degrees, 1));
            vec![effect.change.clone(), format!("{low} to {high}"), effect.why.clone(), effect.basis.in_words()]
        })
        .collect();
    if !rows.is_empty() {
        let heads = ["change", "crank degrees, earlier above 0", "why", "source"];
        html.table("What each change does to the timing here", &heads, &rows);
    }
    let rows: Vec<Vec<String>> = result
        .trials
        .iter()
        .map(|trial| {
            vec![
                trial.series.to_string(),
                fixed(trial.crank_degrees, 1),
                format!("{} {}", short(trial.measured, 3), result.said.measure.unit()),
                word_of(&Heard::WORDS, trial.heard).to_owned(),
                trial.conditions.clone(),
            ]
        })
        .collect();
    let heads = ["series", "crank degrees BTDC", "measured", "pinking", "conditions"];
    html.table("The trials, in their order", &heads, &rows);
    html.list(&result.next_steps);
    html.list(result.not_proven.iter().map(|open| format!("Not proven: {open}.")));
}
