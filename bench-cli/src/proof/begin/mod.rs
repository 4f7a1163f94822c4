//! The way from a few numbers to a whole sheet: which question comes next, what an answer becomes, what may be assumed. The sheet alone is the
//! state, so that nothing is asked twice and nothing is lost.

mod answer;
mod doubt;
mod missing;
mod points;
mod presume;

pub use answer::{BEGINS, PULLS, answered};
pub use doubt::doubt;
pub use missing::with_all_missing;
pub use points::{TypedPoints, points_from};
pub use presume::{all_presumed, presumed};

use crate::sheet::{GUIDES, Guide, PickupKind, PickupPlace, Sheet, VacuumSource, stands};

/// What is asked for.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
pub enum Stage {
    /// The curve itself.
    Curve,
    /// The engine and its limits: whether it keeps the curve.
    Limits,
    /// What a simulated bench asks for besides.
    Bench,
    /// What an ignition is given, and the light on the engine.
    Ignition,
}

/// The last guide of each stage.
const LAST: [(&str, Stage); 4] = [
    ("vacuum.breakpoints", Stage::Curve),
    ("limits.least", Stage::Limits),
    ("tolerance.bench_ramp", Stage::Bench),
    ("tolerance.light", Stage::Ignition),
];

/// The guides up to the end of a stage.
fn up_to(stage: Stage) -> &'static [Guide] {
    let last = LAST.iter().find(|(_, of)| *of == stage).map_or("", |(last, _)| last);
    let end = GUIDES.iter().position(|guide| guide.key == last).map_or(GUIDES.len(), |at| at + 1);
    &GUIDES[..end]
}

/// Whether a sheet says a key.
fn says(sheet: &Sheet, key: &str) -> bool {
    stands(sheet.text(), key).is_some()
}

/// Whether a key is still to be asked for.
fn is_open(sheet: &Sheet, guide: &Guide) -> bool {
    applies(sheet, guide.key) && !says(sheet, guide.key)
}

/// Whether a key is anything to this engine.
fn applies(sheet: &Sheet, key: &str) -> bool {
    let vacuum = sheet.vacuum.source.value() != Some(&VacuumSource::None);
    let kind = sheet.pickup.kind.value();
    match key {
        "vacuum.breakpoints" | "vacuum.greatest_rate" | "sensor.kind" | "sensor.highest_place" => vacuum,
        "distributor.old_advance" => sheet.pickup.place.value() == Some(&PickupPlace::Distributor),
        "pickup.bounce" => kind == Some(&PickupKind::Points),
        // Asked for once, before the first flank; many pickups have none.
        "pickup.second_flank_angle" => {
            matches!(kind, Some(PickupKind::Vane | PickupKind::Slot)) && !says(sheet, "pickup.angle")
        }
        _ => true,
    }
}

/// The next question up to the end of a stage; none where nothing is open.
pub fn wanted(sheet: &Sheet, stage: Stage) -> Option<&'static Guide> {
    up_to(stage).iter().find(|guide| is_open(sheet, guide))
}

/// How many questions are open up to the end of a stage.
pub fn open(sheet: &Sheet, stage: Stage) -> usize {
    up_to(stage).iter().filter(|guide| is_open(sheet, guide)).count()
}

/// The guides to what is only assumed, in the order of the questions; what an ignition lives by and what it does not alike.
pub fn assumed(sheet: &Sheet) -> Vec<&'static Guide> {
    let listed = |guide: &&Guide| sheet.assumptions().iter().any(|key| key == guide.key);
    GUIDES.iter().filter(listed).collect()
}

/// The question before this one that the sheet has an answer to; the last of all where there is none at hand.
pub fn before(sheet: &Sheet, key: Option<&str>) -> Option<&'static Guide> {
    let end = key.and_then(|key| GUIDES.iter().position(|guide| guide.key == key)).unwrap_or(GUIDES.len());
    GUIDES[..end].iter().rev().find(|guide| says(sheet, guide.key))
}

#[cfg(test)]
mod tests;
