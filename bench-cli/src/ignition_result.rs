//! The result of writing or reading an ignition.

use crate::output::curve;
use crate::output::wrap::paragraph;
use crate::result::SheetIdentity;
use bobweight::image::{EngineSettings, LARGEST_IMAGE};
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

impl Curve {
    /// The curve of these settings.
    pub fn of(settings: &EngineSettings) -> Self {
        let mut image = [0; LARGEST_IMAGE];
        // The largest image has room for any.
        let length = settings.encode(&mut image).unwrap_or(0);
        let checksum = image[..length].last_chunk().map_or(0, |bytes| u32::from_le_bytes(*bytes));
        Self {
            checksum: format!("{checksum:08x}"),
            statement: curve::in_words(settings, checksum),
            tables: curve::tables(settings),
        }
    }
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

    /// What was written, for people.
    pub fn written_in_words(&self) -> String {
        let none = "no curve that can be read".to_owned();
        let said = |curve: &Option<Curve>| curve.as_ref().map_or(none.clone(), |curve| curve.statement.clone());
        let same = self.before == self.now;
        let mut text = String::new();
        paragraph(&mut text, "", &self.place);
        paragraph(&mut text, "before  ", &said(&self.before));
        paragraph(&mut text, "now     ", &said(&self.now));
        if same {
            paragraph(&mut text, "", "it is the same curve, written again");
        }
        let written = "written and read back. The ignition works by it from the next key-on: switch it off and on, and bench it before \
                       it goes near the engine";
        paragraph(&mut text, "", written);
        text
    }

    /// What was read, for people: the tables alone where nothing is compared, so that they can be kept as they come.
    pub fn read_in_words(&self) -> String {
        let Some(curve) = &self.now else {
            return format!("{} holds no curve: write one with `bobweight write`\n", self.place);
        };
        let file = self.sheet.as_ref().map_or("", |sheet| sheet.file.as_str());
        match self.differs_in.as_deref() {
            None => format!("# {}\n{}", curve.statement, curve.tables),
            Some([]) => format!("{} holds the curve of {file}: {}\n", self.place, curve.statement),
            Some(tables) => format!(
                "{} does not hold the curve of {file}: it differs in {}\nit holds  {}\n",
                self.place,
                tables.join(", "),
                curve.statement
            ),
        }
    }
}

/// The JSON Schema of [`IgnitionResult`] as committed in `bench-cli/ignition.schema.json`, ended by a line feed.
pub fn json_schema() -> String {
    format!("{:#}\n", schemars::schema_for!(IgnitionResult).as_value())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_committed_schema_is_the_generated_one() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/ignition.schema.json");
        if std::env::var_os("BOBWEIGHT_WRITE_SCHEMA").is_some() {
            std::fs::write(path, json_schema()).unwrap();
        }
        let committed = std::fs::read_to_string(path).unwrap();
        assert!(committed == json_schema(), "{path} is stale: run this test once with BOBWEIGHT_WRITE_SCHEMA=1");
    }
}
