//! The survey of an old distributor, one question at a time. It knows no terminal: somebody shows its question and hands it the
//! answer, and [`Survey::text`] is kept after every one.

mod facts;
mod kept;
mod plan;
mod plot;
mod shaft;
#[cfg(test)]
mod tests;

pub use facts::{Fact, Place};
pub(crate) use kept::FIRST_LINE;
pub use plan::{ENOUGH_CRANK_DEGREES, Proposal};
pub use plot::plot;
pub use shaft::Shaft;

use crate::distributor::fit::{FEWEST_READINGS, FitOptions, FitResult, SCATTER_BY_EYE, fit};
use crate::distributor::readings::{ColumnNames, Hose, Reading, Readings};
use crate::quantity::{
    ANGLE, SHARE, SPEED, STANDARD_ATMOSPHERE_KPA, as_depression, bare_or_with_unit, kpa_and_not_inhg,
    parse as quantity, parse_pressure,
};
use crate::words::number::whole;

/// A survey as far as it has come.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Survey {
    /// The distributor is spun by a drill or a lathe, and not on its engine.
    pub off_engine: bool,
    /// What was answered and read, in the order of asking.
    entries: Vec<Entry>,
    /// Speed, and depression where one is asked for, of the reading that is being taken.
    pending: Vec<f64>,
    /// Lines on what the meters' makers state, which somebody wrote into the file: it keeps them.
    stated: Vec<String>,
}

/// One thing that is known.
#[derive(Clone, Debug, PartialEq)]
enum Entry {
    /// The key of a fact and its answer.
    Answer(String, String),
    /// A reading, corrected to true top dead centre.
    Reading(Reading),
}

/// What is asked next.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// A fact.
    Fact(&'static Fact),
    /// A reading.
    Reading(Proposal),
    /// Nothing more.
    Finished,
}

/// What is to be shown and answered.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What to do first; it may be empty.
    pub before: String,
    /// A part of this reading was answered already, after `before`.
    pub goes_on: bool,
    /// The question itself.
    pub question: String,
}

impl Survey {
    /// A survey of which nothing is known yet.
    pub fn new(off_engine: bool) -> Self {
        Self { off_engine, ..Self::default() }
    }

    /// The readings, corrected.
    pub fn readings(&self) -> Vec<Reading> {
        let reading = |entry: &Entry| if let Entry::Reading(reading) = entry { Some(reading.clone()) } else { None };
        self.entries.iter().filter_map(reading).collect()
    }

    /// The shaft that is read.
    pub fn shaft(&self) -> Shaft {
        Shaft::of(self.off_engine)
    }

    /// The answer to a fact.
    pub fn fact(&self, key: &str) -> Option<&str> {
        self.entries.iter().find_map(|entry| match entry {
            Entry::Answer(known, answer) if known == key => Some(answer.as_str()),
            _ => None,
        })
    }

    /// What the wheel read where a positive stop stopped the crank on either side of top dead centre, crank degrees before it.
    pub fn stops(&self) -> Option<[f64; 2]> {
        match ["stopped_before", "stopped_after"].map(|key| self.fact(key).and_then(facts::position)) {
            [Some(before), Some(after)] => Some([before, after]),
            _ => None,
        }
    }

    /// Crank degrees that are subtracted from every reading: what the wheel reads at true top dead centre, the middle of where
    /// a positive stop stopped it on either side.
    pub fn correction(&self) -> f64 {
        self.stops().map_or(0.0, |[before, after]| f64::midpoint(before, after))
    }

    /// Standard deviation of a speed as a part of it, by how far the tachometer wanders to either side.
    pub fn speed_scatter(&self) -> f64 {
        let wanders = self.fact("speed_wanders").and_then(|kept| quantity(&SHARE, kept).ok());
        standard_deviation(wanders.unwrap_or(0.0))
    }

    /// Standard deviation of a timing, crank degrees, where the mark dances by more than an eye is out.
    pub fn angle_scatter(&self) -> Option<f64> {
        let dances = self.fact("mark_dances").and_then(|kept| quantity(&ANGLE, kept).ok())?;
        let scatter = standard_deviation(dances / 2.0).min(5.0);
        (scatter > SCATTER_BY_EYE).then_some(scatter)
    }

    /// What is known of the curve so far; none while there is too little.
    pub fn fitted(&self) -> Option<FitResult> {
        fit(&self.as_readings()?, &FitOptions::default()).ok()
    }

    fn as_readings(&self) -> Option<Readings> {
        let columns = ColumnNames { speed: "crank_rpm", angle: "crank_degrees", vacuum: Some("vacuum_kPa") };
        let (name, readings) = ("the survey".to_owned(), self.readings());
        let (speed_scatter, angle_scatter) = (self.speed_scatter(), self.angle_scatter());
        let unit_holds = self.fact("leak_test").map(|answer| answer == "yes");
        let known = Readings {
            name,
            readings,
            atmosphere_kpa: None,
            speed_scatter,
            angle_scatter,
            tachometer_accuracy: None,
            gauge_accuracy: None,
            unit_holds,
            columns,
        };
        (!known.readings.is_empty()).then_some(known)
    }

    /// What comes next, with the fit so far.
    pub fn next(&self, fitted: Option<&FitResult>) -> Step {
        if let Some(fact) = facts::BEFORE.iter().find(|fact| self.asks(fact)) {
            return Step::Fact(fact);
        }
        if self.fact("hose_off").is_none()
            && let Some(proposal) = plan::hose_off(self, fitted)
        {
            return Step::Reading(proposal);
        }
        if let Some(fact) = facts::BETWEEN.iter().find(|fact| self.asks(fact)) {
            return Step::Fact(fact);
        }
        if self.fact("vacuum_unit") == Some("yes") {
            if self.fact("hose_on").is_none()
                && let Some(proposal) = plan::hose_on(self)
            {
                return Step::Reading(proposal);
            }
            if let Some(fact) = facts::AFTER.iter().find(|fact| self.asks(fact)) {
                return Step::Fact(fact);
            }
        }
        Step::Finished
    }

    fn asks(&self, fact: &Fact) -> bool {
        let elsewhere = if self.off_engine { Place::OnEngine } else { Place::OffEngine };
        fact.place != elsewhere && self.fact(fact.key).is_none() && !self.needless(fact)
    }

    /// The stop's second side, where the first was passed over.
    fn needless(&self, fact: &Fact) -> bool {
        fact.key == "stopped_after" && self.fact("stopped_before") == Some("skip")
    }

    /// What to show for a step.
    pub fn question(&self, step: &Step) -> Question {
        match step {
            Step::Fact(fact) => {
                Question { before: fact.before.to_owned(), goes_on: false, question: fact.question.to_owned() }
            }
            Step::Reading(proposal) => {
                let question = match (self.pending.len(), proposal.depression_kpa) {
                    (0, _) => format!("speed, {}:", self.shaft().rpm()),
                    (1, Some(_)) => "depression, kPa (or another unit behind the number):".to_owned(),
                    _ if self.off_engine => "advance, distributor degrees:".to_owned(),
                    _ => "timing, crank degrees before TDC:".to_owned(),
                };
                Question { before: plan::in_words(proposal, self), goes_on: !self.pending.is_empty(), question }
            }
            Step::Finished => Question { before: String::new(), goes_on: false, question: String::new() },
        }
    }

    /// Takes an answer; gives back what to say of it, which may be nothing.
    ///
    /// # Errors
    /// What is wrong with the answer and what to write instead; nothing has changed then.
    pub fn answer(&mut self, step: &Step, answer: &str) -> Result<String, String> {
        let answer = answer.trim();
        if answer == "back" {
            return Ok(self.back());
        }
        match step {
            Step::Fact(fact) => {
                let (kept, said) = fact.read(answer)?;
                self.entries.push(Entry::Answer(fact.key.to_owned(), kept));
                let correction = self.correction();
                if fact.key == "stopped_after" {
                    return Ok(format!(
                        "At true TDC the wheel reads {:.2} crank degrees {}: that is taken out of every reading.",
                        correction.abs(),
                        if correction >= 0.0 { "BTDC" } else { "ATDC" }
                    ));
                }
                Ok(said)
            }
            Step::Reading(proposal) => self.take(proposal, answer),
            Step::Finished => Err("there is nothing more to answer".to_owned()),
        }
    }

    fn take(&mut self, proposal: &Proposal, answer: &str) -> Result<String, String> {
        match answer {
            "done" if proposal.hose == Hose::Off && self.readings().len() < FEWEST_READINGS => {
                return Err(format!(
                    "a curve needs {FEWEST_READINGS} readings at the least: read on, or `stop` and go on another time"
                ));
            }
            "done" => {
                let key = if proposal.hose == Hose::Off { "hose_off" } else { "hose_on" };
                self.entries.push(Entry::Answer(key.to_owned(), "done".to_owned()));
                self.pending.clear();
                return Ok(String::new());
            }
            "skip" if proposal.slower_than_idle => {
                self.entries.push(Entry::Answer("slower_than_idle".to_owned(), "skip".to_owned()));
                self.pending.clear();
                return Ok(String::new());
            }
            _ => {}
        }
        let shaft = self.shaft();
        let asks_depression = proposal.depression_kpa.is_some();
        if self.pending.is_empty() {
            let speed = in_range(quantity(&SPEED, &bare_or_with_unit(answer, shaft.rpm())), 30.0..=20_000.0, shaft)?;
            let (idle, _) = plan::ends(self);
            if proposal.slower_than_idle && speed > idle - SLOWER_BY {
                return Err(format!(
                    "that is not below idle, {idle} crank rpm, so it tells nothing: come down to about {} crank rpm, or `skip` \
                     where it stalls",
                    whole(proposal.crank_rpm),
                    idle = whole(idle)
                ));
            }
            self.pending.push(speed);
            return Ok(String::new());
        }
        if self.pending.len() == 1 && asks_depression {
            kpa_and_not_inhg(answer, proposal.depression_kpa.unwrap_or_default())?;
            let read = parse_pressure(&as_depression(answer, "kPa"));
            let kpa = read.map(|pressure| pressure.depression_kpa(STANDARD_ATMOSPHERE_KPA));
            self.pending.push(in_range(kpa, 0.0..=110.0, Shaft::Crank)?);
            return Ok(String::new());
        }
        let typed = in_range(quantity(&ANGLE, &bare_or_with_unit(answer, shaft.degrees())), -30.0..=90.0, shaft)?;
        let reading = Reading {
            line: self.readings().len() + 1,
            hose: proposal.hose,
            speed_was: proposal.speed_was,
            crank_rpm: self.pending[0],
            crank_degrees: typed - self.correction(),
            depression_kpa: self.pending.get(1).copied().filter(|_| asks_depression),
        };
        if !(-30.0..=90.0).contains(&reading.crank_degrees) {
            return Err("with the correction of TDC that is outside -30 to 90 crank degrees: read it again".to_owned());
        }
        self.pending.clear();
        let said = plan::remark(self, proposal, &reading);
        if proposal.slower_than_idle {
            self.entries.push(Entry::Answer("slower_than_idle".to_owned(), "read".to_owned()));
        }
        self.entries.push(Entry::Reading(reading));
        Ok(said)
    }

    /// What the answers besides readings say of the distributor and of its mark, for whoever copies the curve.
    pub fn seen(&self) -> Vec<&'static str> {
        let answers = self.entries.iter().filter_map(|entry| match entry {
            Entry::Answer(key, answer) => Some((key, answer)),
            Entry::Reading(_) => None,
        });
        let facts = [facts::BEFORE, facts::BETWEEN, facts::AFTER];
        let of = |key: &str| facts.iter().copied().flatten().find(|fact| fact.key == key);
        answers.filter_map(|(key, answer)| Some(of(key)?.remark(answer))).filter(|said| !said.is_empty()).collect()
    }

    /// Takes a reading without asking for its parts.
    pub fn push(&mut self, reading: Reading) {
        self.entries.push(Entry::Reading(reading));
    }

    fn back(&mut self) -> String {
        if self.pending.pop().is_some() {
            return "That answer is taken back.".to_owned();
        }
        match self.entries.pop() {
            Some(Entry::Reading(reading)) => {
                if matches!(self.entries.last(), Some(Entry::Answer(key, _)) if key == "slower_than_idle") {
                    self.entries.pop();
                }
                let shaft = self.shaft();
                format!("The reading at {} {} is taken back.", whole(shaft.of_crank(reading.crank_rpm)), shaft.rpm())
            }
            Some(Entry::Answer(key, _)) => format!("The answer to `{key}` is taken back."),
            None => "There is nothing to take back.".to_owned(),
        }
    }
}

/// A speed below idle is below it by so much at the least, crank rpm. Common practice, no source.
const SLOWER_BY: f64 = 50.0;

/// Of what wanders by so much to either side, and is no likelier in the middle (JCGM 100:2008, 4.3.7).
fn standard_deviation(to_either_side: f64) -> f64 {
    to_either_side / 3.0_f64.sqrt()
}

/// A figure in its range; what is outside is told as it stands at the shaft that is read.
fn in_range(
    read: Result<f64, crate::quantity::QuantityError>,
    range: std::ops::RangeInclusive<f64>,
    shaft: Shaft,
) -> Result<f64, String> {
    match read {
        Ok(value) if range.contains(&value) => Ok(value),
        Ok(value) => {
            let [value, low, high] = [value, *range.start(), *range.end()].map(|one| shaft.of_crank(one));
            Err(format!(
                "{value} is outside {low} to {high}: look at the number and its unit, and write it again",
                value = whole(value)
            ))
        }
        Err(error) => Err(format!("{error}: {}", error.help())),
    }
}
