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
    /// What it may be as well: the test points do not tell them apart.
    pub or: Vec<FindingKind>,
}

impl Finding {
    /// With what it may be as well.
    #[must_use]
    pub fn or(mut self, others: &[(FindingKind, String)]) -> Self {
        if !others.is_empty() {
            let names: Vec<&str> = others.iter().map(|(_, name)| name.as_str()).collect();
            self.sentence = format!(
                "{}. It may as well be {}: these test points do not tell them apart",
                self.sentence,
                names.join(", or ")
            );
            self.or = others.iter().map(|(kind, _)| *kind).collect();
        }
        self
    }
}
