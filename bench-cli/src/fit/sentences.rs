//! A fit in words.

use super::FitResult;

/// What the readings say.
pub fn sentences(_fit: &FitResult) -> Vec<String> {
    Vec::new()
}
