//! Which reading comes next.

use super::Survey;
use crate::distributor::fit::{FitResult, SETTLED_READINGS};
use crate::distributor::readings::{Hose, Reading, SpeedWas};
use crate::quantity::units::KPA_PER_INHG;
use crate::quantity::{SPEED, parse};
use crate::words::number::whole;

/// A band of the hose-off curve that is this narrow on either side is enough, crank degrees.
pub const ENOUGH_CRANK_DEGREES: f64 = 0.7;
/// Nobody is asked for more readings with the hose off than this: the knots of a two-ramp curve would need twice as many.
const MOST_HOSE_OFF: usize = 40;
/// Readings at the slowest speed.
const AT_THE_LOWEST: usize = 3;
/// Then one a little slower, crank rpm: initial timing must not fall with it.
const SLOWER: f64 = 150.0;
/// Where the first readings lie, in parts of the way from the slowest speed to the highest: up, and down again.
const FIRST: &[f64] = &[0.25, 0.5, 0.75, 1.0, 0.62, 0.38];
/// The depressions of the hand pump, kPa.
const DEPRESSIONS_KPA: &[f64] = &[5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 36.0, 42.0, 48.0, 54.0];
/// A reading is proposed to the next round figure, crank rpm.
const ROUND_TO: f64 = 50.0;

/// A reading to take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proposal {
    /// The hose.
    pub hose: Hose,
    /// About this speed, crank rpm.
    pub crank_rpm: f64,
    /// From which side to come to it.
    pub speed_was: SpeedWas,
    /// About this depression, kPa; none with the hose off.
    pub depression_kpa: Option<f64>,
    /// The one below idle.
    pub slower_than_idle: bool,
}

/// The ends of the survey, crank rpm.
pub(super) fn ends(survey: &Survey) -> (f64, f64) {
    let speed = |key: &str| survey.fact(key).and_then(|kept| parse(&SPEED, kept).ok());
    let low = speed("lowest").unwrap_or(600.0);
    (low, speed("highest").unwrap_or(low + 3_000.0).max(low + 600.0))
}

/// The next reading with the hose off; none where there is enough.
pub(super) fn hose_off(survey: &Survey, fitted: Option<&FitResult>) -> Option<Proposal> {
    let (low, high) = ends(survey);
    let off: Vec<Reading> = survey.readings().into_iter().filter(|reading| reading.hose == Hose::Off).collect();
    let last = off.last().map_or(0.0, |reading| reading.crank_rpm);
    let at = |crank_rpm: f64| Proposal {
        hose: Hose::Off,
        crank_rpm,
        speed_was: if (crank_rpm - last).abs() < ROUND_TO {
            SpeedWas::Steady
        } else if crank_rpm > last {
            SpeedWas::Rising
        } else {
            SpeedWas::Falling
        },
        depression_kpa: None,
        slower_than_idle: false,
    };
    if off.len() < AT_THE_LOWEST {
        return Some(Proposal { speed_was: SpeedWas::Steady, ..at(low) });
    }
    if !survey.off_engine && off.len() == AT_THE_LOWEST && survey.fact("slower_than_idle").is_none() {
        let slower = Proposal { crank_rpm: (low - SLOWER).max(100.0), slower_than_idle: true, ..at(low) };
        return Some(Proposal { speed_was: SpeedWas::Falling, ..slower });
    }
    let slower_read = usize::from(survey.fact("slower_than_idle") == Some("read"));
    if let Some(part) = FIRST.get(off.len() - AT_THE_LOWEST - slower_read) {
        return Some(at(round(low + part * (high - low))));
    }
    let Some(fitted) = fitted else { return Some(at(round(f64::midpoint(low, high)))) };
    // What `fit` calls unsettled is not called enough here.
    let enough = off.len() >= SETTLED_READINGS && fitted.widest_half_band(low, high).1 <= ENOUGH_CRANK_DEGREES;
    if enough || off.len() >= MOST_HOSE_OFF {
        return None;
    }
    let (crank_rpm, speed_was) = fitted.next_reading(low, high);
    Some(Proposal { speed_was, ..at(round(crank_rpm).clamp(low, high)) })
}

/// The next reading with the hand pump; none where every step was read.
pub(super) fn hose_on(survey: &Survey) -> Option<Proposal> {
    let (low, high) = ends(survey);
    let taken = survey.readings().iter().filter(|reading| reading.hose == Hose::On).count();
    let depression = DEPRESSIONS_KPA.get(taken)?;
    // A steady speed that the engine holds well.
    let crank_rpm = round((low + 0.4 * (high - low)).min(2_000.0));
    Some(Proposal {
        hose: Hose::On,
        crank_rpm,
        speed_was: SpeedWas::Steady,
        depression_kpa: Some(*depression),
        slower_than_idle: false,
    })
}

fn round(crank_rpm: f64) -> f64 {
    (crank_rpm / ROUND_TO).round() * ROUND_TO
}

/// What to do for a reading.
pub(super) fn in_words(proposal: &Proposal, survey: &Survey) -> String {
    let shaft = survey.shaft();
    let speed = format!("{} {}", whole(shaft.of_crank(proposal.crank_rpm)), shaft.rpm());
    let how = match proposal.speed_was {
        SpeedWas::Rising => "come up to",
        SpeedWas::Falling => "come down to",
        SpeedWas::Steady => "hold",
    };
    if proposal.slower_than_idle {
        return format!("Is the advance at rest at idle? Let it run slower: {how} about {speed}, or `skip`.");
    }
    match proposal.depression_kpa {
        None => format!("Hose off: {how} about {speed}, no longer than a reading takes."),
        Some(kpa) => format!(
            "Hand pump on the unit, about {kpa:.0} kPa ({:.0} inHg) depression: {how} about {speed}.",
            kpa / KPA_PER_INHG
        ),
    }
}

/// What a reading says at once.
pub(super) fn remark(survey: &Survey, proposal: &Proposal, reading: &Reading) -> String {
    /// By so much initial timing may fall below idle by the scatter of readings alone, crank degrees.
    const FALLS: f64 = 1.0;
    let correction = survey.correction();
    let corrected = if correction.abs() > 1e-9 {
        format!("Corrected to true TDC: {:.2} crank degrees BTDC. ", reading.crank_degrees)
    } else {
        String::new()
    };
    if !proposal.slower_than_idle {
        return corrected;
    }
    let idle = survey.readings();
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    let mean = idle.iter().map(|reading| reading.crank_degrees).sum::<f64>() / idle.len().max(1) as f64;
    let said = if mean - reading.crank_degrees > FALLS {
        "The timing falls with it: at idle the centrifugal advance has begun already, and what is read there is not the initial \
         timing. Weak springs, or an idle that is too fast."
    } else {
        "The advance is at rest at idle."
    };
    format!("{corrected}{said}")
}
