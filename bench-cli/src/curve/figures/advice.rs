//! What somebody who knows the trade would say to a curve. Each piece has its reason, and where it comes from.
//!
//! A piece of advice is given only where the sheet has the facts for it: the bends of the curve are no uses of the engine.

mod pieces;

use super::conditions::Condition;
use crate::record::figures::Advice;
use crate::sheet::Sheet;
use bobweight::AdvanceModel;

/// What is known of an engine.
#[derive(Clone, Copy, Debug)]
pub struct Facts<'a> {
    /// The sheet.
    pub sheet: &'a Sheet,
    /// The model that is judged; the sheet's own or a changed one.
    pub model: &'a AdvanceModel,
    /// The sheet's own conditions; none where it has none.
    pub conditions: &'a [Condition],
}

/// Every piece of advice for which the facts are there, in the order of [`crate::record::figures::Topic`].
pub fn advice(facts: &Facts) -> Vec<Advice> {
    pieces::ALL.iter().flat_map(|piece| piece(facts)).collect()
}

#[cfg(test)]
mod tests;
