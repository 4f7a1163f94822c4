//! The command line: arguments in, an exit status out. What the commands do is elsewhere.

pub(crate) mod answers;
pub(crate) mod ask;
pub(crate) mod begin;
pub(crate) mod bench;
pub(crate) mod cautions;
pub(crate) mod check;
pub(crate) mod coil;
pub(crate) mod exit;
pub(crate) mod export;
pub(crate) mod failure;
pub(crate) mod figures;
pub(crate) mod fit;
pub(crate) mod job;
pub(crate) mod json_file;
pub(crate) mod light;
pub(crate) mod out_file;
pub(crate) mod read;
pub(crate) mod render;
pub(crate) mod report;
pub(crate) mod serial;
pub(crate) mod sitting;
pub(crate) mod steps;
pub(crate) mod survey;
pub(crate) mod tape;
pub(crate) mod terminal;
pub(crate) mod trials;
pub(crate) mod write;

use crate::words::shown::{ShownTo, shown};
use crate::words::wrap::{columns, folded, within};
pub use bench::{BenchArguments, run as bench_run};
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
pub use exit::Exit;
use std::io::Write;
use terminal::columns_of_terminal;
pub use terminal::{Terminal, on_standard_streams};

/// Replaces a worn mechanical distributor by an electronic ignition, and proves it.
#[derive(Debug, Parser)]
#[command(name = "bobweight", version, arg_required_else_help = false, disable_help_subcommand = false)]
pub struct Cli {
    /// What to do; the steps of the job where nothing is said.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// Makes commands known: of each its variant, and the way to its `run`.
macro_rules! commands {
    ($($command:ident($module:ident::$arguments:ident),)*) => {
        /// The commands, in the order of the job; what each does is said by its row in [`job::STEPS`], and at length by its
        /// arguments.
        #[derive(Debug, Subcommand)]
        #[expect(missing_docs, reason = "a comment here would hide that of the arguments from the help")]
        pub enum Command {
            // Boxed: some have many options, and one is run once.
            $($command(Box<$module::$arguments>),)*
        }

        impl Command {
            fn run(&self, terminal: &mut Terminal) -> Result<Exit, failure::Failure> {
                match self {
                    $(Self::$command(arguments) => $module::run(arguments, terminal),)*
                }
            }
        }
    };
}

commands! {
    Begin(begin::BeginArguments),
    Survey(survey::SurveyArguments),
    Tape(tape::TapeArguments),
    Fit(fit::FitArguments),
    Coil(coil::CoilArguments),
    Figures(figures::FiguresArguments),
    Check(check::CheckArguments),
    Write(write::WriteArguments),
    Read(read::ReadArguments),
    Export(export::ExportArguments),
    Bench(bench::BenchArguments),
    Light(light::LightArguments),
    Trials(trials::TrialsArguments),
    Report(report::ReportArguments),
    Serial(serial::SerialArguments),
}

/// The command line as it is parsed, with the table of steps in its help.
pub fn command() -> clap::Command {
    job::STEPS.iter().fold(Cli::command().term_width(columns()), |command, step| {
        command.mut_subcommand(step.command, |command| {
            let at_length = command.get_long_about().or(command.get_about()).cloned().unwrap_or_default();
            let usage = format!("{} [OPTIONS]", step.typed());
            command
                .about(step.line)
                .long_about(at_length)
                .override_usage(job::folded_usage(&usage))
                .after_help(step.examples_in_words())
        })
    })
}

/// Reads the command line of this process; ends it with the help or with what is wrong where that was asked or is due.
pub fn parse() -> Cli {
    let parsed =
        within(columns_of_terminal(), command).try_get_matches().and_then(|matches| Cli::from_arg_matches(&matches));
    parsed.unwrap_or_else(|error| {
        let said = shown(&error.to_string());
        let told = within(columns_of_terminal(), || folded(&said));
        if !error.use_stderr() || told == error.to_string() {
            error.exit();
        }
        // Where not even this can be written, the exit status still says it.
        let _ = std::io::stderr().write_all(told.as_bytes());
        std::process::exit(i32::from(Exit::WrongInput as u8));
    })
}

/// Runs what was asked for, and tells what went wrong. All that goes to a person goes through [`ShownTo`]; an export is bytes
/// for programs, and makes its own texts fit to be shown.
pub fn run(cli: &Cli, terminal: &mut Terminal) -> Exit {
    within(terminal.columns, || run_here(cli, terminal))
}

fn run_here(cli: &Cli, terminal: &mut Terminal) -> Exit {
    let (colour_out, colour_err) = (terminal.colour_out, terminal.colour_err);
    let mut shown_out;
    let out: &mut dyn Write = if matches!(cli.command, Some(Command::Export(_))) {
        &mut *terminal.out
    } else {
        shown_out = ShownTo::new(&mut *terminal.out, colour_out);
        &mut shown_out
    };
    let mut shown_err = ShownTo::new(&mut *terminal.err, colour_err);
    let terminal = &mut Terminal {
        input: &mut *terminal.input,
        out,
        err: &mut shown_err,
        can_ask: terminal.can_ask,
        err_is_terminal: terminal.err_is_terminal,
        colour_out,
        colour_err,
        columns: terminal.columns,
    };
    let outcome = match &cli.command {
        None => steps::run(std::path::Path::new("."), terminal),
        Some(command) => command.run(terminal),
    };
    outcome.unwrap_or_else(|failure| terminal.tell(&failure))
}

#[cfg(test)]
pub(crate) mod tests;
