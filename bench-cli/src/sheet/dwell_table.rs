//! Writes a dwell table into a sheet.

use super::coil::DwellPoint;
use super::edit::Edit;
use super::error::SheetError;
use super::found::Changed;
use super::parse;

/// Writes `[coil]`'s table in volts and milliseconds; comments and everything else stay.
///
/// # Errors
/// A sheet that cannot be read, before or after.
pub fn with_dwell_table(name: &str, text: &str, points: &[DwellPoint]) -> Result<Changed, SheetError> {
    let mut edit = Edit::new(name, text);
    let rows: Vec<String> = points
        .iter()
        .map(|point| {
            let milliseconds = (point.dwell_s * 1e5).round() / 1e2;
            format!("[{}, {milliseconds}]", point.volts)
        })
        .collect();
    edit.set("coil", "unit", "[\"V\", \"ms\"]")?;
    edit.set("coil", "dwell", &format!("[{}]", rows.join(", ")))?;
    let (text, changes) = edit.finish();
    parse(name, &text)?;
    Ok(Changed { text, changes })
}
