//! The same engine with another initial timing, another vacuum unit or at another height, beside the engine as it is.

use super::conditions::{Condition, all_centrifugal, depression_in_words, figures};
use crate::quantity::atmosphere::{geopotential_m, pressure_kpa};
use crate::quantity::of_core::{crank_degrees, depression, kpa_of, rpm_of};
use crate::quantity::{self, ANGLE, HEIGHT, QuantityError, of_core};
use crate::record::figures::{ConditionFigures, FullThrottle};
use crate::sheet::{Atmosphere, Sensor, SensorKind, Sheet, SheetError};
use crate::words::number::whole;
use bobweight::quantity::{Advance, Depression, OutOfRange};
use bobweight::{AdvanceModel, Phase, VacuumCurve};
use std::str::FromStr;

/// The changes that are asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Changes {
    /// Another initial timing.
    pub initial: Option<Advance>,
    /// The initial timing that gives this total at full throttle.
    pub full_throttle: Option<Advance>,
    /// Another vacuum unit.
    pub vacuum_unit: Option<VacuumUnit>,
    /// Metres above the sea.
    pub altitude_m: Option<f64>,
}

impl Changes {
    /// Whether anything is changed.
    pub fn any(&self) -> bool {
        *self != Self::default()
    }
}

/// A model with changes, and the conditions with what its vacuum unit is given.
#[derive(Clone, Debug)]
pub struct Changed {
    /// The changed model.
    pub model: AdvanceModel,
    /// The conditions.
    pub conditions: Vec<Condition>,
    /// What is changed, one sentence each.
    pub changed: Vec<String>,
    /// The initial timing for a wanted total.
    pub full_throttle: Option<FullThrottle>,
}

/// Changes a model and its conditions.
///
/// # Errors
/// A vacuum unit for an engine that has none, and an advance that leaves the range of the core; told of the sheet's key.
pub fn change(
    sheet: &Sheet,
    model: &AdvanceModel,
    conditions: &[Condition],
    changes: &Changes,
) -> Result<Changed, SheetError> {
    let mut settings = *model.settings();
    let mut changed = Vec::new();
    if let Some(unit) = changes.vacuum_unit {
        let Some(vacuum) = settings.vacuum.as_mut() else {
            return Err(sheet.vacuum.source.refuse(
                "says that the engine has no vacuum advance, and a vacuum unit is asked for",
                "where would its hose go?",
                "write `\"manifold\"` or `\"ported\"` here, and the unit's curve below",
            ));
        };
        vacuum.curve = unit.curve;
        changed.push(unit.in_words());
    }
    let initial_key = &sheet.advance.initial_crank_degrees;
    let mut full_throttle = None;
    if let Some(wanted) = changes.full_throttle {
        let from = all_centrifugal(model);
        let initial = initial_for(model, wanted).map_err(|error| {
            initial_key.refuse(
                format!("would have to leave its range for that total at full throttle: {error}"),
                "here",
                "ask for another total, or give the curve more or less centrifugal advance",
            )
        })?;
        full_throttle = Some(FullThrottle {
            wanted_crank_degrees: crank_degrees(wanted),
            initial_crank_degrees: crank_degrees(initial),
            centrifugal_crank_degrees: crank_degrees(settings.centrifugal.at(from)),
            from_crank_rpm: rpm_of(from),
        });
        changed.push(format!("initial timing {initial} instead of {}", settings.initial));
        settings.initial = initial;
    }
    if let Some(initial) = changes.initial {
        changed.push(format!("initial timing {initial} instead of {}", settings.initial));
        settings.initial = initial;
    }
    let changed_model = AdvanceModel::new(settings)
        .map_err(|error| initial_key.refuse(format!("will not do: {error}"), "here", "ask for another change"))?;
    let mut conditions = conditions.to_vec();
    if let Some(height) = changes.altitude_m {
        let place = Place::of(&sheet.sensor, height);
        for condition in &mut conditions {
            condition.depression = place.seen(condition.depression);
        }
        changed.extend(place.in_words(&changed_model));
    }
    Ok(Changed { model: changed_model, conditions, changed, full_throttle })
}

/// The initial timing with which full throttle has `wanted` in all: the initial timing and the whole centrifugal advance.
///
/// # Errors
/// Where it would leave the range of an advance.
pub fn initial_for(model: &AdvanceModel, wanted: Advance) -> Result<Advance, OutOfRange> {
    let now = model.advance(Phase::Running, all_centrifugal(model), None, false);
    let sum = now.map_or(wanted.bits(), |now| now.sum.bits());
    Advance::from_bits(model.settings().initial.bits() + wanted.bits() - sum)
}

/// The figures of every condition.
pub fn all_figures(model: &AdvanceModel, conditions: &[Condition]) -> Vec<ConditionFigures> {
    conditions.iter().map(|condition| figures(model, condition)).collect()
}

/// Another height, and what of it the vacuum unit or the sensor sees.
///
/// A throttle's flow hangs on the pressure behind it, so an engine that does the same work has the same absolute pressure in
/// its manifold: its depression is less by what the atmosphere has fallen, until the throttle is wide open and none is left.
/// For a vacuum gauge this is the allowance of U.S. Army TM 9-4910-677-14&P, one inch of mercury for each 1 000 ft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    height_m: f64,
    /// How much thinner the air is than where the conditions were measured, kPa.
    fall_kpa: f64,
    /// Whether the sensor keeps the atmosphere of the lower place.
    constant: bool,
    /// Whether it would, when driven up without turning the key off.
    kept_until_key_off: bool,
}

impl Place {
    /// The place at a height, for an engine with this sensor.
    pub fn of(sensor: &Sensor, height_m: f64) -> Self {
        let absolute = sensor.kind.value() == Some(&SensorKind::Absolute);
        let constant = matches!(sensor.atmosphere.value(), Some(Atmosphere::Constant(_)));
        Self {
            height_m,
            fall_kpa: sensor.sheet_atmosphere_kpa() - pressure_kpa(geopotential_m(height_m)),
            constant: absolute && constant,
            kept_until_key_off: absolute && !constant,
        }
    }

    /// The depression that acts there, of a manifold that had this one before.
    pub fn seen(&self, before: Depression) -> Depression {
        let before = kpa_of(before);
        depression(if self.constant { before.max(self.fall_kpa) } else { (before - self.fall_kpa).max(0.0) })
    }

    fn in_words(self, model: &AdvanceModel) -> Vec<String> {
        let thinner = depression_in_words(self.fall_kpa.abs());
        let (height, side) = (self.height_m, if self.fall_kpa < 0.0 { "denser" } else { "thinner" });
        let mut said = vec![if self.constant {
            format!(
                "at {height} m the air is {side} by {thinner}, which this sensor's constant atmosphere does not know",
                height = whole(height)
            )
        } else {
            format!(
                "at {height} m the air is {side}: at the same work the manifold has {thinner} {}",
                if self.fall_kpa < 0.0 { "more" } else { "less" },
                height = whole(height)
            )
        }];
        let falsely = crank_degrees(model.vacuum_advance(Some(depression(self.fall_kpa.max(0.0))), false));
        if (self.constant || self.kept_until_key_off) && falsely >= 0.05 {
            let when = if self.constant { "there" } else { "driven up to there without turning the key off," };
            said.push(format!(
                "{when} the sensor takes the thin air for vacuum: at full throttle it adds {falsely:.1} crank degrees that \
                 do not belong there"
            ));
        }
        said
    }
}

/// A vacuum unit: nothing at its start, all of it at the end, straight between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VacuumUnit {
    curve: VacuumCurve,
}

impl VacuumUnit {
    fn in_words(self) -> String {
        let ((start, _), (full, greatest)) = (self.curve.breakpoint(0), self.curve.breakpoint(1));
        format!(
            "a vacuum unit of {greatest}, which begins at {} and is all in at {}",
            depression_in_words(kpa_of(start)),
            depression_in_words(kpa_of(full))
        )
    }
}

/// How a vacuum unit is written.
const UNIT_FORM: &str = "write the advance and the range, such as `15 crank degrees, 8..14 inHg depression`";

impl FromStr for VacuumUnit {
    type Err = String;

    /// Reads `15 crank degrees, 8..14 inHg depression`.
    fn from_str(text: &str) -> Result<Self, String> {
        let form = || UNIT_FORM.to_owned();
        let (greatest, range) = text.split_once(',').ok_or_else(form)?;
        let greatest = advance_from(greatest)?;
        let range = range.trim();
        let (start, rest) = range.split_once("..").ok_or_else(form)?;
        let (full, unit) = rest.trim().split_once(' ').ok_or_else(form)?;
        let kpa = |number: &str| -> Result<f64, String> {
            let pressure = quantity::parse_pressure(&format!("{} {unit}", number.trim())).map_err(in_words)?;
            Ok(pressure.depression_kpa(quantity::STANDARD_ATMOSPHERE_KPA))
        };
        let (a, b) = (kpa(start)?, kpa(full)?);
        let (start, full) = (a.min(b), a.max(b));
        if !(0.0..=110.0).contains(&start) || full > 110.0 {
            return Err(format!(
                "{range} is beyond what can be: look whether {unit} is the right unit; a depression is 0 to 110 kPa (32 inHg)"
            ));
        }
        let nothing = Advance::saturating_from_bits(0);
        let curve = VacuumCurve::new(&[(depression(start), nothing), (depression(full), greatest)])
            .map_err(|error| format!("{error}; {UNIT_FORM}"))?;
        Ok(Self { curve })
    }
}

/// Reads an advance such as `34 crank degrees`, for the command line.
///
/// # Errors
/// What is wrong with the text and what to write instead, in one line.
pub fn advance_from(text: &str) -> Result<Advance, String> {
    let degrees = quantity::parse(&ANGLE, text).map_err(in_words)?;
    of_core::advance(degrees).map_err(|error| format!("{error}; look whether a digit is too many"))
}

/// Reads a height such as `1500 m`, for the command line.
///
/// # Errors
/// What is wrong with the text and what to write instead, in one line.
pub fn height_from(text: &str) -> Result<f64, String> {
    let metres = quantity::parse(&HEIGHT, text).map_err(in_words)?;
    if (-500.0..=6_000.0).contains(&metres) {
        return Ok(metres);
    }
    Err("a height is -500 m to 6000 m; one foot is 0.3048 m".to_owned())
}

#[expect(clippy::needless_pass_by_value, reason = "it ends here")]
fn in_words(error: QuantityError) -> String {
    format!("{error}; {}", error.help())
}

#[cfg(test)]
mod tests;
