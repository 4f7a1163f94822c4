//! Where the clamp would act. It is a fuse: wherever it acts, a limit is broken.

use crate::quantity::of_core::{kpa_of, rpm_of};
use crate::record::check::{ClampResult, LimitName, LimitResult, Range};
use crate::words::number::{fixed, whole};
use bobweight::quantity::{CrankSpeed, Depression};
use bobweight::{AdvanceModel, Corner, Judgements, Limit, Phase};

/// For each broken limit: at which speeds, and at which depressions, it would act.
pub(super) fn acts(model: &AdvanceModel, judgements: &Judgements, limits: &[LimitResult]) -> Vec<ClampResult> {
    let broken = |limit: &Limit| limits.iter().any(|one| one.limit == LimitName::from(*limit) && !one.kept);
    let broken = judgements.0.iter().filter(|judgement| broken(&judgement.limit));
    broken
        .map(
            |judgement| {
                if judgement.holds() { blind(judgement.limit) } else { of(model, judgement.limit, &judgement.worst) }
            },
        )
        .collect()
}

/// What is ordered keeps the limit, and the spark that comes of it does not.
fn blind(limit: Limit) -> ClampResult {
    everywhere(limit, "does not guard it: what is ordered is within the limit, and the clamp sees no more")
}

fn everywhere(limit: Limit, statement: &str) -> ClampResult {
    ClampResult {
        limit: limit.into(),
        speeds_crank_rpm: Vec::new(),
        depressions_kpa: Vec::new(),
        statement: statement.to_owned(),
    }
}

fn of(model: &AdvanceModel, limit: Limit, worst: &Corner) -> ClampResult {
    let everywhere = |statement: &str| everywhere(limit, statement);
    match (limit, worst.running) {
        // The clamp knows one greatest advance, and lets full throttle have all of it.
        (Limit::GreatestWithoutVacuum, _) => {
            everywhere("does not guard the greatest without vacuum: sparks would come as early as the sum says")
        }
        (Limit::GreatestCranking, _) => everywhere("would act at every cranking spark"),
        (_, false) => everywhere("would act at every spark while held"),
        (_, true) => running(model, limit, worst),
    }
}

fn running(model: &AdvanceModel, limit: Limit, worst: &Corner) -> ClampResult {
    let clamped = |speed: CrankSpeed, depression: Option<Depression>| {
        model
            .advance_trimmed(Phase::Running, speed, depression, false, worst.trim)
            .is_some_and(|breakdown| breakdown.clamped)
    };
    let settings = model.settings();
    let corners = (0..settings.centrifugal.count()).map(|i| settings.centrifugal.breakpoint(i).0.bits());
    let at_speed = |bits| clamped(CrankSpeed::saturating_from_bits(bits), worst.depression);
    let speeds = ranges(corners, CrankSpeed::MAX.bits(), at_speed);
    let speeds = in_units(&speeds, |bits| rpm_of(CrankSpeed::saturating_from_bits(bits)));
    let speeds_in_words = in_words(&speeds, rpm_of(CrankSpeed::MAX), "crank rpm", 0);
    let (depressions, statement) = match (&settings.vacuum, worst.depression) {
        (Some(vacuum), Some(depression)) => {
            let corners = (0..vacuum.curve.count()).map(|i| vacuum.curve.breakpoint(i).0.bits());
            let at_depression = |bits| clamped(worst.speed, Some(Depression::saturating_from_bits(bits)));
            let found = ranges(corners, Depression::MAX.bits(), at_depression);
            let depressions = in_units(&found, |bits| kpa_of(Depression::saturating_from_bits(bits)));
            let in_words = in_words(&depressions, kpa_of(Depression::MAX), "kPa of vacuum", 1);
            let statement = format!(
                "would act with {:.1} kPa of vacuum {speeds_in_words}, and at {} crank rpm {in_words}",
                kpa_of(depression),
                whole(rpm_of(worst.speed))
            );
            (depressions, statement)
        }
        _ => (Vec::new(), format!("would act {speeds_in_words}")),
    };
    ClampResult { limit: limit.into(), speeds_crank_rpm: speeds, depressions_kpa: depressions, statement }
}

/// Where something acts between 0 and `last`, both counted. Between two corners it begins or ends at most once.
fn ranges(corners: impl Iterator<Item = u32>, last: u32, acts: impl Fn(u32) -> bool) -> Vec<[u32; 2]> {
    let mut found: Vec<[u32; 2]> = Vec::new();
    let mut from = 0;
    for to in corners.chain([last]) {
        let range = match (acts(from), acts(to)) {
            (true, true) => Some([from, to]),
            (true, false) => Some([from, last_alike(from, to, &acts)]),
            (false, true) => Some([last_alike(from, to, &acts) + 1, to]),
            (false, false) => None,
        };
        match (range, found.last_mut()) {
            (Some([from, to]), Some(before)) if from <= before[1] => before[1] = to,
            (Some(range), _) => found.push(range),
            (None, _) => {}
        }
        from = to;
    }
    found
}

/// The last place that is as `from` is, where `to` is otherwise.
fn last_alike(mut from: u32, mut to: u32, acts: impl Fn(u32) -> bool) -> u32 {
    let alike = acts(from);
    while to - from > 1 {
        let middle = from.midpoint(to);
        if acts(middle) == alike { from = middle } else { to = middle }
    }
    from
}

fn in_units(ranges: &[[u32; 2]], of: impl Fn(u32) -> f64) -> Vec<Range> {
    ranges.iter().map(|&[from, to]| Range { from: of(from), to: of(to) }).collect()
}

#[expect(clippy::float_cmp, reason = "the ends of the domain are whole steps")]
fn in_words(ranges: &[Range], last: f64, unit: &str, places: usize) -> String {
    let parts: Vec<String> = ranges
        .iter()
        .map(|range| match (range.from == 0.0, range.to == last) {
            (true, true) => "everywhere".to_owned(),
            (true, false) => format!("up to {} {unit}", fixed(range.to, places)),
            (false, true) => format!("from {} {unit} up", fixed(range.from, places)),
            (false, false) => format!("from {} to {} {unit}", fixed(range.from, places), fixed(range.to, places)),
        })
        .collect();
    parts.join(" and ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_range_begins_and_ends_where_it_does_step_by_step() {
        for acting in [0..=0, 0..=9, 3..=3, 4..=17, 17..=17, 18..=20, 20..=20, 0..=20] {
            let found = ranges([3, 9, 17].into_iter(), 20, |at| acting.contains(&at));
            // Between two corners something may begin or end, and not both: 3..=3 begins and ends at a corner.
            assert_eq!(found, [[*acting.start(), *acting.end()]], "{acting:?}");
        }
        assert_eq!(ranges([3, 9].into_iter(), 20, |at| !(2..=15).contains(&at)), [[0, 1], [16, 20]]);
        assert!(ranges([3, 9].into_iter(), 20, |_| false).is_empty());
    }
}
