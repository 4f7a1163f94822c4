//! What the errors come from, in the words of the trade, and what to turn.

use super::estimate::Fitted;
use super::{Said, wanted};
use crate::proof::verdict::early_or_late;
use crate::quantity::of_core::angle_degrees;
use crate::record::interval::Interval;
use crate::record::light::{Cause, CauseKind, Place};
use crate::sheet::{self, PickupPlace, Rotation, Sheet, SheetError};
use crate::words::number::whole;
use bobweight::AdvanceModel;
use bobweight::Limit;

/// A curve this many times as steep as the sheet's, or more, is what weights that still move give: they add their own.
const STEEPER: f64 = 1.4;

/// What the sentences are made of.
pub(super) struct Facts<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) model: &'a AdvanceModel,
    pub(super) fitted: &'a Fitted,
    pub(super) places: &'a [Place],
    pub(super) said: &'a Said,
}

/// The error at the lowest and at the highest speed with the hose off.
pub(super) fn opening(places: &[Place]) -> Vec<String> {
    let off: Vec<&Place> = places.iter().filter(|place| !place.hose_on).collect();
    let [first, .., last] = off.as_slice() else { return Vec::new() };
    let at = |place: &Place| {
        format!(
            "at {} crank rpm, hose off: {}",
            whole(place.speed_crank_rpm),
            interval_in_words(&place.error_crank_degrees_early)
        )
    };
    vec![at(first), at(last)]
}

fn interval_in_words(error: &Interval) -> String {
    let side = |error: f64| format!("{:.1} {}", error.abs(), early_or_late(error));
    format!(
        "{:.1} crank degrees {} ({} to {})",
        error.value.abs(),
        early_or_late(error.value),
        side(error.low),
        side(error.high)
    )
}

/// The causes, gravest first.
pub(super) fn causes(facts: &Facts) -> Result<Vec<Cause>, SheetError> {
    if let Some(free) = weights_free(facts)? {
        // Everything else would explain the same errors a second time.
        return Ok(vec![free]);
    }
    let mut causes = Vec::new();
    let lag = facts.fitted.lag_us;
    if lag.low > 0.0 {
        causes.push(later_with_speed(facts));
    } else if lag.high < 0.0 {
        causes.push(earlier_with_speed(facts));
    }
    let offset = if lag.excludes_zero() { facts.fitted.offset } else { facts.fitted.common };
    if offset.excludes_zero() {
        causes.insert(0, same_at_every_speed(facts, &offset, lag.excludes_zero())?);
    }
    causes.extend(vacuum(facts));
    causes.extend(places_apart(facts));
    if causes.is_empty() {
        let seen = facts.fitted.common.low.abs().max(facts.fitted.common.high.abs());
        causes.push(Cause {
            kind: CauseKind::None,
            sentence: format!("neither an offset, beyond {seen:.1} crank degrees, nor a lag is seen"),
        });
    }
    Ok(causes)
}

/// Readings that disagree by more than the tolerance turn nothing: the one that lies farthest from the others is read again.
fn unclear(facts: &Facts, offset: &Interval) -> Cause {
    let off = facts.places.iter().filter(|place| !place.hose_on);
    let size = |place: &&Place| place.departure_crank_degrees_early.value.abs();
    let farthest = off.max_by(|a, b| size(a).total_cmp(&size(b)));
    let at =
        farthest.map_or_else(String::new, |place| format!(", first at {} crank rpm", whole(place.speed_crank_rpm)));
    Cause {
        kind: CauseKind::Offset,
        sentence: format!(
            "{:.1} crank degrees {}, but these readings disagree, so that it is known only within {:.1} crank degrees: turn and set \
             nothing by it, and read again{at}",
            offset.value.abs(),
            early_or_late(offset.value),
            offset.half_width(),
        ),
    }
}

fn same_at_every_speed(facts: &Facts, offset: &Interval, with_lag: bool) -> Result<Cause, SheetError> {
    if offset.half_width() > *facts.sheet.tolerance.light_crank_degrees.get()? {
        return Ok(unclear(facts, offset));
    }
    let beside = if with_lag { ", beside what comes with speed" } else { "" };
    let what_to_do = match facts.said.zero_is_true {
        Some(false) => NEVER_HELD.to_owned(),
        _ => turn_or_set(facts.sheet, offset.value)?,
    };
    Ok(Cause {
        kind: CauseKind::Offset,
        sentence: format!(
            "{:.1} crank degrees {} at every speed{beside}: {what_to_do}",
            offset.value.abs(),
            early_or_late(offset.value),
        ),
    })
}

/// By how much of its own shaft, and which way, a pickup is turned that sparks so many crank degrees early.
pub(super) fn turned(sheet: &Sheet, error: f64) -> Result<String, SheetError> {
    let pickup = &sheet.pickup;
    let way = if error < 0.0 { "against" } else { "with" };
    let (turned, shaft) = match pickup.place.get()? {
        PickupPlace::Distributor => {
            let rotation = match sheet.distributor.rotation.value() {
                Some(Rotation::Clockwise) => " (the rotor turns clockwise, seen from above the cap)",
                Some(Rotation::Anticlockwise) => " (the rotor turns anticlockwise, seen from above the cap)",
                None => "",
            };
            (error.abs() / 2.0, format!("distributor degrees {way} rotation{rotation}"))
        }
        PickupPlace::Cam => (error.abs() / 2.0, format!("camshaft degrees {way} rotation")),
        PickupPlace::Crank => (error.abs(), format!("crank degrees {way} rotation")),
    };
    Ok(format!("{turned:.1} {shaft}"))
}

/// What puts an error right that is the same at every speed, early positive.
pub(super) fn turn_or_set(sheet: &Sheet, error: f64) -> Result<String, SheetError> {
    let pickup = &sheet.pickup;
    let angle = *pickup.angle_crank_degrees.get()?;
    let mut beyond = false;
    let mut flank = "second flank would come before the greatest cranking advance";
    let mut set = format!("set `angle` from {angle:.1} to {:.1}", angle + error);
    if let Some(second) = pickup.second_flank_angle_crank_degrees.value() {
        let moved = second + error;
        set = format!("{set}, and with it `second_flank_angle` and `cranking` from {second:.1} to {moved:.1}");
        let greatest = *sheet.limits.of(Limit::GreatestCranking).get()?;
        // Turning the pickup puts both flanks right; a sheet that follows a wrong flank cranks too early.
        beyond = moved > greatest;
    }
    if let Some([earliest, latest]) = pickup.moving_flank_crank_degrees.value() {
        let [earliest, latest] = [earliest, latest].map(|flank| flank + error);
        set = format!("{set}, `cranking` with it, and `moving_flank` to {earliest:.1} and {latest:.1}");
        let [.., least] = sheet::model(sheet)?.judge().0;
        let greatest = *sheet.limits.of(Limit::GreatestCranking).get()?;
        // The crossing is the static advance, and no spark comes after it.
        beyond = angle + error > greatest.min(angle_degrees(least.worst.sum));
        flank = "zero crossing would come before the greatest cranking advance or the least of the curve";
    }
    let turned = turned(sheet, error)?;
    Ok(if beyond {
        format!("turn the pickup {turned}; the sheet cannot follow it, since its {flank}")
    } else {
        format!("either turn the pickup {turned} or {set}, never both")
    })
}

fn later_with_speed(facts: &Facts) -> Cause {
    let lag = facts.fitted.lag_us;
    let where_from = if facts.said.light_lag_us.is_some() {
        "in pickup and ignition together"
    } else {
        "in light, pickup and ignition together"
    };
    Cause {
        kind: CauseKind::Lag,
        sentence: format!(
            "{:.1} crank degrees later each 1 000 crank rpm: about {} us ({} to {}) {where_from}; only a lag measured by \
             `bench` goes into the sheet",
            super::estimate::degrees_of_lag(1_000.0, lag.value),
            whole(lag.value),
            whole(lag.low),
            whole(lag.high),
        ),
    }
}

fn earlier_with_speed(facts: &Facts) -> Cause {
    Cause {
        kind: CauseKind::EarlierWithSpeed,
        sentence: format!(
            "{:.1} crank degrees earlier each 1 000 crank rpm, which no lag does: look whether the sheet's lag is greater than the \
             one that `bench` measured, whether the box holds this sheet, and whether the tachometer is right",
            super::estimate::degrees_of_lag(1_000.0, -facts.fitted.lag_us.value),
        ),
    }
}

/// What the engine gains from the lowest speed to the highest beside what the curve gains there.
fn weights_free(facts: &Facts) -> Result<Option<Cause>, SheetError> {
    let off: Vec<&Place> = facts.places.iter().filter(|place| !place.hose_on).collect();
    let [first, .., last] = off.as_slice() else { return Ok(None) };
    let idle = *facts.sheet.engine.idle_crank_rpm.get()?;
    let at = |place: &Place| wanted(facts.model, idle, place.speed_crank_rpm, 0.0);
    let (Some(low), Some(high)) = (at(first), at(last)) else { return Ok(None) };
    let gained = high - low;
    let more = facts.fitted.at(last.speed_crank_rpm).value - facts.fitted.at(first.speed_crank_rpm).value;
    let steeper = 1.0 + more / gained;
    if gained < 2.0 || steeper < STEEPER || facts.fitted.lag_us.high >= 0.0 {
        return Ok(None);
    }
    let times = if (1.8..2.2).contains(&steeper) { "twice".to_owned() } else { format!("{steeper:.1} times") };
    Ok(Some(Cause {
        kind: CauseKind::WeightsFree,
        sentence: format!(
            "{times} as steep as the sheet: the old weights are still free; stop. Lock them, and read again before the engine \
             pulls anything: at {} crank rpm it is {:.1} crank degrees beyond the curve",
            whole(last.speed_crank_rpm),
            last.error_crank_degrees_early.value,
        ),
    }))
}

fn vacuum(facts: &Facts) -> Option<Cause> {
    let on = facts.places.iter().filter(|place| place.hose_on && place.departure_crank_degrees_early.excludes_zero());
    let worst = on.max_by(|a, b| {
        let size = |place: &Place| place.departure_crank_degrees_early.value.abs();
        size(a).total_cmp(&size(b))
    })?;
    let departure = worst.departure_crank_degrees_early.value;
    let off_is_right = facts
        .places
        .iter()
        .filter(|place| !place.hose_on)
        .all(|place| place.verdict != crate::record::verdict::Verdict::Fail);
    let with_off = if off_is_right { "right with the hose off" } else { "beside the error with the hose off" };
    let (amount, why) = if departure < 0.0 {
        ("short", "the vacuum sensor reads low or its hose leaks")
    } else {
        ("too many", "the vacuum sensor reads high, or the gauge low")
    };
    Some(Cause {
        kind: CauseKind::Vacuum,
        sentence: format!(
            "{with_off}, {:.1} crank degrees {amount} with it on at {:.1} kPa depression: {why}",
            departure.abs(),
            worst.depression_kpa
        ),
    })
}

fn places_apart<'a>(facts: &'a Facts) -> impl Iterator<Item = Cause> + 'a {
    let apart = facts.places.iter().filter(|place| !place.hose_on && place.judged_alone);
    apart.map(|place| Cause {
        kind: CauseKind::Place,
        sentence: format!(
            "at {} crank rpm, hose off, {:.1} crank degrees {} than the other readings explain: read it again; if it stays, look \
             at the breakpoint beside it",
            whole(place.speed_crank_rpm),
            place.departure_crank_degrees_early.value.abs(),
            if place.departure_crank_degrees_early.value < 0.0 { "later" } else { "earlier" },
        ),
    })
}

/// What light readings leave open.
pub(super) fn not_proven(said: &Said) -> Vec<String> {
    let mut open = vec![
        "a timing light shows settled speeds; a ramp, a lost pulse and a climb are proven by `bench` and `check`"
            .to_owned(),
    ];
    if said.on_bench {
        open.push("on the bench nothing is proven of the engine: rotor, leads, and what interference does".to_owned());
    } else {
        open.push("what the engine does when it pulls is heard on the road, not seen in the light".to_owned());
        open.push(
            "that the 0 which was read by stands at true top dead centre: an old mark can be several crank degrees out, and every \
             reading with it; find it by a positive stop before anything is turned earlier"
                .to_owned(),
        );
    }
    if said.light_lag_us.is_none() {
        open.push(format!(
            "the light's own lag is not known: up to {} us are allowed for, so sparks may be earlier than shown by up to \
             {:.1} crank degrees each 1 000 crank rpm",
            whole(super::LIGHT_LAG_US),
            super::estimate::degrees_of_lag(1_000.0, super::LIGHT_LAG_US)
        ));
    }
    open
}

/// A mark that can be several degrees out tells nobody what to turn.
pub(super) const NEVER_HELD: &str = "turn and set nothing by it: the 0 that was read by was never held against true top dead centre. Find it \
     by a positive stop first, and read again";
