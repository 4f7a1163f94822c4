//! Every key that a command still needs, in one message.

use super::presume::stand_in;
use crate::sheet::{Sheet, SheetError, parse};

/// More than a sheet has keys.
const MOST: usize = 100;

/// What `need` makes of a sheet. Where a key is missing, all that it needs besides are looked for as well: the missing one is given a value that
/// might stand there, on paper alone, until nothing else is missed.
///
/// # Errors
/// What `need` refuses; missing keys all at once.
pub fn with_all_missing<T>(sheet: &Sheet, need: impl Fn(&Sheet) -> Result<T, SheetError>) -> Result<T, SheetError> {
    let first = match need(sheet) {
        Err(error) if error.is_missing_key() => error,
        other => return other,
    };
    let mut missing = vec![first];
    let mut text = sheet.text().to_owned();
    while missing.len() < MOST {
        let Some(key) = missing.last().and_then(SheetError::key) else { break };
        let Some(with) = stand_in(sheet.file(), &text, key) else { break };
        text = with;
        let Ok(tried) = parse(sheet.file(), &text) else { break };
        match need(&tried) {
            // Of the sheet as it is: the trial's lines are nobody's.
            Err(error) if error.is_missing_key() && missing.iter().all(|other| other.key() != error.key()) => {
                missing.push(error);
            }
            _ => break,
        }
    }
    SheetError::all_missing(missing).map_or_else(|| need(sheet), Err)
}
