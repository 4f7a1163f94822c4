//! Which sheet a record was made from.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Which sheet was benched.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetIdentity {
    /// Its name.
    pub name: String,
    /// Its file, as it was typed.
    pub file: String,
    /// Digest of what it says, with the name of the digest before a colon: comments, blanks and the order of its keys are no part
    /// of it. Older results carry that of the file.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub digest: Option<String>,
}
