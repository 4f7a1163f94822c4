//! A proof with a timing light, as it is saved.
//!
//! Angles are crank degrees, an advance before top dead centre; speeds crank rpm; depressions kPa below the atmosphere. An
//! error is early where positive.

use super::interval::Interval;
use super::sheet::SheetIdentity;
use super::verdict::Verdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Marks the format.
pub const SCHEMA: &str = "bobweight-light/1";

/// The result of one proof.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct LightResult {
    /// Always `bobweight-light/1`.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: String,
    /// Version of the tool that made it.
    pub tool_version: String,
    /// Which sheet was proven.
    pub sheet: SheetIdentity,
    /// The file of the readings.
    pub readings_file: String,
    /// Its digest.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub readings_digest: Option<String>,
    /// On a motor-driven wheel beside the stimulator, and not on the engine.
    pub on_bench: bool,
    /// The light.
    pub light: Kind,
    /// Its own lag; absent where nobody knows it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub light_lag_us: Option<f64>,
    /// How far from the curve a spark may come.
    pub tolerance_crank_degrees: f64,
    /// Standard deviation of a reading.
    pub scatter_crank_degrees: f64,
    /// How many more readings with the hose off would tell well enough what to turn; absent where these do.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub further_readings: Option<usize>,
    /// The same error at every speed, early positive, beside the lag.
    pub offset_crank_degrees_early: Interval,
    /// Later with speed, microseconds; that of a light whose lag is not known is among it.
    pub lag_us: Interval,
    /// The readings.
    pub readings: Vec<Read>,
    /// The error at idle and at the top, in sentences.
    pub opening: Vec<String>,
    /// Each speed and depression that was read, judged.
    pub places: Vec<Place>,
    /// What the errors come from, and what to do.
    pub causes: Vec<Cause>,
    /// The verdict on all of it.
    pub verdict: Verdict,
    /// What to do next, in sentences.
    pub next_steps: Vec<String>,
    /// What this did not prove, in sentences.
    pub not_proven: Vec<String>,
}

/// One reading beside what is wanted there.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Read {
    /// Line of the readings file.
    pub line: usize,
    /// Whether the hose was on.
    pub hose_on: bool,
    /// Speed.
    pub speed_crank_rpm: f64,
    /// Depression; 0 with the hose off.
    pub depression_kpa: f64,
    /// What was read.
    pub read_crank_degrees: f64,
    /// What the chosen curve wants.
    pub wanted_crank_degrees: f64,
    /// Early positive, a known lag of the light taken out.
    pub error_crank_degrees_early: f64,
}

/// Readings at about one speed and depression.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Whether the hose was on.
    pub hose_on: bool,
    /// Their mean speed.
    pub speed_crank_rpm: f64,
    /// Their mean depression.
    pub depression_kpa: f64,
    /// How many.
    pub readings: usize,
    /// What the curve wants, in the mean.
    pub wanted_crank_degrees: f64,
    /// The error of the spark that is judged: by offset and lag of all readings, or by these readings alone where they
    /// depart from that. The interval is wider towards early where nobody knows the light's lag.
    pub error_crank_degrees_early: Interval,
    /// By how much these readings depart from what offset and lag explain, with its 99 % interval.
    pub departure_crank_degrees_early: Interval,
    /// Whether their own readings alone are judged.
    pub judged_alone: bool,
    /// The verdict.
    pub verdict: Verdict,
}

/// What an error comes from.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CauseKind {
    /// The 0 that was read by was never held against true top dead centre.
    Mark,
    /// The readings do not tell well enough what to turn.
    NotSettled,
    /// The same at every speed.
    Offset,
    /// Later with speed.
    Lag,
    /// The curve is steeper than the sheet's: the old weights still move.
    WeightsFree,
    /// Earlier with speed, by no known cause.
    EarlierWithSpeed,
    /// Right with the hose off and wrong with it on.
    Vacuum,
    /// One place departs from the others, or one reading.
    Place,
    /// By the error that is seen a limit of the sheet would be broken.
    Limit,
    /// Nothing is seen.
    None,
}

/// One cause, with what to do.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Cause {
    /// Which.
    pub kind: CauseKind,
    /// It in words, with figures and what to do.
    pub sentence: String,
}

/// The kind of a timing light.
#[derive(Clone, Copy, Debug, Default, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// It flashes at the spark; the degrees are read off a tape or plate.
    #[default]
    Plain,
    /// It flashes later by what its dial says; the mark is brought to 0 and the dial is read.
    Dial,
}

impl Kind {
    /// It in a word, as a line of the readings says it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Dial => "dial",
        }
    }
}
