//! What is known, as somebody types it.

use super::{Hose, KnownCentrifugal, KnownPlace, KnownVacuum};
use crate::curve::figures::what_if::advance_from;
use crate::quantity::of_core::{depression, speed};
use crate::quantity::{self, QuantityError, SPEED};
use bobweight::quantity::{Advance, CrankSpeed, Depression};
use std::str::FromStr;

const CENTRIFUGAL_FORM: &str = "write all of it and where it is all in, such as `22 crank degrees by 3000 crank rpm`, or where it begins as well, such as \
                                `22 crank degrees, 900..3000 crank rpm`";
const VACUUM_FORM: &str = "write all of it, such as `12 crank degrees`, and where it is all in if you know: `12 crank degrees by 12 inHg depression`, \
                           or `12 crank degrees, 5..12 inHg depression`";
const PLACE_FORM: &str = "write a speed, and what the gauge at the hose shows there: `2500 crank rpm, 15 inHg depression`; the speed alone is with the hose \
                          off";

impl FromStr for KnownCentrifugal {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (greatest, [from, by]) = parts(text, CENTRIFUGAL_FORM, |text| {
            let crank_rpm = quantity::parse(&SPEED, text).map_err(in_words)?;
            if (1.0..=20_000.0).contains(&crank_rpm) {
                Ok(speed(crank_rpm))
            } else {
                Err(format!("{text}: a speed here is 1 to 20 000 crank rpm"))
            }
        })?;
        let by: CrankSpeed = by.ok_or_else(|| CENTRIFUGAL_FORM.to_owned())?;
        Ok(Self { greatest: positive(greatest, CENTRIFUGAL_FORM)?, from, by })
    }
}

impl FromStr for KnownVacuum {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (greatest, [from, by]) = parts(text, VACUUM_FORM, pressure)?;
        Ok(Self { greatest: positive(greatest, VACUUM_FORM)?, from, by })
    }
}

impl FromStr for KnownPlace {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (at, hose) = match text.split_once(',') {
            Some((at, hose)) => (at, Some(Hose::Depression(pressure(hose)?))),
            None => (text, None),
        };
        let crank_rpm = quantity::parse(&SPEED, at).map_err(|error| format!("{}; {PLACE_FORM}", in_words(error)))?;
        if !(31.0..=20_000.0).contains(&crank_rpm) {
            return Err(format!("{text}: a running engine turns 31 to 20 000 crank rpm; {PLACE_FORM}"));
        }
        Ok(Self { speed: speed(crank_rpm), hose })
    }
}

/// An advance and, if they are said, where it begins and where all of it is in.
fn parts<T: PartialOrd>(
    text: &str,
    form: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Result<(Advance, [Option<T>; 2]), String> {
    if let Some((greatest, by)) = text.split_once(" by ") {
        return Ok((advance_from(greatest)?, [None, Some(read(by)?)]));
    }
    let Some((greatest, range)) = text.split_once(',') else {
        return Ok((advance_from(text).map_err(|error| format!("{error}; {form}"))?, [None, None]));
    };
    let told = || form.to_owned();
    let (from, rest) = range.split_once("..").ok_or_else(told)?;
    let (_, unit) = rest.trim().split_once(' ').ok_or_else(told)?;
    let (from, by) = (read(&format!("{} {unit}", from.trim()))?, read(rest)?);
    if from >= by {
        return Err(format!("{}: it begins before it is all in; {form}", range.trim()));
    }
    Ok((advance_from(greatest)?, [Some(from), Some(by)]))
}

/// An advance that has begun adds something.
fn positive(advance: Advance, form: &str) -> Result<Advance, String> {
    if advance.bits() > 0 { Ok(advance) } else { Err(format!("{advance} adds nothing: leave it out, or {form}")) }
}

fn pressure(text: &str) -> Result<Depression, String> {
    let kpa = quantity::parse_pressure(text).map_err(in_words)?.depression_kpa(quantity::STANDARD_ATMOSPHERE_KPA);
    if (0.0..=quantity::STANDARD_ATMOSPHERE_KPA).contains(&kpa) {
        return Ok(depression(kpa));
    }
    Err(format!("{}: a depression is 0 to 101 kPa (30 inHg): look whether the unit is right", text.trim()))
}

#[expect(clippy::needless_pass_by_value, reason = "it ends here")]
fn in_words(error: QuantityError) -> String {
    format!("{error}; {}", error.help())
}
