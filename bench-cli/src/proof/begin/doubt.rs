//! Answers that are read well and hardly meant: `85` where 8.5 was to be typed.

use crate::curve::known::{KnownCentrifugal, KnownVacuum};
use crate::quantity::of_core::{crank_degrees, rpm_of};
use crate::sheet::{Form, Guide};
use crate::words::number::short;

/// What to ask back; none where an answer is likely.
pub fn doubt(guide: &Guide, typed: &str) -> Option<String> {
    let (value, likely, unit) = match guide.form {
        Form::Quantity(unit) => (number(typed, unit)?, guide.likely?, unit),
        Form::Centrifugal => {
            let known: KnownCentrifugal = typed.parse().ok()?;
            let by = rpm_of(known.by);
            if !(1000.0..=7000.0).contains(&by) {
                return Some(unlikely(by, (1000.0, 7000.0), "crank rpm", "", typed));
            }
            (crank_degrees(known.greatest), (3.0, 42.0), "crank degrees")
        }
        Form::Vacuum => {
            let known: KnownVacuum = typed.parse().ok()?;
            (crank_degrees(known.greatest), (3.0, 25.0), "crank degrees")
        }
        Form::Whole | Form::Text | Form::DwellTable => return None,
    };
    (!(likely.0..=likely.1).contains(&value)).then(|| unlikely(value, likely, unit, guide.usual, typed))
}

/// The number as it counts in the unit of the question; none where it is in a unit that only the sheet can turn into it.
fn number(typed: &str, unit: &str) -> Option<f64> {
    let typed = typed.trim();
    let end = typed.find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c))).unwrap_or(typed.len());
    let (number, rest) = typed.split_at(end);
    let number: f64 = number.parse().ok()?;
    match rest.trim() {
        "" => Some(number),
        rest if rest == unit => Some(number),
        // A distributor turns once in two turns of the crank.
        rest if rest.replace("distributor", "crank") == unit => Some(2.0 * number),
        _ => None,
    }
}

fn unlikely(value: f64, likely: (f64, f64), unit: &str, usual: &str, typed: &str) -> String {
    let slips = [0.1, 10.0, 0.01, 100.0, 2.0, 0.5];
    let meant = slips.iter().map(|slip| value * slip).find(|meant| (likely.0..=likely.1).contains(meant));
    let meant = meant.map(|meant| format!("{} {unit}? ", short(meant, 3))).unwrap_or_default();
    let usual = if usual.is_empty() { String::new() } else { format!(" Usual: {usual}.") };
    format!(
        "{} {unit}: {meant}That is far from what is usual.{usual} Type what it is; where it is `{}` all the same, type that again.",
        short(value, 3),
        typed.trim()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::guide;

    #[test]
    fn a_slip_is_asked_back_and_what_is_usual_is_taken() {
        let of = |key, typed| doubt(guide(key).expect("a guide"), typed);
        let slip = of("advance.initial", "85").expect("far off");
        assert!(slip.starts_with("85 crank degrees: 8.5 crank degrees? "), "{slip}");
        assert!(of("engine.idle", "65").expect("far off").contains("650 crank rpm?"));
        assert!(of("engine.idle", "6500 crank rpm").expect("far off").contains("650 crank rpm?"));
        assert!(of("vacuum.breakpoints", "80 crank degrees").is_some_and(|asked| asked.contains("8 crank degrees?")));
        assert!(
            of("centrifugal.breakpoints", "22 crank degrees by 300 crank rpm")
                .is_some_and(|asked| asked.contains("3 000 crank rpm?"))
        );
        for (key, typed) in [
            ("advance.initial", "8.5"),
            ("engine.idle", "650 crank rpm"),
            ("engine.idle", "325 distributor rpm"),
            ("centrifugal.breakpoints", "22 crank degrees by 3000 crank rpm"),
            ("vacuum.breakpoints", "none"),
            ("pickup.kind", "vane"),
            ("pickup.lag", "0"),
        ] {
            assert_eq!(of(key, typed), None, "{key}: {typed}");
        }
    }
}
