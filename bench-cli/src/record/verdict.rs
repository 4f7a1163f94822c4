//! The three verdicts.

use serde::{Deserialize, Serialize};

/// A verdict on a test point, a ramp, cranking or the whole run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Within tolerance, uncertainty included.
    Pass,
    /// Beyond tolerance, uncertainty allowed for.
    Fail,
    /// The uncertainty reaches over the tolerance, or too little was measured.
    Undecided,
}

impl Verdict {
    /// It in a word; a failure stands out without colour.
    pub fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Fail => "FAIL",
            Self::Undecided => "undecided",
        }
    }

    /// The verdict on things that must all pass: one failure fails all, else one undecided leaves all undecided. Of
    /// nothing at all nothing is known.
    pub fn of_all(verdicts: impl IntoIterator<Item = Self>) -> Self {
        let mut all = None;
        for verdict in verdicts {
            all = Some(match (all, verdict) {
                (Some(Self::Fail), _) | (_, Self::Fail) => Self::Fail,
                (Some(Self::Undecided), _) | (_, Self::Undecided) => Self::Undecided,
                _ => Self::Pass,
            });
        }
        all.unwrap_or(Self::Undecided)
    }
}
