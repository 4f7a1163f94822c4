//! `bobweight write`: the chosen curve into an ignition.

use super::cautions::{Work, acknowledge};
use super::exit::Exit;
use super::export::exportable;
use super::failure::{Failure, refuse_broken_limits};
use super::json_file::{JsonFile, deliver};
use super::terminal::Terminal;
use crate::interrupt::{Interrupt, orderly};
use crate::link::ignition::{self, IgnitionError};
use crate::record::ignition::{Curve, IgnitionResult};
use crate::record::sheet::SheetIdentity;
use clap::Args;
use std::path::PathBuf;

/// What nobody can see from here, said before the serial port is opened.
pub const BEFORE_OPENING: &str = "A board that resets when its serial port is opened must not be connected to a coil now: a reset while the coil is \
                                  on is a spark out of time. Many boards reset so unless they are wired not to.";

/// Put the chosen curve into an ignition over its serial port, read it back, and say which curve was in it and which is now.
///
/// The engine must stand. The ignition works by the new curve from the next key-on.
#[derive(Args, Debug)]
pub struct WriteArguments {
    /// The engine's sheet, such as `fit --new-sheet` makes.
    #[arg(value_name = "SHEET.toml")]
    pub sheet: PathBuf,
    /// The serial port of the ignition.
    #[arg(long, value_name = "PATH")]
    pub serial: PathBuf,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
    /// Go on without being asked: you have read the cautions.
    #[arg(long)]
    pub acknowledge_cautions: bool,
}

impl From<IgnitionError> for Failure {
    fn from(error: IgnitionError) -> Self {
        let interrupted = matches!(error, IgnitionError::Interrupted { .. });
        Self::new(if interrupted { Exit::Interrupted } else { Exit::LinkFailed }, error)
    }
}

/// Runs the command.
///
/// # Errors
/// A sheet that cannot be used or breaks its limits, a link that fails, an ignition that refuses.
pub fn run(arguments: &WriteArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let json = arguments.json.as_deref().map(|path| JsonFile::open(path, &[&arguments.sheet])).transpose()?;
    let export = exportable(&arguments.sheet)?;
    export.sheet().refuse_assumed("nothing was written")?;
    refuse_broken_limits(export.sheet(), export.broken_limits(), "nothing was written")?;
    let image = export.image()?;
    terminal.say("", BEFORE_OPENING)?;
    acknowledge(Work::Bench, arguments.acknowledge_cautions, terminal)?;
    let _orderly = orderly();
    let mut link = ignition::open(&arguments.serial.display().to_string(), &Interrupt::of_process())?;
    // What cannot be read is no reason not to write: it is told.
    let before = match link.settings() {
        Ok(before) => before.as_ref().map(Curve::of),
        Err(IgnitionError::Image { .. }) => None,
        Err(error) => return Err(error.into()),
    };
    link.write(&image, export.engine().image_version())?;
    let result = IgnitionResult {
        sheet: Some(SheetIdentity::of(export.sheet())?),
        before,
        now: Some(Curve::of(export.engine())),
        ..IgnitionResult::new(link.place())
    };
    deliver(&result, &result.written_in_words(), json, terminal)?;
    Ok(Exit::Pass)
}
