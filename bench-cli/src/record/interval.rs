//! A value and how sure it is.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A value with its 95 % interval.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Interval {
    /// The value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}
