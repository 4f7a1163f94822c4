//! One thing that is wrong.

use crate::record::bench::FindingKind;

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What it is about.
    pub kind: FindingKind,
    /// It in words, with figures and what to do.
    pub sentence: String,
    /// Its size: crank degrees (early positive), microseconds for a lag, a count for missing and extra sparks.
    pub size: f64,
}
