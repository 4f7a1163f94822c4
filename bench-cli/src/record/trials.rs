//! Trials of a timing on an engine, as they are saved.
//!
//! Angles are crank degrees before top dead centre; speeds crank rpm; depressions kPa below the atmosphere. A move is earlier
//! where positive.

use super::figures::Basis;
use super::interval::Interval;
use super::sheet::SheetIdentity;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Marks the format.
pub const SCHEMA: &str = "bobweight-trials/1";

/// The result of the trials at one place.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct TrialsResult {
    /// Always `bobweight-trials/1`.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: String,
    /// Version of the tool that made it.
    pub tool_version: String,
    /// The engine's sheet.
    pub sheet: SheetIdentity,
    /// The file of the trials.
    pub trials_file: String,
    /// Its digest.
    pub trials_digest: String,
    /// Where, by what and how the trials were made.
    pub said: Said,
    /// Where trials begin.
    pub begin: Begin,
    /// The sheet's greatest advance at this place.
    pub limit_crank_degrees: f64,
    /// No trial may go beyond this.
    pub ceiling_crank_degrees: f64,
    /// What sets it, in a few words.
    pub ceiling_because: String,
    /// Every trial, in the order of the file.
    pub trials: Vec<Trial>,
    /// The earliest timing that was quiet, with nothing later than it heard to pink.
    pub last_quiet_crank_degrees: Option<f64>,
    /// The latest timing at which pinking was heard.
    pub pinking_crank_degrees: Option<f64>,
    /// What the trials show of the best timing.
    pub top: Top,
    /// The best timing with its 95 % interval; none unless the top is seen.
    pub best_crank_degrees: Option<Interval>,
    /// The latest timing that costs no more than half a per cent, cut to what was quiet; none unless the top is seen.
    pub set_to_crank_degrees: Option<f64>,
    /// Standard deviation of one trial, per cent; none where too few were made.
    pub scatter_percent: Option<f64>,
    /// About so many trials more would settle it; 0 where it is settled, none where nobody can say.
    pub more_trials: Option<u32>,
    /// What it comes to, in sentences.
    pub statements: Vec<String>,
    /// What to do next, in sentences.
    pub next_steps: Vec<String>,
    /// What this did not prove, in sentences.
    pub not_proven: Vec<String>,
}

/// Where on the curve a timing is tried.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// The throttle at its stop, hose off: the initial timing.
    Idle,
    /// A throttle little open, hose on.
    PartThrottle,
    /// The throttle wide open.
    FullThrottle,
}

/// What is read of a trial.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Seconds for a pull between two speeds, or for a hill: less is better.
    Time,
    /// Newton metres.
    Torque,
    /// Kilowatts.
    Power,
    /// Litres a minute of a pump.
    Delivery,
    /// Crank rpm at a throttle that nobody touches.
    Speed,
}

/// How pinking is listened for.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Listening {
    /// By ear.
    Ear,
    /// By an instrument that detects knock, on a dynamometer.
    KnockDetection,
}

/// What was heard at a trial.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Heard {
    /// No pinking.
    Quiet,
    /// Pinking.
    Pinking,
    /// Too loud to tell.
    CouldNotTell,
}

/// Where, by what and how trials were made.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Said {
    /// Where on the curve.
    pub place: Place,
    /// At which speed.
    pub speed_crank_rpm: f64,
    /// With how much vacuum; 0 at idle with the hose off and at full throttle.
    pub depression_kpa: f64,
    /// What was read.
    pub measure: Measure,
    /// How pinking was listened for.
    pub listening: Listening,
}

/// One trial.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Trial {
    /// Line of the file, from 1.
    pub line: usize,
    /// The series that it belongs to, from 1.
    pub series: u32,
    /// The timing, total at this place.
    pub crank_degrees: f64,
    /// What was read, in the unit of the measure.
    pub measured: f64,
    /// What was heard.
    pub heard: Heard,
    /// The conditions, in the owner's words.
    pub conditions: String,
}

/// Where trials begin, and why there.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Begin {
    /// The timing of the engine before it was changed.
    pub before_crank_degrees: f64,
    /// Whether a book says so; otherwise it is the sheet's chosen curve.
    pub by_book: bool,
    /// Begin here.
    pub at_crank_degrees: f64,
    /// So much later than before, of all changes together.
    pub later_crank_degrees: f64,
    /// What each change does here.
    pub effects: Vec<Effect>,
}

/// What one change does at one place of the curve.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Effect {
    /// What was changed, with its figures.
    pub change: String,
    /// Where on the curve.
    pub place: Place,
    /// From how much to how much the timing is likely to move; earlier positive.
    pub moves_crank_degrees: [f64; 2],
    /// Trials begin later by this for it: never less than nothing.
    pub begin_later_crank_degrees: f64,
    /// Why, and what else to do.
    pub why: String,
    /// Where the direction comes from. The figures are common practice in every case.
    pub basis: Basis,
}

/// What trials show of the best timing.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Top {
    /// It lies inside what was tried.
    Seen,
    /// The scatter of the trials hides it.
    Hidden,
    /// Earlier was better up to the last timing tried.
    NotReached,
    /// Later was better down to the latest timing tried.
    Later,
    /// All trials went one way: what drifts meanwhile cannot be told from what the timing does.
    OneWay,
    /// Too few trials.
    TooFew,
}

impl Place {
    /// The words of files and questions.
    pub const WORDS: [(&str, Self); 3] =
        [("idle", Self::Idle), ("part throttle", Self::PartThrottle), ("full throttle", Self::FullThrottle)];
}

impl Measure {
    /// The column that holds it, its unit for people, and what it is.
    pub const COLUMNS: [(&str, &str, Self); 5] = [
        ("time_s", "s", Self::Time),
        ("torque_Nm", "Nm", Self::Torque),
        ("power_kW", "kW", Self::Power),
        ("delivery_l_per_min", "l per min", Self::Delivery),
        ("speed_crank_rpm", "crank rpm", Self::Speed),
    ];
    /// The words of questions.
    pub const WORDS: [(&str, Self); 5] = [
        ("time", Self::Time),
        ("torque", Self::Torque),
        ("power", Self::Power),
        ("delivery", Self::Delivery),
        ("speed", Self::Speed),
    ];

    /// The column of a file.
    pub fn column(self) -> &'static str {
        self.of_columns().0
    }

    /// The unit.
    pub fn unit(self) -> &'static str {
        self.of_columns().1
    }

    fn of_columns(self) -> (&'static str, &'static str) {
        let found = Self::COLUMNS.iter().find(|(.., measure)| *measure == self);
        found.map_or(("", ""), |(column, unit, _)| (column, unit))
    }
}

impl Listening {
    /// The words of files and questions.
    pub const WORDS: [(&str, Self); 2] = [("ear", Self::Ear), ("knock detection", Self::KnockDetection)];
}

impl Heard {
    /// The words of files and questions.
    pub const WORDS: [(&str, Self); 3] =
        [("no", Self::Quiet), ("yes", Self::Pinking), ("could not tell", Self::CouldNotTell)];
}
