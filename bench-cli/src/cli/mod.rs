//! The command line: arguments in, an exit status out. What the commands do is elsewhere.

pub mod ask;
pub mod bench;
pub mod cautions;
pub mod check;
pub mod departure;
pub mod exit;
pub mod export;
pub mod failure;
pub mod figures;
pub mod fit;
pub mod json_file;
pub mod light;
pub mod out_file;
pub mod read;
pub mod render;
pub mod report;
pub mod serial;
pub mod steps;
pub mod survey;
pub mod tape;
pub mod terminal;
pub mod write;

use clap::{Parser, Subcommand};
use exit::Exit;
use terminal::Terminal;

/// Replaces a worn mechanical distributor by an electronic ignition, and proves it.
#[derive(Debug, Parser)]
#[command(name = "bobweight", version, arg_required_else_help = false, disable_help_subcommand = false)]
pub struct Cli {
    /// What to do; the steps of the job where nothing is said.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The commands, in the order of the job.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// You are led through measuring the old distributor.
    Survey(survey::SurveyArguments),
    /// A degree tape for the pulley is drawn at true size.
    Tape(tape::TapeArguments),
    /// Readings of the old distributor become a curve with its uncertainty.
    Fit(fit::FitArguments),
    /// What the curve means where the engine is used: operating figures, rotor, coil, and the page for the first start.
    Figures(figures::FiguresArguments),
    /// The limits of the chosen curve are proven over every speed and depression.
    Check(check::CheckArguments),
    /// The chosen curve into an ignition over its serial port.
    Write(write::WriteArguments),
    /// The curve that is in an ignition.
    Read(read::ReadArguments),
    /// The curve as image, Intel HEX, Rust, C, or a table in CSV.
    Export(export::ExportArguments),
    /// An ignition is driven through the bench plan and judged.
    Bench(bench::BenchArguments),
    /// The curve is proven with a timing light, on the engine or on the bench.
    Light(light::LightArguments),
    /// One page of one result or two, and the card for the engine.
    Report(report::ReportArguments),
    /// The serial ports of this machine, with what is known of each.
    Serial(serial::SerialArguments),
}

/// Runs what was asked for, and tells what went wrong.
pub fn run(cli: &Cli, terminal: &mut Terminal) -> Exit {
    let outcome = match &cli.command {
        None => steps::run(std::path::Path::new("."), terminal),
        Some(Command::Survey(arguments)) => survey::run(arguments, terminal),
        Some(Command::Tape(arguments)) => tape::run(arguments, terminal),
        Some(Command::Fit(arguments)) => fit::run(arguments, terminal),
        Some(Command::Figures(arguments)) => figures::run(arguments, terminal),
        Some(Command::Check(arguments)) => check::run(arguments, terminal),
        Some(Command::Write(arguments)) => write::run(arguments, terminal),
        Some(Command::Read(arguments)) => read::run(arguments, terminal),
        Some(Command::Export(arguments)) => export::run(arguments, terminal),
        Some(Command::Bench(arguments)) => bench::run(arguments, terminal),
        Some(Command::Light(arguments)) => light::run(arguments, terminal),
        Some(Command::Report(arguments)) => report::run(arguments, terminal),
        Some(Command::Serial(arguments)) => serial::run(arguments, terminal),
    };
    outcome.unwrap_or_else(|failure| terminal.tell(&failure))
}

#[cfg(test)]
pub(crate) mod tests;
