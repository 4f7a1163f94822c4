//! A grid of the user's own: `500..6000 crank rpm by 250`.

use crate::quantity::{self, Pressure, SPEED};
use crate::words::number::short_ungrouped as short;

/// The most values on one side of a grid: more is a slip of the step.
const MOST_VALUES: usize = 1_000;

/// Values from one end to the other, both in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// The unit as it was typed, for the heading.
    pub unit: String,
    /// Each value as a person reads it, in that unit, and in the inner unit.
    pub values: Vec<(f64, f64)>,
}

/// Reads speeds such as `500..6000 crank rpm by 250`, for the command line. Inside they are crank rpm.
///
/// # Errors
/// What is wrong with the text and what to write instead, in one line.
pub fn speeds_from(text: &str) -> Result<Grid, String> {
    grid(text, "500..6000 crank rpm by 250", |one| {
        let crank_rpm = quantity::parse(&SPEED, one).map_err(|error| error.to_string())?;
        if crank_rpm > 20_000.0 { Err(format!("{one} is above 20 000 crank rpm")) } else { Ok(crank_rpm) }
    })
}

/// Reads depressions such as `0..50 kPa depression by 10`, for the command line. Inside they are kPa.
///
/// # Errors
/// What is wrong with the text and what to write instead, in one line.
pub fn depressions_from(text: &str) -> Result<Grid, String> {
    grid(text, "0..50 kPa depression by 10", |one| {
        match quantity::parse_pressure(one).map_err(|error| error.to_string())? {
            Pressure::Depression(kpa) if kpa <= 110.0 => Ok(kpa),
            Pressure::Depression(_) => Err(format!("{one} is above 110 kPa depression")),
            Pressure::Absolute(_) => Err(format!("{one} is no depression: a table has depressions")),
        }
    })
}

fn grid(text: &str, example: &str, inner: impl Fn(&str) -> Result<f64, String>) -> Result<Grid, String> {
    let form = || format!("write the first, the last and the step, such as `{example}`");
    let (first, rest) = text.trim().split_once("..").ok_or_else(form)?;
    let (rest, step) = rest.rsplit_once(" by ").ok_or_else(form)?;
    let (last, unit) = rest.trim().split_once(' ').ok_or_else(form)?;
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|number| number.is_finite()).ok_or_else(form);
    let (first, last, step) = (number(first)?, number(last)?, number(step)?);
    if !(step > 0.0 && last >= first) {
        return Err(format!("the last lies above the first, and the step is above 0; {}", form()));
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the cast saturates, and is held to a bound"
    )]
    let steps = ((last - first) / step + 1e-9).floor() as usize;
    if steps >= MOST_VALUES {
        return Err(format!("that makes more than {MOST_VALUES} values: look at the step"));
    }
    #[expect(clippy::cast_precision_loss, reason = "at most a thousand steps")]
    let mut values: Vec<f64> = (0..=steps).map(|count| first + count as f64 * step).collect();
    // The end was asked for, whether or not the steps meet it.
    if values.last().is_some_and(|&reached| last - reached > 1e-9 * last.abs()) {
        values.push(last);
    }
    let unit = unit.split_whitespace().collect::<Vec<_>>().join(" ");
    // What adding the step leaves behind the last digit was asked for by nobody.
    let with_unit = |value: f64| Ok((value, inner(&format!("{} {unit}", short(value, 6)))?));
    let values = values.into_iter().map(with_unit).collect::<Result<Vec<_>, String>>()?;
    Ok(Grid { unit, values })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ends_are_in_a_grid_whether_or_not_the_steps_meet_the_last() {
        let typed = |text| speeds_from(text).unwrap().values.iter().map(|value| value.0).collect::<Vec<_>>();
        assert_eq!(typed("500..1000 crank rpm by 250"), [500.0, 750.0, 1000.0]);
        assert_eq!(typed("500..1100 crank rpm by 250"), [500.0, 750.0, 1000.0, 1100.0]);
        assert_eq!(typed("0.1..0.4 crank rpm by 0.1").len(), 4);
        assert_eq!(typed("700..700 crank rpm by 1"), [700.0]);
    }

    #[test]
    fn units_are_kept_for_the_heading_and_turned_for_the_core() {
        let grid = speeds_from("300..600  distributor rpm by 300").unwrap();
        assert_eq!((grid.unit.as_str(), grid.values), ("distributor rpm", vec![(300.0, 600.0), (600.0, 1200.0)]));
        let grid = depressions_from("0..10 inHg depression by 10").unwrap();
        // 1 inHg is 3.386 389 kPa: NIST SP 811, appendix B.8.
        assert!((grid.values[1].1 - 33.863_89).abs() < 1e-4);
    }

    #[test]
    fn what_makes_no_grid_is_refused_with_a_way_to_write_it() {
        for (text, says) in [
            ("500", "such as `500..6000 crank rpm by 250`"),
            ("500..6000 by 250", "such as"),
            ("500..6000 rpm by 250", "crank"),
            ("500..400 crank rpm by 250", "above the first"),
            ("500..600 crank rpm by 0", "above 0"),
            ("500..600 crank rpm by -1", "above 0"),
            ("500..600 crank rpm by nan", "such as"),
            ("0..20000 crank rpm by 0.1", "more than 1000"),
            ("0..20001 crank rpm by 1000", "20 000"),
        ] {
            let refused = speeds_from(text).unwrap_err();
            assert!(refused.contains(says), "{text}: {refused}");
        }
        assert!(depressions_from("0..50 kPa by 10").is_err());
        assert!(depressions_from("50..100 kPa absolute by 10").unwrap_err().contains("no depression"));
    }
}
