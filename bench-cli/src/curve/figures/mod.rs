//! The operating figures of an engine: what its curve means at the speeds and vacuums where it is used.
//!
//! Every advance is computed by the core. What stands here as `f64` was read out of the core, or is no advance.

pub mod advice;
pub mod coil;
pub mod conditions;
pub mod rotor;
pub mod what_if;

use crate::curve::check::{limits_outcome, what_if_outcome};
use crate::record::figures::{Advice, FiguresResult, SCHEMA, Section, Topic, WhatIf};
use crate::record::sheet::SheetIdentity;
use crate::sheet::{self, Sheet, SheetError};
use advice::{Facts, advice};
use bobweight::AdvanceModel;
use coil::Battery;
use conditions::{Condition, conditions};
use what_if::{Changes, all_figures, change};

impl<T> From<Result<T, SheetError>> for Section<T> {
    fn from(outcome: Result<T, SheetError>) -> Self {
        match outcome {
            Ok(known) => Self::Known(known),
            Err(error) => Self::Missing(in_words(&error)),
        }
    }
}

/// The figures of a sheet.
///
/// # Errors
/// A key that is missing for the conditions, and a change that cannot be. Rotor and coil say themselves what they miss.
pub fn figures(sheet: &Sheet, changes: &Changes, battery: Battery) -> Result<FiguresResult, SheetError> {
    let model = sheet::model(sheet)?;
    let every = conditions(sheet)?;
    let proposed = sheet.operating_conditions.is_empty();
    let said = |model: &AdvanceModel, conditions: &[Condition]| {
        advice(&Facts { sheet, model, conditions: if proposed { &[] } else { conditions } })
    };
    // At another height already, what the highest place would do is no question.
    let there = |piece: &Advice| changes.altitude_m.is_none() || piece.topic != Topic::Altitude;
    let changed = if changes.any() { Some(change(sheet, &model, &every, changes)?) } else { None };
    let driven = changed.as_ref().map_or(&model, |changed| &changed.model);
    Ok(FiguresResult {
        schema: SCHEMA.to_owned(),
        tool_version: env!("CARGO_PKG_VERSION").to_owned(),
        sheet: SheetIdentity::of(sheet)?,
        engine: sheet.engine.in_words(),
        conditions: all_figures(&model, &every),
        conditions_are_proposed: proposed,
        full_throttle: changed.as_ref().and_then(|changed| changed.full_throttle.clone()),
        limits: limits_outcome(sheet, &model),
        advice: said(&model, &every),
        rotor: rotor::figures(sheet, driven).and_then(|figures| rotor::with_starting(figures, sheet)).into(),
        coil: coil::figures(sheet, battery).into(),
        what_if: changed.map(|changed| WhatIf {
            conditions: all_figures(&changed.model, &changed.conditions),
            limits: what_if_outcome(sheet, &changed.model),
            advice: said(&changed.model, &changed.conditions).into_iter().filter(there).collect(),
            changed: changed.changed,
        }),
    })
}

/// A refusal as one sentence, with its remedy.
pub(crate) fn in_words(error: &SheetError) -> String {
    match miette::Diagnostic::help(error) {
        Some(help) => format!("{error}: {help}"),
        None => error.to_string(),
    }
}
