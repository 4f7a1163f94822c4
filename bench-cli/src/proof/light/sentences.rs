//! What the errors come from, in the words of the trade, and what to turn.

use super::estimate::Fitted;
use super::settled::{MOST_READINGS, More, turned_by};
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
    /// What is still to be read, where the offset is not settled.
    pub(super) more: Option<More>,
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
    format!(
        "{:.1} crank degrees {} ({} to {})",
        error.value.abs(),
        early_or_late(error.value),
        with_side_of(error.low),
        with_side_of(error.high)
    )
}

/// The causes: a mark that proves nothing first, then the gravest.
pub(super) fn causes(facts: &Facts) -> Result<Vec<Cause>, SheetError> {
    let mut causes = Vec::new();
    if facts.said.zero_is_true == Some(false) {
        causes.push(Cause { kind: CauseKind::Mark, sentence: MARK.to_owned() });
    }
    if let Some(free) = weights_free(facts)? {
        // Everything else would explain the same errors a second time.
        causes.push(free);
        return Ok(causes);
    }
    let lag = facts.fitted.lag_us;
    // Without a proven lag there may still be one, and the offset is told beside it.
    if facts.more.is_some() {
        causes.push(not_settled(facts));
    } else if facts.fitted.offset.excludes_zero() {
        causes.push(same_at_every_speed(facts, lag.excludes_zero())?);
    }
    if lag.low > 0.0 {
        causes.push(later_with_speed(facts));
    } else if lag.high < 0.0 {
        causes.push(earlier_with_speed(facts));
    }
    causes.extend(vacuum(facts));
    causes.extend(places_apart(facts));
    if causes.iter().all(|cause| cause.kind == CauseKind::Mark) {
        let seen = greatest(&facts.fitted.offset);
        let lag = if lag.high > 0.0 {
            format!(", nor a lag beyond {} us", whole(lag.high))
        } else {
            ", nor a lag".to_owned()
        };
        causes.push(Cause {
            kind: CauseKind::None,
            sentence: format!("neither an offset beyond {seen:.1} crank degrees{lag} is seen"),
        });
    }
    Ok(causes)
}

fn greatest(error: &Interval) -> f64 {
    error.low.abs().max(error.high.abs())
}

/// Readings that scatter too much, or are too few, turn nothing: how many more are needed, and where, or which place is read again.
fn not_settled(facts: &Facts) -> Cause {
    let offset = facts.fitted.offset;
    let Some(more) = facts.more else { return Cause { kind: CauseKind::NotSettled, sentence: String::new() } };
    let at = |count: usize, rpm: f64| match count {
        0 => None,
        count => Some(format!("{count} at {} crank rpm", whole(rpm))),
    };
    let parts: Vec<String> =
        [at(more.at_low, more.low.crank_rpm), at(more.at_high, more.high.crank_rpm)].into_iter().flatten().collect();
    let readings: usize = facts.places.iter().map(|place| place.readings).sum();
    let too_many = if readings + more.count() > MOST_READINGS {
        "; before so many, see to the light, the mark and how steadily the engine idles"
    } else {
        ""
    };
    let off = facts.places.iter().filter(|place| !place.hose_on);
    let size = |place: &&Place| place.departure_crank_degrees_early.value.abs();
    let farthest = off.max_by(|a, b| size(a).total_cmp(&size(b)));
    let first = farthest
        .filter(|place| size(place) > facts.fitted.scatter * 2.0)
        .map_or_else(String::new, |place| format!("; first read again at {} crank rpm", whole(place.speed_crank_rpm)));
    Cause {
        kind: CauseKind::NotSettled,
        sentence: format!(
            "not settled: single readings scatter by {:.1} crank degrees, so that an error at every speed is known only between {}              and {}. Turn and set nothing by it; about {} more readings with the hose off would settle it: {}{first}{too_many}",
            facts.fitted.scatter,
            with_side_of(offset.low),
            with_side_of(offset.high),
            more.count(),
            parts.join(" and "),
        ),
    }
}

fn with_side_of(error: f64) -> String {
    format!("{:.1} {}", error.abs(), early_or_late(error))
}

fn same_at_every_speed(facts: &Facts, with_lag: bool) -> Result<Cause, SheetError> {
    let offset = facts.fitted.offset;
    let tolerance = *facts.sheet.tolerance.light_crank_degrees.get()?;
    let beside = if with_lag { ", beside what comes with speed" } else { "" };
    let what_to_do = match facts.said.zero_is_true {
        Some(true) if turned_by(&offset, &facts.fitted.surely, tolerance) => turn_or_set(facts.sheet, offset.value)?,
        Some(true) => "not sure enough yet to turn anything by; read more at idle".to_owned(),
        Some(false) => NEVER_HELD.to_owned(),
        None => NOBODY_SAID.to_owned(),
    };
    Ok(Cause {
        kind: CauseKind::Offset,
        sentence: format!(
            "{:.1} crank degrees {} at every speed ({} to {}){beside}: {what_to_do}",
            offset.value.abs(),
            early_or_late(offset.value),
            with_side_of(offset.low),
            with_side_of(offset.high),
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
             {:.1} crank degrees each 1 000 crank rpm. It shows on the bench: what the light reads there beyond the lag that \
             `bench` found in the same box is the light's own; give it with `--light-lag`",
            whole(super::LIGHT_LAG_US),
            super::estimate::degrees_of_lag(1_000.0, super::LIGHT_LAG_US)
        ));
    }
    open
}

/// A mark that can be several degrees out tells nobody what to turn.
pub(super) const NEVER_HELD: &str = "turn and set nothing by it: the 0 that was read by was never held against true top dead centre. Find it \
     by a positive stop first, and read again";
/// Nor does one of which nobody said whether it can.
pub(super) const NOBODY_SAID: &str = "turn and set nothing by it yet: nobody said whether the 0 that was read by was held against true top \
     dead centre. Where it was, by a positive stop, write the line `# zero = true` into the readings";
const MARK: &str = "first the mark: the 0 that was read by was never held against true top dead centre, and an old mark can be several crank \
     degrees out. Every angle below is out by as much, and nothing is turned or set by one. Find top dead centre by a positive stop, \
     mark it, and read again";
