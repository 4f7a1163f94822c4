//! The result of writing or reading an ignition.

use crate::record::sheet::SheetIdentity;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Marks the format of this result.
pub const SCHEMA: &str = "bobweight-ignition/1";

/// What is in an ignition.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct IgnitionResult {
    /// Always `bobweight-ignition/1`.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: String,
    /// Version of the tool that made it.
    pub tool_version: String,
    /// Where the ignition is.
    pub place: String,
    /// The sheet that was written or compared; absent where none was named.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub sheet: Option<SheetIdentity>,
    /// The curve that was in it before it was written; absent where there was none, or nothing was written.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub before: Option<Curve>,
    /// The curve that is in it; absent where there is none.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub now: Option<Curve>,
    /// Tables of the sheet that it differs from, none where it is the sheet's; absent where nothing was compared.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub differs_in: Option<Vec<String>>,
}

/// A curve in an ignition.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Curve {
    /// Checksum of its image, eight hexadecimal digits.
    pub checksum: String,
    /// It in a line.
    pub statement: String,
    /// It as the tables of a sheet, TOML.
    pub tables: String,
}

impl IgnitionResult {
    /// A result of which only the place is known.
    pub fn new(place: &str) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            tool_version: env!("CARGO_PKG_VERSION").to_owned(),
            place: place.to_owned(),
            sheet: None,
            before: None,
            now: None,
            differs_in: None,
        }
    }
}
