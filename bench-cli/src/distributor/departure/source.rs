//! Where a chosen curve comes from: what its sheet's readings say, what in them is wear, and how far the curve departs from them.

use super::{departs, departure_in_words};
use crate::distributor::fit::{FitError, FitOptions, fit, sentences, wear};
use crate::distributor::readings::{self, ReadingsError};
use crate::files::digest::digest;
use crate::record::bench::CurveSource;
use crate::record::fit::Answer;
use crate::sheet::{Sheet, SheetError};
use bobweight::AdvanceModel;

/// Why it cannot be told.
#[derive(Debug, thiserror::Error)]
pub enum NoSource {
    /// The sheet names its readings in a way that cannot be used.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// The readings cannot be read.
    #[error(transparent)]
    Readings(#[from] ReadingsError),
    /// No curve fits them.
    #[error(transparent)]
    Fit(#[from] FitError),
}

/// What the readings that a sheet names say of the curve that was chosen in it.
///
/// # Errors
/// Readings that cannot be used.
pub fn curve_source(sheet: &Sheet, model: &AdvanceModel) -> Result<CurveSource, NoSource> {
    if sheet.readings.value().is_none() {
        let unknown = "the sheet names no readings, so nothing is known of where its curve comes from";
        return Ok(CurveSource {
            readings_file: None,
            readings_digest: None,
            statements: vec![unknown.to_owned()],
            remarks: vec![unknown.to_owned()],
        });
    }
    let path = sheet.readings_path()?;
    let readings = readings::read(&path)?;
    let found = fit(&readings, &FitOptions::default())?;
    // What is worn is said wherever a curve of these readings is used, so that it is not copied unseen.
    let book = sheet.specification();
    let worn = wear(&found, &book).into_iter();
    let worn: Vec<String> = worn.filter(|one| one.answer == Answer::Accused).map(|one| one.sentence).collect();
    let departure = departure_in_words(model, &found, &book);
    let mut remarks = worn.clone();
    if departs(model, &found) {
        remarks.extend(departure.iter().cloned());
    } else {
        remarks.push("the chosen curve agrees with the readings".to_owned());
    }
    Ok(CurveSource {
        readings_file: Some(readings.name),
        readings_digest: readings::bytes_of(&path).ok().map(|bytes| digest(&bytes)),
        statements: [sentences(&found), worn, departure].concat(),
        remarks,
    })
}
