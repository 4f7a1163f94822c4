//! `bobweight check`: the limits of a curve, proven over the whole domain.

use super::exit::Exit;
use super::failure::Failure;
use super::json_file::{JsonFile, deliver};
use super::terminal::Terminal;
use crate::curve::check::check;
use crate::page;
use crate::sheet;
use clap::Args;
use std::path::PathBuf;

/// Prove that the chosen curve keeps its limits at every speed and depression, and say what else can move a spark.
#[derive(Args, Debug)]
pub struct CheckArguments {
    /// The engine sheet.
    #[arg(value_name = "SHEET.toml")]
    pub sheet: PathBuf,
    /// Write the result for programs, too; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
}

/// Runs the command.
///
/// # Errors
/// A sheet that cannot be used, and results that cannot be written.
pub fn run(arguments: &CheckArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let json = arguments.json.as_deref().map(|path| JsonFile::open(path, &[&arguments.sheet])).transpose()?;
    let result = check(&sheet::read(&arguments.sheet)?)?;
    deliver(&result, &page::check::render(&result), json, terminal)?;
    Ok(if result.kept { Exit::Pass } else { Exit::Fail })
}

#[cfg(test)]
mod tests;
