//! `bobweight check`: the limits of a curve, proven over the whole domain.

use super::exit::Exit;
use super::failure::Failure;
use super::json_file::{JsonFile, deliver};
use super::terminal::Terminal;
use crate::curve::check::check;
use crate::page;
use crate::proof::begin::with_all_missing;
use crate::sheet;
use clap::Args;
use std::path::PathBuf;

/// Prove that the chosen curve keeps your limits at every speed and vacuum, and say what else can move a spark. A curve that breaks
/// a limit ends with exit status 1, and no other command uses it.
#[derive(Args, Debug)]
pub struct CheckArguments {
    /// The engine's sheet, such as `fit --new-sheet` makes.
    #[arg(value_name = "SHEET.toml")]
    pub sheet: PathBuf,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
}

/// Runs the command.
///
/// # Errors
/// A sheet that cannot be used, and results that cannot be written.
pub fn run(arguments: &CheckArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let json = arguments.json.as_deref().map(|path| JsonFile::open(path, &[&arguments.sheet])).transpose()?;
    let result = with_all_missing(&sheet::read(&arguments.sheet)?, check)?;
    deliver(&result, &page::check::render(&result), json, terminal)?;
    Ok(if result.kept { Exit::Pass } else { Exit::Fail })
}

#[cfg(test)]
mod tests;
