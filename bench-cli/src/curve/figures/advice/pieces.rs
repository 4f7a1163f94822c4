//! The pieces of advice, each with the facts that it needs.

use super::Facts;
use crate::curve::check::ByTimingFlank;
use crate::curve::figures::conditions::{
    Condition, all_centrifugal, all_vacuum, depression_in_words, figures, phase_at,
};
use crate::curve::figures::what_if::Place;
use crate::quantity::of_core::{angle_degrees, crank_degrees, depression, kpa_of, rpm_of, speed};
use crate::quantity::units::KPA_PER_INHG;
use crate::record::figures::{Advice, Basis, Topic};
use crate::words::number::{fixed, whole};
use bobweight::{AdvanceModel, Phase, VacuumSource};

type Piece = fn(&Facts) -> Vec<Advice>;

/// Every piece.
pub(super) const ALL: &[Piece] = &[
    vacuum_at_full_throttle,
    vacuum_at_idle,
    hunting,
    cranking,
    pickup_far_from_cranking,
    zero_crossing,
    altitude,
    ported_or_manifold,
    expected,
    vacuum_units,
    distributor_figures,
];

/// The depression that a wide open throttle leaves at most, and the reserve that a unit wants at idle: 2 inHg. Common
/// practice, no source.
const TWO_INCHES_KPA: f64 = 2.0 * KPA_PER_INHG;
/// How far an idle wanders: 100 crank rpm either way. Common practice, no source.
const IDLE_WANDERS_CRANK_RPM: f64 = 100.0;
/// A condition counts as idling up to this far above the sheet's idle, crank rpm.
const NEAR_IDLE_CRANK_RPM: f64 = 50.0;
/// Above this a starter may be thrown back, crank degrees. Common practice, no source.
const HIGH_CRANKING: f64 = 12.0;
/// Less than this is not worth a word, crank degrees.
const WORTH_SAYING: f64 = 0.5;
/// What vacuum units give, crank degrees. Common practice, no source.
const VACUUM_UNITS_GIVE: (f64, f64) = (8.0, 20.0);
/// Between which depressions vacuum units are all in, inHg. Common practice, no source.
const ALL_IN_INHG: (f64, f64) = (6.0, 24.0);

fn vacuum_at_full_throttle(facts: &Facts) -> Vec<Advice> {
    let given = crank_degrees(facts.model.vacuum_advance(Some(depression(TWO_INCHES_KPA)), false));
    if given < WORTH_SAYING {
        return Vec::new();
    }
    one(
        Topic::VacuumAtFullThrottle,
        format!(
            "vacuum advance is there at full throttle: {given:.1} crank degrees at {}",
            depression_in_words(TWO_INCHES_KPA)
        ),
        "a wide open throttle leaves up to that much; there the engine pinks first, and it gets this on top of its whole \
         centrifugal advance: let the unit begin at a higher depression",
        Basis::CommonPractice,
    )
}

fn vacuum_at_idle(facts: &Facts) -> Vec<Advice> {
    let (Some(vacuum), Some(full)) = (&facts.model.settings().vacuum, all_vacuum(facts.model)) else {
        return Vec::new();
    };
    let greatest = vacuum.curve.range().1;
    if vacuum.source != VacuumSource::Manifold || crank_degrees(greatest) < WORTH_SAYING {
        return Vec::new();
    }
    let piece = |condition: &Condition| {
        let given = vacuum.curve.at(condition.depression);
        let reserve = kpa_of(condition.depression) - kpa_of(full);
        let state = if given < greatest {
            format!("is not all in: it gives {:.1} of its {greatest}", crank_degrees(given))
        } else if reserve < TWO_INCHES_KPA {
            format!("is only just all in: {:.1} kPa ({:.1} inHg) less and it lets go", reserve, reserve / KPA_PER_INHG)
        } else {
            return None;
        };
        Some(Advice {
            topic: Topic::VacuumAtIdle,
            text: format!(
                "{}: the vacuum unit {state}; it is all in at {}",
                condition.name,
                depression_in_words(kpa_of(full))
            ),
            reason:
                "idling, speed, depression and advance then chase each other: wanted is a unit that is all in some \
                     2 inHg below the depression of idling, or a ported hose"
                    .to_owned(),
            basis: Basis::CommonPractice,
        })
    };
    idling(facts).filter_map(piece).collect()
}

fn hunting(facts: &Facts) -> Vec<Advice> {
    let Some(&idle) = facts.sheet.engine.idle_crank_rpm.value() else { return Vec::new() };
    let (low, high) = (idle - IDLE_WANDERS_CRANK_RPM, idle + IDLE_WANDERS_CRANK_RPM);
    let curve = &facts.model.settings().centrifugal;
    let moves = crank_degrees(curve.at(speed(high))) - crank_degrees(curve.at(speed(low)));
    if moves.abs() < WORTH_SAYING {
        return Vec::new();
    }
    let way = if moves > 0.0 { "earlier" } else { "later" };
    one(
        Topic::Hunting,
        format!(
            "the centrifugal advance moves while the engine idles: {:.1} crank degrees {way} from {low} to {high} crank rpm",
            moves.abs(),
            low = whole(low),
            high = whole(high)
        ),
        "an idle that wanders takes the spark with it and hunts, and the initial timing cannot be set by a light there: \
         let the curve begin at least 100 crank rpm above idle",
        Basis::CommonPractice,
    )
}

fn cranking(facts: &Facts) -> Vec<Advice> {
    let cranking = facts.model.settings().cranking;
    if crank_degrees(cranking) <= HIGH_CRANKING {
        return Vec::new();
    }
    one(
        Topic::Cranking,
        format!("the cranking advance is high: {cranking}"),
        "a spark so early can throw the starter back, and break it or a wrist: 5 to 10 crank degrees are usual, and no \
         starting handle before the cranking advance is proven",
        Basis::CommonPractice,
    )
}

fn pickup_far_from_cranking(facts: &Facts) -> Vec<Advice> {
    let Some(sparks) = ByTimingFlank::of(facts.sheet, facts.model) else { return Vec::new() };
    let limit = crank_degrees(facts.model.settings().limits.greatest_cranking);
    if sparks.earliest <= limit.min(HIGH_CRANKING) {
        return Vec::new();
    }
    one(
        Topic::PickupFarFromCranking,
        format!(
            "while cranking the spark comes {:.1} crank degrees after its flank, timed by the last period: as early as {:.1} crank \
             degrees BTDC, where {:.1} are ordered",
            sparks.way, sparks.earliest, sparks.wanted
        ),
        "a starter drags the crank over each compression three times slower than between them, so that the last period tells \
         little: such a spark kicks back. No starting handle, ever, with this pickup. Use a vane whose second flank stands at the \
         cranking advance",
        Basis::Reckoned,
    )
}

fn zero_crossing(facts: &Facts) -> Vec<Advice> {
    let pickup = &facts.sheet.pickup;
    let (Some(&[earliest, latest]), Some(&crossing)) =
        (pickup.moving_flank_crank_degrees.value(), pickup.angle_crank_degrees.value())
    else {
        return Vec::new();
    };
    let [.., least] = facts.model.judge().0;
    let least = angle_degrees(least.worst.sum);
    let words = if crossing <= least {
        format!(
            "the static advance is the zero crossing, at {} crank degrees BTDC: set the pickup so that the light shows it while cranking",
            fixed(crossing, 1)
        )
    } else {
        format!(
            "the zero crossing stands at {} crank degrees BTDC, and the least advance is {}: no spark can come after its crossing, so it \
             has to stand at {} or later",
            fixed(crossing, 1),
            fixed(least, 1),
            fixed(least, 1)
        )
    };
    one(
        Topic::ZeroCrossing,
        words,
        format!(
            "cranking sparks come there or up to one dwell later, never before it; the running spark is timed from the crossing before and \
             comes at its own at the latest. The other flank, {} to {} crank degrees BTDC, moves with the speed and times nothing",
            fixed(earliest, 1),
            fixed(latest, 1)
        ),
        Basis::Reckoned,
    )
}

fn altitude(facts: &Facts) -> Vec<Advice> {
    let Some(&height) = facts.sheet.sensor.highest_place_m.value() else { return Vec::new() };
    let place = Place::of(&facts.sheet.sensor, height);
    let lost = |condition: &Condition| {
        let high = Condition { depression: place.seen(condition.depression), ..condition.clone() };
        let [low, high] = [condition, &high]
            .map(|condition| figures(facts.model, condition).parts.map_or(0.0, |parts| parts.vacuum_crank_degrees));
        (low - high, low, high)
    };
    let worst = facts
        .conditions
        .iter()
        .map(|condition| (condition, lost(condition)))
        .max_by(|(_, (a, ..)), (_, (b, ..))| a.abs().total_cmp(&b.abs()));
    let Some((condition, (by, low, high))) = worst.filter(|(_, (by, ..))| by.abs() >= WORTH_SAYING) else {
        return Vec::new();
    };
    let source = "U.S. Army TM 9-4910-677-14&P: a vacuum gauge reads one inch of mercury less for each 1 000 ft";
    one(
        Topic::Altitude,
        format!(
            "at {height} m the vacuum advance of \"{}\" {} from {low:.1} to {high:.1} crank degrees",
            condition.name,
            if by > 0.0 { "falls" } else { "rises" },
            height = whole(height)
        ),
        if by > 0.0 {
            "in thin air the manifold has less depression at the same work, so a vacuum unit gives less: begin it at a lower \
             depression if the engine lives up there"
        } else {
            "the sensor's constant atmosphere takes thin air for vacuum: let it read the atmosphere at key-on"
        },
        Basis::Source(source.to_owned()),
    )
}

fn ported_or_manifold(facts: &Facts) -> Vec<Advice> {
    let settings = facts.model.settings();
    let Some(vacuum) = settings.vacuum else { return Vec::new() };
    let (here, other) = match vacuum.source {
        VacuumSource::Manifold => ("manifold", VacuumSource::Ported),
        VacuumSource::Ported => ("ported", VacuumSource::Manifold),
    };
    let mut elsewhere = *settings;
    elsewhere.vacuum = Some(bobweight::Vacuum { source: other, ..vacuum });
    let Ok(elsewhere) = AdvanceModel::new(elsewhere) else { return Vec::new() };
    let piece = |condition: &Condition| {
        let total = |model| {
            figures(model, condition)
                .parts
                .map_or(0.0, |parts: crate::record::figures::Parts| parts.total_crank_degrees)
        };
        let (now, then) = (total(facts.model), total(&elsewhere));
        if (now - then).abs() < WORTH_SAYING {
            return None;
        }
        let (now, then) = (fixed(now, 1), fixed(then, 1));
        let text = match vacuum.source {
            VacuumSource::Ported => format!(
                "{}: the sheet says {here}, and a ported hose gives nothing here: the spark stands at {now} crank degrees. \
                 If the hose sits below the throttle in truth, write `source = \"manifold\"`: then it stands at {then}",
                condition.name
            ),
            VacuumSource::Manifold => format!(
                "{}: the sheet says {here}, so the spark stands at {now} crank degrees with the hose on. If the hose sits \
                 just above the throttle in truth, write `source = \"ported\"`: then it stands at {then}",
                condition.name
            ),
        };
        Some(Advice {
            topic: Topic::PortedOrManifold,
            text,
            reason:
                "look where the hose goes: one that draws at idle is manifold, one that draws only once the throttle \
                     opens is ported. Set the initial timing with the hose off and stopped up"
                    .to_owned(),
            basis: Basis::Source(
                "U.S. Army TM 9-8000: vacuum taken just above the closed throttle gives no advance at idle".to_owned(),
            ),
        })
    };
    idling(facts).filter(|condition| condition.throttle_closed).filter_map(piece).collect()
}

fn expected(facts: &Facts) -> Vec<Advice> {
    let outside = |condition: &Condition| {
        let expected = condition.expected.as_ref()?;
        let total = figures(facts.model, condition).parts?.total_crank_degrees;
        let [from, to] = expected.crank_degrees;
        let (by, way) = if total < from { (from - total, "less") } else { (total - to, "more") };
        (by >= WORTH_SAYING).then(|| Advice {
            topic: Topic::Expected,
            text: format!(
                "{}: {} crank degrees in all, {by:.1} {way} than the {} to {} expected here",
                condition.name,
                fixed(total, 1),
                fixed(from, 1),
                fixed(to, 1)
            ),
            reason: "the sheet names who expects that: change the curve here, or find out why this engine is another"
                .to_owned(),
            basis: Basis::Source(expected.by.clone()),
        })
    };
    facts.conditions.iter().filter_map(outside).collect()
}

fn vacuum_units(facts: &Facts) -> Vec<Advice> {
    let (Some(vacuum), Some(full)) = (&facts.model.settings().vacuum, all_vacuum(facts.model)) else {
        return Vec::new();
    };
    let greatest = crank_degrees(vacuum.curve.range().1);
    let inches = kpa_of(full) / KPA_PER_INHG;
    if greatest < WORTH_SAYING {
        return Vec::new();
    }
    let mut said = Vec::new();
    if inches < ALL_IN_INHG.0 || inches > ALL_IN_INHG.1 {
        let (low, high) = (ALL_IN_INHG.0 * KPA_PER_INHG, ALL_IN_INHG.1 * KPA_PER_INHG);
        said.extend(one(
            Topic::VacuumUnits,
            format!("is the unit of `[vacuum]` right? All of the vacuum advance comes at {}", depression_in_words(kpa_of(full))),
            format!(
                "vacuum units are all in between {:.0} and {:.0} inHg ({low} and {high:.0} kPa, {} and {:.0} mmHg): figures \
                 of one gauge in another's unit are off by much. 1 inHg is 3.39 kPa, 25.4 mmHg, 33.9 mbar or 0.49 psi",
                ALL_IN_INHG.0,
                ALL_IN_INHG.1,
                whole(ALL_IN_INHG.0 * 25.4),
                ALL_IN_INHG.1 * 25.4
            , low = whole(low)),
            Basis::CommonPractice,
        ));
    }
    if greatest < VACUUM_UNITS_GIVE.0 || greatest > VACUUM_UNITS_GIVE.1 {
        said.extend(one(
            Topic::VacuumUnits,
            format!("are these crank degrees? The vacuum unit gives {greatest:.1} in all"),
            "vacuum units give 8 to 20 crank degrees; a book often gives distributor degrees, which are half as many",
            Basis::CommonPractice,
        ));
    }
    said
}

fn distributor_figures(facts: &Facts) -> Vec<Advice> {
    let Some(&greatest_speed) = facts.sheet.engine.greatest_speed_crank_rpm.value() else { return Vec::new() };
    let whole = facts.model.settings().centrifugal.range().1;
    let from = all_centrifugal(facts.model);
    let looks_halved = rpm_of(from) < greatest_speed / 2.0 && crank_degrees(whole) <= 15.0;
    if !looks_halved || crank_degrees(whole) < WORTH_SAYING {
        return Vec::new();
    }
    one(
        Topic::DistributorFigures,
        format!("are these figures of the crank? The centrifugal advance ends with {whole} at {from}"),
        "that is little, and early: a book gives distributor rpm and distributor degrees, and both count twice at the crank. If \
         so, write `unit = [\"distributor rpm\", \"distributor degrees\"]`",
        Basis::CommonPractice,
    )
}

/// The sheet's conditions in which the engine idles.
fn idling<'a>(facts: &Facts<'a>) -> impl Iterator<Item = &'a Condition> {
    let idle = facts.sheet.engine.idle_crank_rpm.value().copied().unwrap_or(0.0);
    let model = facts.model;
    facts.conditions.iter().filter(move |condition| {
        phase_at(model, condition.speed) == Phase::Running && rpm_of(condition.speed) <= idle + NEAR_IDLE_CRANK_RPM
    })
}

fn one(topic: Topic, text: String, reason: impl Into<String>, basis: Basis) -> Vec<Advice> {
    vec![Advice { topic, text, reason: reason.into(), basis }]
}
