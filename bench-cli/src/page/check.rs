//! The result of a check as text.

use super::columns::{Columns, Lie};
use super::lines::line;
use crate::quantity::of_core::{kpa_of, rpm_of};
use crate::record::check::CheckResult;
use crate::record::sparks::{SparkResult, SparksResult};
use crate::words::number::{fixed, whole};
use crate::words::position::position;
use crate::words::wrap::paragraph;
use bobweight::quantity::{CrankSpeed, Depression};
use std::fmt::Write as _;

/// Cause, earliest, latest, rotor, energy.
const TABLE: Columns = Columns {
    each: &[(24, Lie::Left, 0), (11, Lie::Right, 1), (11, Lie::Right, 1), (15, Lie::Right, 1), (11, Lie::Right, 1)],
};

/// The list of sparks, a line for each cause. The rule of each stands in the saved result.
pub fn every_spark(sparks: &SparksResult) -> String {
    let rows: Vec<[String; 5]> = sparks.rows.iter().map(cells).collect();
    let mut lines: Vec<&[String]> = Vec::new();
    let heading = [
        ["", "", "", "rotor past", ""].map(str::to_owned),
        ["EVERY SPARK", "earliest", "latest", "its own tower", "energy"].map(str::to_owned),
        ["cause", "crank deg", "crank deg", "distributor deg", "mJ"].map(str::to_owned),
    ];
    lines.extend(heading.iter().map(<[String; 5]>::as_slice));
    lines.extend(rows.iter().map(<[String; 5]>::as_slice));
    TABLE.lines(&lines)
}

fn cells(row: &SparkResult) -> [String; 5] {
    let name = row.statement.split(':').next().unwrap_or(&row.cause).to_owned();
    let Some(angles) = &row.angles else {
        return [name, "no spark".to_owned(), String::new(), String::new(), String::new()];
    };
    let [earliest, latest] = if angles.anywhere {
        ["anywhere".to_owned(), String::new()]
    } else {
        [position(angles.earliest_crank_degrees), position(angles.latest_crank_degrees)]
    };
    let rotor = angles.rotor.filter(|_| !angles.anywhere).map_or_else(String::new, |rotor| {
        format!("{} to {}", fixed(-rotor.before_distributor_degrees, 1), fixed(rotor.past_distributor_degrees, 1))
    });
    let energy = row.energy.map_or_else(String::new, |energy| {
        format!("{} to {}", fixed(energy.least_mj, 0), fixed(energy.greatest_mj, 0))
    });
    [name, earliest, latest, rotor, energy]
}

/// The whole result.
pub fn render(result: &CheckResult) -> String {
    let mut text = String::new();
    paragraph(&mut text, "", &format!("{} ({})", result.sheet.name, result.sheet.file));
    let domain = format!(
        "every speed up to {} crank rpm and every vacuum up to {} kPa, not at a few points",
        whole(rpm_of(CrankSpeed::MAX)),
        whole(kpa_of(Depression::MAX))
    );
    line(&mut text, "proven over", &domain);
    for limit in &result.limits {
        line(&mut text, "limit", &limit.statement);
    }
    if result.clamp.is_empty() {
        line(&mut text, "clamp", "never acts (it is the ignition's last fuse: it cuts the advance at your limits)");
    }
    for clamp in &result.clamp {
        line(&mut text, "clamp", &clamp.statement);
    }
    let besides = [
        ("lag", result.lag.as_ref().map(|lag| &lag.statement)),
        ("cranking", result.cranking.as_ref().map(|cranking| &cranking.statement)),
        ("full throttle", result.stuck_sensor.as_ref().map(|sensor| &sensor.statement)),
        ("a climb", result.climb.as_ref().map(|climb| &climb.statement)),
    ];
    for (name, statement) in besides {
        if let Some(statement) = statement {
            line(&mut text, name, statement);
        }
    }
    if let Some(sparks) = &result.sparks {
        for demand in &sparks.demands {
            line(&mut text, "asked", &demand.statement);
        }
        for assumed in &sparks.assumed {
            line(&mut text, "assumed", assumed);
        }
    }
    for warning in &result.warnings {
        line(&mut text, "warning", warning);
    }
    for what in &result.not_told {
        line(&mut text, "not told yet", what);
    }
    if let Some(sparks) = &result.sparks {
        text.push('\n');
        text.push_str(&every_spark(sparks));
    }
    let broken = result.limits.iter().filter(|limit| !limit.kept).count();
    let asked = result.sparks.iter().flat_map(|sparks| &sparks.demands).filter(|demand| !demand.kept).count();
    let broken = broken + asked;
    let verdict = if broken == 0 { "all kept".to_owned() } else { format!("{broken} BROKEN") };
    let _ = writeln!(text, "\nlimits: {verdict}");
    text
}
