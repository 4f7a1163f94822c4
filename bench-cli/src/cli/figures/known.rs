//! `bobweight figures` without a sheet: from the numbers that somebody knows.

use super::super::exit::Exit;
use super::super::failure::{Failure, Told};
use super::super::terminal::Terminal;
use crate::curve::known::{Known, KnownCentrifugal, KnownFigures, KnownPlace, KnownVacuum};
use crate::page;
use bobweight::VacuumSource;
use bobweight::quantity::Advance;
use clap::{Args, ValueEnum};

/// What is known without a sheet.
#[derive(Args, Clone, Debug)]
pub struct KnownArguments {
    /// Without a sheet: all of the centrifugal advance and where it is all in, such as "22 crank degrees by 3000 crank rpm" or
    /// "22 crank degrees, 900..3000 crank rpm".
    #[arg(long, value_name = "ADVANCE", value_parser = str::parse::<KnownCentrifugal>, conflicts_with = "sheet", requires = "initial")]
    pub centrifugal: Option<KnownCentrifugal>,
    /// Without a sheet: all of the vacuum advance, such as "12 crank degrees" or "12 crank degrees, 5..12 inHg depression".
    #[arg(long, value_name = "ADVANCE", value_parser = str::parse::<KnownVacuum>, conflicts_with = "sheet", requires = "initial")]
    pub vacuum: Option<KnownVacuum>,
    /// Without a sheet: where the hose goes.
    #[arg(long, value_name = "WHERE", requires = "vacuum")]
    pub vacuum_source: Option<Source>,
    /// Without a sheet: a place to tell of, such as "2500 crank rpm, 15 inHg depression"; any number of them. A speed alone is with the
    /// hose off.
    #[arg(long, value_name = "PLACE", value_parser = str::parse::<KnownPlace>, conflicts_with = "sheet", requires = "initial")]
    pub at: Vec<KnownPlace>,
}

/// Where a hose goes.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Source {
    /// Below the throttle.
    Manifold,
    /// Just above the closed throttle.
    Ported,
}

/// Tells what is known of an ignition, and what that leaves open.
///
/// # Errors
/// Numbers that make no curve, and a total that no initial timing gives.
pub(super) fn run(
    arguments: &KnownArguments,
    initial: Option<Advance>,
    full_throttle: Option<Advance>,
    terminal: &mut Terminal,
) -> Result<Exit, Failure> {
    let wrong = |text: String, help| Failure::new(Exit::WrongInput, Told { text, help: Some(help) });
    let Some(initial) = initial else {
        return Err(wrong("the initial timing is not said".to_owned(), "give it as `--initial \"14 crank degrees\"`"));
    };
    let known = Known {
        initial,
        centrifugal: arguments.centrifugal,
        vacuum: arguments.vacuum,
        source: arguments.vacuum_source.map(|source| match source {
            Source::Manifold => VacuumSource::Manifold,
            Source::Ported => VacuumSource::Ported,
        }),
    };
    let places = if arguments.at.is_empty() { known.places() } else { arguments.at.clone() };
    let figures: Vec<KnownFigures> =
        places.into_iter().map(|place| known.figures(place)).collect::<Result<_, _>>().map_err(|error| {
            wrong(
                format!("no distributor does that: {error}"),
                "look whether speeds and angles are of the crank, and each in its place",
            )
        })?;
    let wanted = full_throttle
        .map(|wanted| known.initial_for(wanted).map(|initial| (wanted, initial)))
        .transpose()
        .map_err(|error| wrong(format!("no initial timing gives that total: {error}"), "ask for another"))?;
    terminal.out.write_all(page::known::render(&known, &figures, wanted).as_bytes())?;
    terminal.out.flush()?;
    Ok(Exit::Pass)
}
