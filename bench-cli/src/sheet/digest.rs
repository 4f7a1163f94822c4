//! What a sheet says, in one line: by it a result knows whether its sheet has changed since.
//!
//! The digest is taken of the values as they were read, in the units used inside, key by key in a fixed order. A comment, a
//! blank, another order of the keys, another unit of the same quantity or a key that is left out change nothing. Every value
//! does, whatever it is for: nobody has to know which of them a proof hangs on.

use super::{Sheet, SheetError};
use crate::files::digest::digest;
use crate::record::sheet::SheetIdentity;
use serde_json::{Map, Value};

/// What the digest of settings begins with. Older results carry `sha-256:`, of the file's bytes.
const OF_SETTINGS: &str = "settings-";

impl Sheet {
    /// The digest of everything that the sheet says, with the digest's name before a colon.
    pub fn digest(&self) -> String {
        let said = serde_json::to_value(self).map(canonical).unwrap_or_default();
        format!("{OF_SETTINGS}{}", digest(said.to_string().as_bytes()))
    }

    /// Whether a result with this digest was made from what the sheet says now. An older result knows the file's bytes alone.
    pub fn has_digest(&self, told: &str) -> bool {
        let now = if told.starts_with(OF_SETTINGS) { self.digest() } else { digest(self.text().as_bytes()) };
        now == told
    }
}

/// Keys in the order of the alphabet, none without a value, and every number to nine digits: two units of one quantity come
/// to the same number but for the last digits of the conversion.
fn canonical(value: Value) -> Value {
    match value {
        Value::Object(keys) => {
            let mut kept: Vec<(String, Value)> =
                keys.into_iter().map(|(key, value)| (key, canonical(value))).filter(|(_, value)| says(value)).collect();
            kept.sort_by(|a, b| a.0.cmp(&b.0));
            Value::Object(Map::from_iter(kept))
        }
        Value::Array(values) => Value::Array(values.into_iter().map(canonical).collect()),
        Value::Number(number) => Value::String(nine_digits(number.as_f64().unwrap_or(f64::NAN))),
        Value::Null | Value::Bool(_) | Value::String(_) => value,
    }
}

fn says(value: &Value) -> bool {
    match value {
        Value::Null => false,
        Value::Object(keys) => !keys.is_empty(),
        Value::Array(values) => !values.is_empty(),
        _ => true,
    }
}

fn nine_digits(number: f64) -> String {
    // There is one nought.
    let number = if number == 0.0 { 0.0 } else { number };
    format!("{number:.8e}")
}

impl SheetIdentity {
    /// Which sheet this is.
    ///
    /// # Errors
    /// Where the engine has no name.
    pub fn of(sheet: &Sheet) -> Result<Self, SheetError> {
        Ok(Self { name: sheet.name.get()?.clone(), file: sheet.file().to_owned(), digest: Some(sheet.digest()) })
    }
}

#[cfg(test)]
mod tests;
