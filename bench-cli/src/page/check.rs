//! The result of a check as text.

use super::text::line;
use crate::quantity::of_core::{kpa_of, rpm_of};
use crate::record::check::CheckResult;
use crate::words::number::whole;
use crate::words::wrap::paragraph;
use bobweight::quantity::{CrankSpeed, Depression};
use std::fmt::Write as _;

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
    for warning in &result.warnings {
        line(&mut text, "warning", warning);
    }
    for what in &result.not_told {
        line(&mut text, "not told yet", what);
    }
    let broken = result.limits.iter().filter(|limit| !limit.kept).count();
    let verdict = if broken == 0 { "all kept".to_owned() } else { format!("{broken} BROKEN") };
    let _ = writeln!(text, "\nlimits: {verdict}");
    text
}
