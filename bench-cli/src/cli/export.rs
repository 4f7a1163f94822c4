//! `bobweight export`: the curve for other hands than the tool's own.

use super::exit::Exit;
use super::failure::{Failure, refuse_broken_limits};
use super::json_file::JsonFile;
use super::out_file::Holds;
use super::terminal::Terminal;
use crate::curve::check::broken_limits_in_words;
use crate::curve::export::{Export, Format, Grid, depressions_from, speeds_from, table};
use crate::proof::begin::with_all_missing;
use crate::sheet;
use clap::Args;
use std::path::{Path, PathBuf};

/// Hand the chosen curve out as a file. A curve that breaks a limit is not handed out.
#[derive(Args, Debug)]
pub struct ExportArguments {
    /// The engine's sheet, such as `fit --new-sheet` makes.
    #[arg(value_name = "SHEET.toml")]
    pub sheet: PathBuf,
    /// The form of the file.
    #[arg(long = "as", value_name = "FORMAT")]
    pub format: Format,
    /// The file to write. Otherwise, and for `-`, standard output. It replaces only what `export` wrote in the same form.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The speeds of the table's rows, such as "500..6000 crank rpm by 250". For `csv`.
    #[arg(long, value_name = "GRID", value_parser = speeds_from, required_if_eq("format", "csv"))]
    pub speeds: Option<Grid>,
    /// The vacuums of the table's columns, such as "0..50 kPa depression by 10". Otherwise no vacuum and full vacuum. For `csv`.
    #[arg(long, value_name = "GRID", value_parser = depressions_from, requires = "speeds")]
    pub depressions: Option<Grid>,
}

/// Runs the command.
///
/// # Errors
/// A sheet that cannot be used or breaks its own limits, and a file that cannot be written.
pub fn run(arguments: &ExportArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let file = match &arguments.out {
        None => JsonFile::StandardOutput,
        Some(path) => JsonFile::open_for(path, &[&arguments.sheet], Holds::Export(arguments.format))?,
    };
    let bytes = if arguments.format == Format::Csv {
        csv(arguments)?.into_bytes()
    } else {
        let export = exportable(&arguments.sheet)?;
        refuse_broken_limits(export.sheet(), export.broken_limits(), "it is not handed out")?;
        export.sheet().refuse_assumed("it is not handed out")?;
        match arguments.format {
            Format::Image => export.image()?,
            Format::IntelHex => export.intel_hex()?.into_bytes(),
            Format::Rust => export.rust().into_bytes(),
            Format::C => export.c()?.into_bytes(),
            Format::Csv => Vec::new(),
        }
    };
    file.write_bytes(&bytes, terminal)?;
    Ok(Exit::Pass)
}

/// A sheet that an ignition can be given, or all that it misses.
///
/// # Errors
/// A sheet that cannot be used.
pub(super) fn exportable(path: &Path) -> Result<Export, Failure> {
    Ok(with_all_missing(&sheet::read(path)?, |sheet| Export::new(sheet.clone()))?)
}

/// Degrees alone: neither pickup nor coil is asked for.
fn csv(arguments: &ExportArguments) -> Result<String, Failure> {
    let sheet = sheet::read(&arguments.sheet)?;
    let model = with_all_missing(&sheet, |sheet| {
        sheet::driven(sheet)?;
        sheet.name.get()?;
        sheet::model(sheet)
    })?;
    refuse_broken_limits(&sheet, broken_limits_in_words(&sheet, &model), "it is not handed out")?;
    let speeds = arguments.speeds.clone().unwrap_or(Grid { unit: "crank rpm".to_owned(), values: Vec::new() });
    let depressions = arguments.depressions.clone().unwrap_or_else(|| {
        let full = model.settings().vacuum.as_ref().map(|vacuum| {
            let (kpa, _) = vacuum.curve.breakpoint(vacuum.curve.count());
            crate::quantity::of_core::kpa_of(kpa)
        });
        let values = [Some(0.0), full].into_iter().flatten().map(|kpa| (kpa, kpa)).collect();
        Grid { unit: "kPa depression".to_owned(), values }
    });
    Ok(table(&sheet, &model, &speeds, &depressions))
}

#[cfg(test)]
mod tests;
