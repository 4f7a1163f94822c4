//! When to go no higher: looked at after every reading, before another one is asked for.
//!
//! A spark that is further off than the tolerance and its own uncertainty ends the readings, and so does an early error that would
//! break a limit of the sheet where the next reading is asked for: more speed and more vacuum come on top of it.

use super::estimate::{COVERAGE, COVERAGE_OF_TURNING, LIGHT_LAG_US, degrees_of_lag, mean, possible_lags};
use super::result::{ONE_PLACE, explained, groups};
use super::scatter::{self, Mixture, USUAL, student};
use super::sentences::{NEVER_HELD, NOBODY_SAID, turn_or_set};
use super::settled::{self, MOST_READINGS, settled, turned_by};
use super::{Compared, Proposal, Said, compare, proposals};
use crate::curve::figures::conditions::phase_at;
use crate::distributor::readings::{Hose, Reading};
use crate::proof::verdict::early_or_late;
use crate::quantity::of_core::{angle_degrees, crank_degrees, depression, rpm_of, speed};
use crate::record::interval::Interval;
use crate::sheet::{self, Sheet, SheetError};
use crate::words::number::whole;
use bobweight::{AdvanceModel, Limit};

/// An early error that is not known well enough is read once more at its own speed, up to so many readings.
const AGAIN_UP_TO: usize = 6;
/// Which of so many readings was misread shows.
const MISREAD_AMONG: usize = 3;
/// Halting goes by a usual eye, worth so many degrees of freedom: an eye that scatters more is stopped once too often.
const SCATTER_FREEDOM: f64 = 10.0;

/// What comes after the readings that were taken.
#[derive(Clone, Debug, PartialEq)]
pub enum Next {
    /// This reading, of so many that are left.
    Read(Proposal, usize),
    /// This reading once more, before anything higher, and why.
    Again(Proposal, String),
    /// Nothing more: go no higher. What was seen, and what to do.
    Stop(String),
    /// Nothing more: all is read.
    Finished,
}

/// What to read next, and nothing higher where the readings forbid it. Of `taken` those from `round` on count as read in this
/// round; all of them tell what the engine does.
///
/// # Errors
/// A key that is missing.
pub fn next(sheet: &Sheet, said: &Said, taken: &[Reading], round: usize) -> Result<Next, SheetError> {
    let left = proposals(sheet, taken.get(round..).unwrap_or_default())?;
    let model = sheet::model(sheet)?;
    let (idle, lag_us) = (*sheet.engine.idle_crank_rpm.get()?, said.light_lag_us.unwrap_or(0.0));
    // Where there is no spark nothing can be read: `judge` names the line.
    let compared: Vec<Compared> = taken.iter().filter_map(|reading| compare(&model, idle, lag_us, reading)).collect();
    let engine = Engine { sheet, said, model: &model, tolerance: *sheet.tolerance.light_crank_degrees.get()? };
    let places = places(&compared);
    let Some(next) = left.first() else {
        // All is read. What forbids to go on is told with the verdict; what tells too little to turn by is read on, and where something
        // is too far off by idling alone.
        let idling = engine.off(&compared, &places).is_some();
        let more = engine.more(&compared, idling).filter(|(next, _)| engine.breaks(next, &places).is_none());
        return Ok(more.map_or(Next::Finished, |(next, count)| Next::Read(next, count)));
    };
    if let Some(off) = engine.off(&compared, &places) {
        if let Some(again) = engine.again(&off, &places, taken.len()) {
            return Ok(Next::Again(again, off.in_words(engine.tolerance)));
        }
        if engine.may_idle_on(&places, taken.len()) {
            return Ok(Next::Again(places[0].proposal(), off.in_words(engine.tolerance)));
        }
        return Ok(Next::Stop(engine.stop(&off.in_words(engine.tolerance), &off.place, off.stray, &places)?));
    }
    let Some(broken) = engine.breaks(next, &places) else { return Ok(Next::Read(*next, left.len())) };
    let place = broken.place;
    let here = engine.room(&place.proposal());
    let may_be_read_again = place.readings < AGAIN_UP_TO
        && !broken.for_certain()
        && here.is_none_or(|here| place.error.high <= here.margin);
    if may_be_read_again {
        return Ok(Next::Again(place.proposal(), broken.in_words()));
    }
    if engine.may_idle_on(&places, taken.len()) {
        return Ok(Next::Again(places[0].proposal(), broken.in_words()));
    }
    Ok(Next::Stop(engine.stop(&broken.in_words(), place, false, &places)?))
}

/// What the whole proof is told of the same rules.
pub(super) struct Told {
    /// It in a sentence.
    pub(super) sentence: String,
    /// Whether a limit is broken within the uncertainty and beyond it.
    pub(super) for_certain: bool,
}

/// A limit that the error seen breaks at any reading that the sheet asks for.
pub(super) fn broken_limit(
    sheet: &Sheet,
    said: &Said,
    model: &AdvanceModel,
    compared: &[Compared],
) -> Result<Option<Told>, SheetError> {
    let tolerance = *sheet.tolerance.light_crank_degrees.get()?;
    let engine = Engine { sheet, said, model, tolerance };
    let places = places(compared);
    let asked = proposals(sheet, &[])?;
    let broken = asked.iter().filter_map(|next| engine.breaks(next, &places));
    let worst = broken.max_by(|a, b| a.beyond().total_cmp(&b.beyond()));
    Ok(worst.map(|broken| Told { sentence: broken.in_words(), for_certain: broken.for_certain() }))
}

/// A single reading that is further off than tolerance and uncertainty.
pub(super) fn stray_reading(compared: &[Compared], tolerance: f64, said: &Said) -> Option<String> {
    let beyond = |place: &Place| place.further_off_than(tolerance, said);
    let off = compared.iter().map(alone).filter(|place| beyond(place) > 0.0);
    let worst = off.max_by(|a, b| beyond(a).total_cmp(&beyond(b)))?;
    Some(format!(
        "one reading is {} {}, where {tolerance:.1} are allowed: read it again",
        size(worst.error.value),
        worst.where_in_words()
    ))
}

/// What was seen at one speed and depression.
#[derive(Clone, Debug)]
struct Place {
    hose: Hose,
    crank_rpm: f64,
    depression_kpa: f64,
    readings: usize,
    /// Early positive, by a usual eye.
    error: Interval,
    /// The same by what the readings tell of the eye.
    known: Interval,
    /// Weights and standard uncertainties of the error, one for each scatter that is possible.
    uncertainties: Vec<(f64, f64)>,
}

impl Place {
    /// By how much it is further off than the tolerance, by a usual eye.
    fn further_off_than(&self, tolerance: f64, said: &Said) -> f64 {
        self.beyond(&self.error, tolerance, said)
    }

    /// Whether it is by any eye.
    fn surely_further_off_than(&self, tolerance: f64, said: &Said) -> bool {
        self.beyond(&self.known, tolerance, said) > 0.0
    }

    /// What a light of unknown lag shows late need not be late.
    fn beyond(&self, error: &Interval, tolerance: f64, said: &Said) -> f64 {
        let by_light = match said.light_lag_us {
            None if error.value < 0.0 => degrees_of_lag(self.crank_rpm, LIGHT_LAG_US),
            _ => 0.0,
        };
        error.value.abs() - by_light - error.half_width() - tolerance
    }

    /// The error at every speed that this place alone shows, with the interval that something is turned by. What a lag shows late here
    /// need not be turned.
    fn at_every_speed(&self, said: &Said) -> (Interval, Interval) {
        let lags = possible_lags(said.light_lag_us.is_some());
        #[expect(clippy::cast_precision_loss, reason = "a few lags")]
        let each = 1.0 / lags.len() as f64;
        let parts = lags.iter().flat_map(|lag| {
            let offset = self.error.value + degrees_of_lag(self.crank_rpm, *lag);
            self.uncertainties.iter().map(move |(weight, uncertainty)| (weight * each, offset, *uncertainty))
        });
        let mixture = Mixture::new(parts);
        (mixture.interval(COVERAGE), mixture.interval(COVERAGE_OF_TURNING))
    }

    fn proposal(&self) -> Proposal {
        let depression_kpa = (self.hose == Hose::On).then_some(self.depression_kpa);
        Proposal { hose: self.hose, crank_rpm: self.crank_rpm, depression_kpa }
    }

    fn is_at(&self, other: &Self) -> bool {
        self.hose == other.hose
            && (self.crank_rpm - other.crank_rpm).abs() <= ONE_PLACE.0
            && (self.depression_kpa - other.depression_kpa).abs() <= ONE_PLACE.1
    }

    /// Whether one reading of it departs from all others of it, by a usual eye.
    fn does_not_share(&self, one: &Compared) -> bool {
        #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
        let count = self.readings as f64;
        // From the mean of the others, which knows itself only by so many.
        let others = count - 1.0;
        let apart = (one.error - self.error.value).abs() * count / others.max(1.0);
        let student = student(SCATTER_FREEDOM, COVERAGE_OF_TURNING).unwrap_or(f64::INFINITY);
        others < 1.0 || apart > student * one.standard_uncertainty(USUAL) * (1.0 + 1.0 / others).sqrt()
    }

    fn where_in_words(&self) -> String {
        match self.hose {
            Hose::Off => format!("at {} crank rpm, hose off", whole(self.crank_rpm)),
            Hose::On => {
                format!("at {} crank rpm with {:.1} kPa depression", whole(self.crank_rpm), self.depression_kpa)
            }
        }
    }

    /// Neither's interval holds what the other shows.
    fn differs_from(&self, other: &Self) -> bool {
        (self.error.value - other.error.value).abs() > self.error.half_width().hypot(other.error.half_width())
    }
}

fn alone(one: &Compared) -> Place {
    let student = student(SCATTER_FREEDOM, COVERAGE).unwrap_or(f64::INFINITY);
    place(&[one], student, &scatter::learnt(0.0, 0.0))
}

fn place(group: &[&Compared], factor: f64, learnt: &[(f64, f64)]) -> Place {
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    let count = group.len() as f64;
    let own =
        |scatter: f64| group.iter().map(|one| one.standard_uncertainty(scatter).powi(2)).sum::<f64>().sqrt() / count;
    let error = mean(group, |one| one.error);
    let uncertainties: Vec<_> = learnt.iter().map(|(weight, scatter)| (*weight, own(*scatter))).collect();
    let mixture = Mixture::new(uncertainties.iter().map(|(weight, own)| (*weight, error, *own)));
    Place {
        hose: group[0].hose,
        crank_rpm: mean(group, |one| one.crank_rpm),
        depression_kpa: mean(group, |one| one.depression_kpa),
        readings: group.len(),
        error: Interval::about(error, factor * own(USUAL)),
        known: mixture.interval(COVERAGE),
        uncertainties,
    }
}

/// The readings by place. The scatter is what is believed of an eye before any is seen, with what these scatter about the mean of
/// their own place.
fn places(compared: &[Compared]) -> Vec<Place> {
    let groups = groups(compared);
    let (mut squares, mut freedom) = (SCATTER_FREEDOM, SCATTER_FREEDOM);
    let (mut seen, mut seen_freedom) = (0.0, 0.0);
    for group in &groups {
        let middle = mean(group, |one| one.error);
        squares +=
            group.iter().map(|one| ((one.error - middle) / one.standard_uncertainty(USUAL)).powi(2)).sum::<f64>();
        seen += group.iter().map(|one| (one.error - middle).powi(2)).sum::<f64>();
        #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
        let own = (group.len() - 1) as f64;
        freedom += own;
        seen_freedom += own;
    }
    let student = student(freedom, COVERAGE).unwrap_or(f64::INFINITY);
    let learnt = scatter::learnt(seen, seen_freedom);
    groups.iter().map(|group| place(group, student * (squares / freedom).sqrt(), &learnt)).collect()
}

struct Engine<'a> {
    sheet: &'a Sheet,
    said: &'a Said,
    model: &'a AdvanceModel,
    tolerance: f64,
}

const DISAGREE: &str = "Turn and set nothing by it yet: the readings there disagree, or are too few. Let the engine idle and read again; a \
                        number that was mistyped ends here, too.";

/// Of twenty who turned by so much, one would turn it wrong by more.
const NOT_SURE: &str = "Turn and set nothing by it yet: that is not sure enough to turn by. Let the engine idle and read again, and give \
                        the light's own lag, if you know it.";

/// What a reading has to spare.
struct Room {
    limit: Limit,
    allowed: f64,
    /// From the sum of the curve to the limit, crank degrees.
    margin: f64,
    /// At this speed, on the way or at its end.
    crank_rpm: f64,
}

/// Further off than tolerance and uncertainty.
struct Off {
    place: Place,
    /// One reading, which the others of its place do not share.
    stray: bool,
}

impl Off {
    fn in_words(&self, tolerance: f64) -> String {
        format!("{} {}, where {tolerance:.1} are allowed", size(self.place.error.value), self.place.where_in_words())
    }
}

/// An early error that breaks a limit where the next reading is asked for.
struct Broken<'a> {
    place: &'a Place,
    room: Room,
}

impl Broken<'_> {
    fn beyond(&self) -> f64 {
        self.place.error.low - self.room.margin
    }

    fn for_certain(&self) -> bool {
        self.place.error.low > self.room.margin
    }

    fn in_words(&self) -> String {
        let Room { limit, allowed, margin, crank_rpm } = &self.room;
        let error = &self.place.error;
        format!(
            "{} {}: at {crank_rpm} crank rpm the spark would come at {:.1} crank degrees BTDC, give or take {:.1}, and the {limit} \
             is {allowed:.1}",
            size(error.value),
            self.place.where_in_words(),
            allowed - margin + error.value,
            error.half_width(),
            crank_rpm = whole(*crank_rpm)
        )
    }
}

impl Engine<'_> {
    /// What the readings at one place show together, or one of them by itself.
    fn off(&self, compared: &[Compared], places: &[Place]) -> Option<Off> {
        let worst = |all: Vec<Place>| {
            let beyond = |place: &Place| place.further_off_than(self.tolerance, self.said);
            let off = all.into_iter().filter(|place| beyond(place) > 0.0);
            off.max_by(|a, b| beyond(a).total_cmp(&beyond(b)))
        };
        let together = worst(places.to_vec()).map(|place| Off { place, stray: false });
        let strays = compared.iter().filter(|one| {
            let place = places.iter().find(|place| place.is_at(&alone(one)));
            place.is_none_or(|place| place.does_not_share(one))
        });
        together.or_else(|| worst(strays.map(alone).collect()).map(|place| Off { place, stray: true }))
    }

    /// A reading that the offset still lacks, of so many; of an engine that idles alone, where it has to.
    fn more(&self, compared: &[Compared], idling: bool) -> Option<(Proposal, usize)> {
        let groups = groups(compared);
        let (fitted, _) = explained(&groups)?;
        let left = MOST_READINGS.saturating_sub(compared.len());
        // What would not be told by as many as may be asked for is not asked for.
        let to_turn = || {
            let held = self.said.zero_is_true == Some(true);
            settled::more_to_turn(&fitted, &groups, self.tolerance).filter(|more| held && more.count() <= left)
        };
        let more = settled::more(&fitted, &groups, self.tolerance).or_else(to_turn)?;
        let count = more.count().min(left);
        (count > 0).then_some((if idling || more.at_low > 0 { more.low } else { more.high }, count))
    }

    /// What a usual eye would not show is read once more where it was seen, until any eye tells it: one reading, or two that happen to
    /// agree, stop nobody, and the estimates are not made of those that were chosen for being far off.
    fn again(&self, off: &Off, places: &[Place], taken: usize) -> Option<Proposal> {
        let at = places.iter().find(|place| place.is_at(&off.place))?;
        let sure = at.surely_further_off_than(self.tolerance, self.said);
        let again = if off.stray { at.readings < MISREAD_AMONG } else { !sure && at.readings < AGAIN_UP_TO };
        (again && taken < MOST_READINGS).then(|| at.proposal())
    }

    /// Where something is too far off the engine idles on, and is read there until that tells what to turn: nothing gets worse by it, and
    /// one reading turns nothing. The places are sorted, those with the hose off first.
    fn may_idle_on(&self, places: &[Place], taken: usize) -> bool {
        let Some(idling) = places.first().filter(|place| place.hose == Hose::Off) else { return false };
        let (offset, surely) = idling.at_every_speed(self.said);
        let right = settled(&offset, self.tolerance) && !offset.excludes_zero();
        let told = right || turned_by(&offset, &surely, self.tolerance);
        self.said.zero_is_true == Some(true) && taken < MOST_READINGS && !told
    }

    /// The place whose error would break a limit at the next reading, by its interval. An interval that holds 0 shows no error: it
    /// would forbid a curve that stands on its limit to a perfect ignition.
    fn breaks<'a>(&self, next: &Proposal, places: &'a [Place]) -> Option<Broken<'a>> {
        let room = self.room(next)?;
        let early = places.iter().filter(|place| place.error.low > 0.0 && place.error.high > room.margin);
        // The place that says it most certainly: no other one needs to be read again then.
        let worst = early.max_by(|a, b| a.error.low.total_cmp(&b.error.low))?;
        Some(Broken { place: worst, room })
    }

    /// The least that is to spare on the way up to a reading. The sum is linear between the breakpoints.
    fn room(&self, next: &Proposal) -> Option<Room> {
        let curve = &self.model.settings().centrifugal;
        let end = speed(next.crank_rpm);
        let on_the_way = (0..curve.count()).map(|at| curve.breakpoint(at).0).filter(|at| *at < end);
        // Going up can break what bounds an early spark of the running engine.
        let early = |limit: &Limit| !matches!(limit, Limit::Least | Limit::GreatestCranking);
        let rooms = on_the_way.chain([end]).flat_map(|at| {
            let kpa = depression(next.depression_kpa.unwrap_or(0.0));
            let margins =
                self.model.margins_at(phase_at(self.model, at), at, Some(kpa), false, self.model.trim().greatest());
            let judged = Limit::ALL.into_iter().zip(margins).filter(move |(limit, _)| early(limit));
            judged.filter_map(move |(limit, margin)| {
                Some(Room {
                    limit,
                    allowed: crank_degrees(self.model.settings().limits.of(limit)),
                    margin: angle_degrees(margin?),
                    crank_rpm: rpm_of(at),
                })
            })
        });
        rooms.min_by(|a, b| a.margin.total_cmp(&b.margin))
    }

    /// What was seen, that nothing higher is to be asked of the engine, and what mends it.
    fn stop(&self, seen: &str, place: &Place, stray: bool, places: &[Place]) -> Result<String, SheetError> {
        let what_to_do = self.what_to_do(place, stray, places)?;
        Ok(format!("Stop: {seen}. Go no higher, neither with the speed nor with the hand pump. {what_to_do}"))
    }

    fn what_to_do(&self, place: &Place, stray: bool, places: &[Place]) -> Result<String, SheetError> {
        let error = &place.error;
        let [idling, ..] = places else { return Ok(DISAGREE.to_owned()) };
        let (offset, surely) = idling.at_every_speed(self.said);
        let told = turned_by(&offset, &surely, self.tolerance);
        let by_idling_alone = places.len() == 1 && told;
        if (stray && !by_idling_alone) || error.half_width() > self.tolerance {
            return Ok(DISAGREE.to_owned());
        }
        let other = places.iter().find(|other| other.hose == Hose::Off && place.differs_from(other));
        if place.hose == Hose::On {
            let why = if error.value < 0.0 {
                "the vacuum sensor reads low or its hose leaks"
            } else {
                "the vacuum sensor reads high, or the gauge low"
            };
            if other.is_some() {
                return Ok(format!("With the hose off it is otherwise: {why}. Turning the pickup does not mend it."));
            }
        }
        if let Some(other) = other {
            return Ok(format!(
                "It is {} {}, so that turning the pickup does not mend it: what grows earlier with speed are old weights that \
                 still move, what grows later is a lag.",
                size(other.error.value),
                other.where_in_words()
            ));
        }
        match self.said.zero_is_true {
            Some(true) => {}
            Some(false) => return Ok(format!("Key off; {NEVER_HELD}.")),
            None => return Ok(format!("Key off; {NOBODY_SAID}.")),
        }
        // It is turned by what idling shows: the places are sorted, those with the hose off first.
        if told {
            return Ok(format!("Key off; {}.", turn_or_set(self.sheet, offset.value)?));
        }
        if settled(&offset, self.tolerance) {
            return Ok(format!(
                "It is known within {:.1} crank degrees by idling alone. {NOT_SURE}",
                offset.half_width()
            ));
        }
        Ok(DISAGREE.to_owned())
    }
}

fn size(error: f64) -> String {
    format!("{:.1} crank degrees {}", error.abs(), early_or_late(error))
}
