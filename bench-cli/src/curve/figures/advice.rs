//! What somebody who knows the trade would say to a curve. Each piece has its reason, and where it comes from.
//!
//! A piece of advice is given only where the sheet has the facts for it: the bends of the curve are no uses of the engine.

mod pieces;

use super::conditions::Condition;
use crate::sheet::Sheet;
use bobweight::AdvanceModel;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a piece of advice is about.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Topic {
    /// Vacuum advance that is there at full throttle.
    VacuumAtFullThrottle,
    /// A vacuum unit that is not all in at idle, or only just.
    VacuumAtIdle,
    /// An advance that moves with the speed of idling.
    Hunting,
    /// A high cranking advance.
    Cranking,
    /// A pickup far from the cranking advance.
    PickupFarFromCranking,
    /// Thin air.
    Altitude,
    /// Where the hose goes.
    PortedOrManifold,
    /// A total outside of the range that the sheet says is expected there.
    Expected,
    /// Vacuum figures that may be in another unit.
    VacuumUnits,
    /// Centrifugal figures that may be of the distributor.
    DistributorFigures,
}

/// Where a piece of advice comes from.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// People of the trade do so; nobody has published why.
    CommonPractice,
    /// A publication.
    Source(String),
    /// It follows from the sheet's own figures; the threshold is this tool's.
    Reckoned,
}

/// A piece of advice.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Advice {
    /// What it is about.
    pub topic: Topic,
    /// What is so, with figures.
    pub text: String,
    /// Why it matters, and what to do.
    pub reason: String,
    /// Where it comes from.
    pub basis: Basis,
}

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

/// Every piece of advice for which the facts are there, in the order of [`Topic`].
pub fn advice(facts: &Facts) -> Vec<Advice> {
    pieces::ALL.iter().flat_map(|piece| piece(facts)).collect()
}

#[cfg(test)]
mod tests;
