//! An ignition of which three numbers are known, or fewer: initial timing, the whole centrifugal advance, the whole vacuum advance.
//!
//! They leave open where an advance begins, and which vacuum is full. What the engine gets is then between two ends, and each end is
//! what the core makes of the curve that lies there. One straight line from nothing to the whole is presumed of each part.

mod typed;

use crate::quantity::of_core::{crank_degrees, depression, kpa_of, rpm_of, speed};
use crate::words::number::whole;
use bobweight::quantity::{Advance, CrankSpeed, Depression, OutOfRange};
use bobweight::{
    AdvanceModel, AdvanceSettings, CentrifugalCurve, CurveError, Limits, Phase, PhaseSpeeds, Vacuum, VacuumCurve,
    VacuumSource,
};

/// The centrifugal advance, as `22 crank degrees by 3000 crank rpm` or `22 crank degrees, 900..3000 crank rpm`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownCentrifugal {
    /// All of it.
    pub greatest: Advance,
    /// Where it begins, if that is known.
    pub from: Option<CrankSpeed>,
    /// Where all of it is in.
    pub by: CrankSpeed,
}

/// The vacuum advance, as `12 crank degrees`, `12 crank degrees by 12 inHg depression` or `12 crank degrees, 5..12 inHg depression`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownVacuum {
    /// All of it.
    pub greatest: Advance,
    /// Where it begins, if that is known.
    pub from: Option<Depression>,
    /// Where all of it is in, if that is known.
    pub by: Option<Depression>,
}

/// A speed and what the manifold has there, as `2500 crank rpm, 15 inHg depression`; the hose is off where nothing is said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownPlace {
    /// Of the crank.
    pub speed: CrankSpeed,
    /// What the hose gives; none where it is off.
    pub hose: Option<Hose>,
}

/// What the hose gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hose {
    /// So much.
    Depression(Depression),
    /// As much as it takes for the whole vacuum advance.
    Whole,
}

/// Everything that is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The initial timing.
    pub initial: Advance,
    /// The centrifugal advance.
    pub centrifugal: Option<KnownCentrifugal>,
    /// The vacuum advance.
    pub vacuum: Option<KnownVacuum>,
    /// Where the hose is connected, if that is known.
    pub source: Option<VacuumSource>,
}

/// From the least to the greatest that a part can be, crank degrees.
pub type Ends = [f64; 2];

/// What the engine gets in one place.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownFigures {
    /// The place.
    pub place: KnownPlace,
    /// What the speed adds.
    pub centrifugal: Ends,
    /// What the vacuum adds.
    pub vacuum: Ends,
    /// In all.
    pub total: Ends,
    /// The plain sum: the initial timing, and the whole of each part that can have begun.
    pub plain_sum: f64,
}

/// The speeds between which nothing but running is asked for.
const SPEEDS: PhaseSpeeds = PhaseSpeeds {
    cranking_below: bobweight::STOPPED_BELOW,
    running_from: CrankSpeed::saturating_from_bits(31 * CrankSpeed::STEP),
    no_spark_above: CrankSpeed::MAX,
    spark_again_below: CrankSpeed::saturating_from_bits(19_999 * CrankSpeed::STEP),
};
/// Nobody has said what the engine stands, so nothing is held to it.
const NO_LIMITS: Limits = Limits {
    greatest: Advance::MAX,
    greatest_without_vacuum: Advance::MAX,
    greatest_cranking: Advance::MAX,
    least: Advance::MIN,
};
const NOTHING: Advance = Advance::saturating_from_bits(0);

/// A model of a curve that nothing is known of besides: it runs at any speed, and no limit holds it.
pub(super) fn running(initial: Advance, centrifugal: CentrifugalCurve, vacuum: Option<Vacuum>) -> Option<AdvanceModel> {
    let settings = AdvanceSettings {
        initial,
        cranking: initial,
        held: initial,
        centrifugal,
        vacuum,
        limits: NO_LIMITS,
        speeds: SPEEDS,
    };
    AdvanceModel::new(settings).ok()
}

/// Which of the curves that fit what is known.
#[derive(Clone, Copy, Eq, PartialEq)]
enum End {
    Least,
    Greatest,
}

impl Known {
    /// Where to look if nobody says: where each part begins and where it is all in, hose off and on.
    pub fn places(&self) -> Vec<KnownPlace> {
        let mut speeds: Vec<CrankSpeed> =
            self.centrifugal.iter().flat_map(|known| known.from.into_iter().chain([known.by])).collect();
        if speeds.is_empty() {
            speeds.push(speed(1_000.0));
        }
        let hoses = [None, self.vacuum.map(|_| Hose::Whole)];
        let hoses = &hoses[..=usize::from(self.vacuum.is_some())];
        hoses.iter().flat_map(|&hose| speeds.iter().map(move |&speed| KnownPlace { speed, hose })).collect()
    }

    /// What the engine gets in a place.
    ///
    /// # Errors
    /// Where the parts make no curve of the core: an advance that is all in before it begins, or too steep.
    pub fn figures(&self, place: KnownPlace) -> Result<KnownFigures, CurveError> {
        let [least, greatest] = [self.at(place, End::Least)?, self.at(place, End::Greatest)?];
        let initial = crank_degrees(self.initial);
        let began =
            |ends: Ends, whole: Option<Advance>| if ends[1] > 0.0 { whole.map_or(0.0, crank_degrees) } else { 0.0 };
        let (centrifugal, vacuum) = ([least[0], greatest[0]], [least[1], greatest[1]]);
        Ok(KnownFigures {
            place,
            centrifugal,
            vacuum,
            total: [least[2], greatest[2]],
            plain_sum: initial
                + began(centrifugal, self.centrifugal.map(|known| known.greatest))
                + began(vacuum, self.vacuum.map(|known| known.greatest)),
        })
    }

    /// The initial timing with which full throttle has this total: the whole centrifugal advance and no vacuum.
    ///
    /// # Errors
    /// Where it would leave the range of an advance.
    pub fn initial_for(&self, total: Advance) -> Result<Advance, OutOfRange> {
        Advance::from_bits(total.bits() - self.centrifugal.map_or(0, |known| known.greatest.bits()))
    }

    /// What the core gives at one end of what can be: centrifugal, vacuum, total.
    fn at(&self, place: KnownPlace, end: End) -> Result<[f64; 3], CurveError> {
        let hose = match (place.hose, self.vacuum) {
            (Some(Hose::Depression(kpa)), _) => Some(kpa),
            (Some(Hose::Whole), Some(known)) => Some(known.by.unwrap_or(Depression::MAX)),
            _ => None,
        };
        let vacuum = match (self.vacuum, hose) {
            (Some(known), Some(kpa)) => Some(Vacuum {
                curve: known.curve(place.hose, kpa, end)?,
                source: VacuumSource::Manifold,
                greatest_rate: bobweight::quantity::AdvanceRate::MAX,
            }),
            _ => None,
        };
        let centrifugal = match self.centrifugal {
            Some(known) => known.curve(place.speed, end)?,
            None => CentrifugalCurve::new(&[(CrankSpeed::MIN, NOTHING), (CrankSpeed::MAX, NOTHING)])?,
        };
        let given = running(self.initial, centrifugal, vacuum)
            .and_then(|model| model.advance(Phase::Running, place.speed, hose, false));
        Ok(given.map_or([f64::NAN; 3], |given| {
            [crank_degrees(given.centrifugal), crank_degrees(given.vacuum), crank_degrees(given.total)]
        }))
    }

    /// What the three numbers leave open, and what it would change: sentences.
    pub fn left_open(&self) -> Vec<String> {
        let mut open = Vec::new();
        if let Some(known) = self.centrifugal {
            if known.from.is_none() {
                open.push(format!(
                    "where the centrifugal advance begins: below {} crank rpm the figures go from a curve that begins only there to one that \
                     begins at a standstill. Say it as `--centrifugal \"{}, 900..{} crank rpm\"`, with your own in place of 900",
                    whole(rpm_of(known.by)),
                    known.greatest,
                    rpm_of(known.by)
                ));
            }
            open.push(
                "one straight line is presumed from where it begins to where it is all in. A distributor with two different springs gives \
                 more in between"
                    .to_owned(),
            );
        }
        if let Some(known) = self.vacuum {
            if known.by.is_none() || known.from.is_none() {
                open.push(format!(
                    "which vacuum it takes: from none of the vacuum advance to {}. Say it as `--vacuum \"{}, 5..12 inHg depression\"`, with your \
                     unit's own figures",
                    if known.by.is_none() { "all of it" } else { "a straight line from no vacuum" },
                    known.greatest
                ));
            }
            if self.source.is_none() {
                open.push(
                    "where its hose goes: with the throttle closed, at idle, a hose above the throttle (ported) gives none, one below it \
                     (manifold) all that the vacuum there gives. Say it as `--vacuum-source manifold` or `ported`; the figures take the \
                     throttle for open"
                        .to_owned(),
                );
            }
        }
        open
    }
}

impl KnownCentrifugal {
    /// The curve at one end of what can be at a speed: it begins there, or, where nobody knows, at a standstill.
    fn curve(self, at: CrankSpeed, end: End) -> Result<CentrifugalCurve, CurveError> {
        let from = self.from.unwrap_or_else(|| {
            let steepest = rpm_of(self.by) - crank_degrees(self.greatest) - 1.0;
            if end == End::Greatest { CrankSpeed::MIN } else { speed(rpm_of(at).min(steepest).max(0.0)) }
        });
        CentrifugalCurve::new(&[(from, NOTHING), (self.by, self.greatest)])
    }
}

impl KnownVacuum {
    /// Likewise. Where nobody knows which vacuum is full, any is, or none.
    fn curve(self, hose: Option<Hose>, at: Depression, end: End) -> Result<VacuumCurve, CurveError> {
        let step = 1.0 / f64::from(Depression::STEP);
        let by = match (self.by, hose, end) {
            (Some(by), ..) => by,
            (None, Some(Hose::Whole), _) | (None, _, End::Greatest) => at,
            (None, _, End::Least) => depression(kpa_of(at) + 1.0),
        };
        let least = if end == End::Least && self.by.is_some() { kpa_of(at) } else { 0.0 };
        let from = match (self.from, self.by, end) {
            (Some(from), ..) => from,
            (None, None, End::Least) => at,
            _ => depression(least),
        };
        // What is full at no vacuum has no room to begin, and neither has what begins where it is full.
        let from = if from >= by { depression((kpa_of(by) - step).max(0.0)) } else { from };
        let by = if by.bits() == 0 { depression(step) } else { by };
        VacuumCurve::new(&[(from, NOTHING), (by, self.greatest)])
    }
}

#[cfg(test)]
mod tests;
