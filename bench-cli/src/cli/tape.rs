//! `bobweight tape`: a degree tape to print.

use super::exit::Exit;
use super::failure::Failure;
use super::out_file::{Holds, refuse_loss, write_whole};
use super::terminal::Terminal;
use crate::page::tape::{Carrier, Drawing, Tape, TapeError, pdf, svg};
use crate::quantity::{LENGTH, POSITION, parse};
use crate::sheet::Rotation;
use crate::words::wrap::paragraph;
use clap::{Args, ValueEnum};
use miette::Diagnostic;
use std::path::{Path, PathBuf};

/// Draw a degree tape at true size, for the pulley or for a plate beside it, with a bar to check the printer by.
#[derive(Args, Debug)]
pub struct TapeArguments {
    /// Diameter of the rim that the tape is laid on, such as "152 mm" or "6 in"; for a plate, of the circle that its edge
    /// follows.
    #[arg(long, value_name = "LENGTH", value_parser = diameter)]
    pub diameter: f64,
    /// One end of the tape, such as "10 crank degrees ATDC".
    #[arg(long, value_name = "POSITION", value_parser = position)]
    pub from: f64,
    /// The other end, such as "50 crank degrees BTDC".
    #[arg(long, value_name = "POSITION", value_parser = position)]
    pub to: f64,
    /// Which way the crank turns, seen from the pulley end.
    #[arg(long, value_enum)]
    pub rotation: RotationArgument,
    /// What the tape is laid on: the pulley, which turns, or a plate that stands still.
    #[arg(long, value_enum)]
    pub on: CarrierArgument,
    /// The file to write; its ending says the format, .svg or .pdf.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
}

/// Which way the crank turns.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum RotationArgument {
    /// With the hands of a clock.
    Clockwise,
    /// Against them.
    Anticlockwise,
}

/// What the tape is laid on.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum CarrierArgument {
    /// The pulley.
    Pulley,
    /// A plate that stands still.
    Plate,
}

fn diameter(typed: &str) -> Result<f64, String> {
    parse(&LENGTH, typed).map_err(|error| format!("{error}: {}", error.help()))
}

fn position(typed: &str) -> Result<f64, String> {
    parse(&POSITION, typed).map_err(|error| format!("{error}: {}", error.help()))
}

/// Why no tape was written.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{what}")]
struct NoTape {
    what: String,
    #[help]
    help: String,
}

impl From<TapeError> for Failure {
    fn from(error: TapeError) -> Self {
        Self::new(Exit::WrongInput, NoTape { what: error.to_string(), help: error.help().to_owned() })
    }
}

/// Runs the command.
///
/// # Errors
/// A tape that cannot be drawn, an unknown format, and a file that cannot be written.
pub fn run(arguments: &TapeArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let rotation = match arguments.rotation {
        RotationArgument::Clockwise => Rotation::Clockwise,
        RotationArgument::Anticlockwise => Rotation::Anticlockwise,
    };
    let carrier = match arguments.on {
        CarrierArgument::Pulley => Carrier::Pulley,
        CarrierArgument::Plate => Carrier::Plate,
    };
    refuse_loss(&arguments.out, &[], Holds::Tape)?;
    let tape = Tape::new(arguments.diameter, [arguments.from, arguments.to], rotation, carrier)?;
    let drawing = Drawing::of(&tape);
    write_whole(&arguments.out, &file_of(&drawing, &arguments.out)?)?;
    let mut text = String::new();
    paragraph(&mut text, "", &format!("Written: {}. {}.", arguments.out.display(), drawing.title));
    for sentence in tape.in_words() {
        paragraph(&mut text, "  ", &sentence);
    }
    write!(terminal.out, "{text}")?;
    terminal.out.flush()?;
    Ok(Exit::Pass)
}

fn file_of(drawing: &Drawing, out: &Path) -> Result<Vec<u8>, Failure> {
    let wrong = |what: String, help: &str| Failure::new(Exit::WrongInput, NoTape { what, help: help.to_owned() });
    let format = out.extension().and_then(|ending| ending.to_str()).map(str::to_ascii_lowercase);
    match (format.as_deref(), drawing.pages.as_slice()) {
        (Some("pdf"), _) => Ok(pdf::render(drawing)),
        (Some("svg"), [page]) => Ok(svg::render(&drawing.title, page).into_bytes()),
        (Some("svg"), pages) => Err(wrong(
            format!("{}: the tape takes {} pages, and an SVG file holds one", out.display(), pages.len()),
            "name a file that ends in .pdf",
        )),
        _ => Err(wrong(
            format!("{}: the ending says no format that a tape is drawn in", out.display()),
            "name a file that ends in .svg or .pdf",
        )),
    }
}

#[cfg(test)]
mod tests;
