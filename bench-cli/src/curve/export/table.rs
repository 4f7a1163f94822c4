//! A table of the total advance, worked out by the core.

use super::{Grid, origin};
use crate::quantity::of_core::{crank_degrees, depression, rpm_of, speed};
use crate::sheet::Sheet;
use crate::words::number::{short_ungrouped as short, ungrouped as fixed, whole};
use bobweight::{AdvanceModel, Phase};
use std::fmt::Write;

/// A table in CSV (RFC 4180): a row for each speed, a column for each depression, crank degrees before top dead centre with
/// three decimals. A cell is empty where there is no spark.
pub fn table(sheet: &Sheet, model: &AdvanceModel, speeds: &Grid, depressions: &Grid) -> String {
    let mut text = String::new();
    for line in origin(sheet) {
        let _ = writeln!(text, "# {line}");
    }
    let phases = &model.settings().speeds;
    let _ = writeln!(
        text,
        "# Total advance in crank degrees before top dead centre, throttle open.\n# Below {} crank rpm the cranking advance; above {} \
         crank rpm no spark.",
        whole(rpm_of(phases.cranking_below)),
        whole(rpm_of(phases.no_spark_above))
    );
    text.push_str(&speeds.unit.replace(' ', "_"));
    for (value, _) in &depressions.values {
        let _ = write!(text, ",{} {}", short(*value, 6), depressions.unit);
    }
    text.push('\n');
    for &(typed, crank_rpm) in &speeds.values {
        let _ = write!(text, "{}", short(typed, 6));
        let at = speed(crank_rpm);
        let phase = match at {
            _ if at < phases.cranking_below => Phase::Cranking,
            _ if at > phases.no_spark_above => Phase::Overspeed,
            _ => Phase::Running,
        };
        for &(_, kpa) in &depressions.values {
            let cell = model.advance(phase, at, Some(depression(kpa)), false);
            let cell = cell.map_or(String::new(), |breakdown| fixed(crank_degrees(breakdown.total), 3));
            let _ = write!(text, ",{cell}");
        }
        text.push('\n');
    }
    text
}
