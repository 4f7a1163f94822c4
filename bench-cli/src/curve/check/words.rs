//! A limit in a sentence, as one mechanic would say it to another.

use crate::quantity::of_core::{crank_degrees, kpa_of, rpm_of};
use crate::words::number::{short, whole};
use bobweight::{Corner, Limit};

/// Such as `greatest advance: OK, 4 crank degrees to spare (38 of 42, at 3 300 crank rpm with full vacuum)`. Angles are crank
/// degrees; `place` says where the advance comes nearest to its limit.
pub(super) fn of_limit(limit: Limit, allowed: f64, sum: f64, margin: f64, kept: bool, place: &str) -> String {
    let name = match limit {
        Limit::Greatest => "greatest advance",
        Limit::GreatestWithoutVacuum => "greatest advance without vacuum",
        Limit::GreatestCranking => "greatest advance while cranking",
        Limit::Least => "least advance",
    };
    let (sum, allowed, by) = (short(sum, 2), short(allowed, 2), short(margin.abs(), 2));
    let against = match (limit, kept) {
        (Limit::Least, _) => format!("{sum}, and never below {allowed}"),
        (_, true) => format!("{sum} of {allowed}"),
        (_, false) => format!("{sum}, and {allowed} is allowed"),
    };
    let at = if place.is_empty() { String::new() } else { format!(", {place}") };
    if kept {
        format!("{name}: OK, {by} crank degrees to spare ({against}{at})")
    } else {
        format!("{name}: BROKEN by {by} crank degrees ({against}{at})")
    }
}

/// Where the curve comes nearest to a limit; nothing where the limit's name says it.
pub(super) fn place(limit: Limit, worst: &Corner) -> String {
    let place = untrimmed(limit, worst);
    let trim = crank_degrees(worst.trim);
    match limit {
        _ if trim == 0.0 => place,
        Limit::Least => format!("{place}, trimmed by {:.1} to the late side", -trim),
        _ => format!("{place}, trimmed by {trim:.1} to the early side"),
    }
}

fn untrimmed(limit: Limit, worst: &Corner) -> String {
    match (limit, worst) {
        (Limit::GreatestCranking, _) => String::new(),
        (_, Corner { running: false, .. }) => "the held advance".to_owned(),
        (Limit::GreatestWithoutVacuum, Corner { speed, depression: None, .. }) => {
            format!("at {} crank rpm", whole(rpm_of(*speed)))
        }
        (_, Corner { speed, depression: None, .. }) => format!("at {} crank rpm without vacuum", whole(rpm_of(*speed))),
        (Limit::Greatest, Corner { speed, .. }) => format!("at {} crank rpm with full vacuum", whole(rpm_of(*speed))),
        (_, Corner { speed, depression: Some(depression), .. }) => {
            format!("at {} crank rpm and {:.1} kPa of vacuum", whole(rpm_of(*speed)), kpa_of(*depression))
        }
    }
}
