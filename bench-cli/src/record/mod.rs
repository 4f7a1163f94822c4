//! What commands save with `--json`: data alone, in one typed form with a version for each kind.
//!
//! Whatever computes makes one of these, and whatever shows, or tells what to do next, is made from one. What is on a disk is
//! read back by [`crate::saved`] alone.

pub mod bench;
pub mod check;
pub mod coil;
pub mod figures;
pub mod fit;
pub mod ignition;
pub mod interval;
pub mod light;
pub(crate) mod precision;
pub mod sheet;
pub mod sparks;
pub mod trials;
pub mod verdict;

use bench::BenchResult;
use check::CheckResult;
use coil::CoilResult;
use figures::FiguresResult;
use fit::FitRecord;
use ignition::IgnitionResult;
use light::LightResult;
use schemars::JsonSchema;
use serde::de::DeserializeOwned;
use sheet::SheetIdentity;
use trials::TrialsResult;

/// The tool that makes a record.
pub const TOOL_VERSION: &str = env!("CARGO_PKG_VERSION");

/// A saved result of any command.
#[derive(Clone, Debug, PartialEq)]
pub enum Record {
    /// Of `fit`.
    Fit(Box<FitRecord>),
    /// Of `coil`.
    Coil(Box<CoilResult>),
    /// Of `figures`.
    Figures(Box<FiguresResult>),
    /// Of `check`.
    Check(Box<CheckResult>),
    /// Of `write` and `read`.
    Ignition(Box<IgnitionResult>),
    /// Of `bench`.
    Bench(Box<BenchResult>),
    /// Of `light`.
    Light(Box<LightResult>),
    /// Of `trials`.
    Trials(Box<TrialsResult>),
}

/// The form of one kind of record.
#[derive(Clone, Copy, Debug)]
pub struct Form {
    /// What marks it, with its version.
    pub schema: &'static str,
    /// The command that makes it.
    pub command: &'static str,
    /// Its JSON Schema as it is committed in the folder `bench-cli`.
    pub file: &'static str,
    /// The schema, made from the type; ended by a line feed.
    pub json_schema: fn() -> String,
    /// Reads one.
    pub(crate) read: fn(&str) -> serde_json::Result<Record>,
}

/// Every form, in the order of the job.
pub const FORMS: [Form; 8] = [
    form::<FitRecord>(fit::SCHEMA, "fit", "fit.schema.json", |text| typed(text).map(Record::Fit)),
    form::<CoilResult>(coil::SCHEMA, "coil", "coil.schema.json", |text| typed(text).map(Record::Coil)),
    form::<FiguresResult>(figures::SCHEMA, "figures", "figures.schema.json", |text| typed(text).map(Record::Figures)),
    form::<CheckResult>(check::SCHEMA, "check", "check.schema.json", |text| typed(text).map(Record::Check)),
    form::<IgnitionResult>(ignition::SCHEMA, "write", "ignition.schema.json", |text| typed(text).map(Record::Ignition)),
    form::<BenchResult>(bench::SCHEMA, "bench", "result.schema.json", |text| typed(text).map(Record::Bench)),
    form::<LightResult>(light::SCHEMA, "light", "light.schema.json", |text| typed(text).map(Record::Light)),
    form::<TrialsResult>(trials::SCHEMA, "trials", "trials.schema.json", |text| typed(text).map(Record::Trials)),
];

const fn form<T: JsonSchema>(
    schema: &'static str,
    command: &'static str,
    file: &'static str,
    read: fn(&str) -> serde_json::Result<Record>,
) -> Form {
    Form { schema, command, file, json_schema: json_schema::<T>, read }
}

fn json_schema<T: JsonSchema>() -> String {
    format!("{:#}\n", schemars::schema_for!(T).as_value())
}

fn typed<T: DeserializeOwned>(text: &str) -> serde_json::Result<Box<T>> {
    serde_json::from_str(text).map(Box::new)
}

impl Record {
    /// The bench result, where it is one.
    pub fn into_bench(self) -> Option<BenchResult> {
        if let Self::Bench(result) = self { Some(*result) } else { None }
    }

    /// The sheet that it was made from; none of a fit, of a coil by itself, and of an ignition that was read without one.
    pub fn sheet(&self) -> Option<&SheetIdentity> {
        match self {
            Self::Bench(result) => Some(&result.sheet),
            Self::Light(result) => Some(&result.sheet),
            Self::Trials(result) => Some(&result.sheet),
            Self::Figures(result) => Some(&result.sheet),
            Self::Check(result) => Some(&result.sheet),
            Self::Ignition(result) => result.sheet.as_ref(),
            Self::Fit(_) | Self::Coil(_) => None,
        }
    }

    /// What it is, in words.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Bench(result) if result.is_simulated() => "a bench run of the simulation",
            Self::Bench(_) => "a bench run of a box",
            Self::Light(result) if result.on_bench => "a proof with a timing light on the bench",
            Self::Light(_) => "a proof with a timing light",
            Self::Trials(_) => "trials of a timing on the engine",
            Self::Fit(_) => "a fit of the old distributor's readings",
            Self::Coil(_) => "a coil that was read by a meter",
            Self::Figures(_) => "operating figures",
            Self::Check(_) => "a check of the limits",
            Self::Ignition(_) => "the curve in an ignition",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::FORMS;

    #[test]
    fn the_committed_schemas_are_the_generated_ones() {
        for form in FORMS {
            let path = format!("{}/{}", env!("CARGO_MANIFEST_DIR"), form.file);
            let schema = (form.json_schema)();
            if std::env::var_os("BOBWEIGHT_WRITE_SCHEMA").is_some() {
                std::fs::write(&path, &schema).unwrap();
            }
            let committed = std::fs::read_to_string(&path).unwrap();
            assert!(committed == schema, "{path} is stale: run this test once with BOBWEIGHT_WRITE_SCHEMA=1");
        }
    }

    #[test]
    fn every_schema_that_is_named_lies_there_and_no_other_does() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut lying: Vec<String> = std::fs::read_dir(folder)
            .expect("the crate's folder")
            .filter_map(|entry| entry.expect("an entry").file_name().into_string().ok())
            .filter(|name| name.ends_with(".schema.json"))
            .collect();
        lying.sort();
        let mut named: Vec<&str> = FORMS.iter().map(|form| form.file).collect();
        named.sort_unstable();
        named.dedup();
        assert_eq!(named, lying);
    }
}
