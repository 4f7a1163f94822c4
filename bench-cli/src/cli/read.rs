//! `bobweight read`: the curve that is in an ignition.

use super::cautions::{Work, acknowledge};
use super::exit::Exit;
use super::failure::Failure;
use super::json_file::{JsonFile, deliver};
use super::terminal::Terminal;
use super::write::BEFORE_OPENING;
use crate::curve::export::Export;
use crate::curve::in_ignition;
use crate::interrupt::Interrupt;
use crate::link::ignition;
use crate::record::ignition::{Curve, IgnitionResult};
use crate::record::sheet::SheetIdentity;
use crate::sheet;
use clap::Args;
use std::path::PathBuf;

/// Read the curve that is in an ignition, and print it as the tables of a sheet, or say whether it is that of a sheet.
#[derive(Args, Debug)]
pub struct ReadArguments {
    /// The serial port of the ignition.
    #[arg(long, value_name = "PATH")]
    pub serial: PathBuf,
    /// Compare it with this sheet's curve. Where they differ, say in what, and end with exit status 1.
    #[arg(long, value_name = "SHEET.toml")]
    pub against: Option<PathBuf>,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
    /// Go on without being asked: you have read the cautions.
    #[arg(long)]
    pub acknowledge_cautions: bool,
}

/// Runs the command.
///
/// # Errors
/// A sheet that cannot be used, and a link that fails.
pub fn run(arguments: &ReadArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let json = arguments
        .json
        .as_deref()
        .map(|path| JsonFile::open(path, arguments.against.as_deref().as_slice()))
        .transpose()?;
    let against =
        arguments.against.as_deref().map(|path| Ok::<_, Failure>(Export::new(sheet::read(path)?)?)).transpose()?;
    terminal.say("", BEFORE_OPENING)?;
    acknowledge(Work::Bench, arguments.acknowledge_cautions, terminal)?;
    let mut link = ignition::open(&arguments.serial.display().to_string(), &Interrupt::of_process())?;
    let settings = link.settings()?;
    let mut result = IgnitionResult { now: settings.as_ref().map(Curve::of), ..IgnitionResult::new(link.place()) };
    if let Some(against) = &against {
        result.sheet = Some(SheetIdentity::of(against.sheet())?);
        result.differs_in = settings.as_ref().map(|settings| {
            in_ignition::differences(settings, against.engine()).into_iter().map(str::to_owned).collect()
        });
    }
    deliver(&result, &result.read_in_words(), json, terminal)?;
    let same = against.is_none() || result.differs_in.as_ref().is_some_and(Vec::is_empty);
    Ok(if result.now.is_some() && same { Exit::Pass } else { Exit::Fail })
}
