//! `bobweight serial`: the serial ports of this machine.

use super::exit::Exit;
use super::failure::Failure;
use super::terminal::Terminal;
use crate::link::serial;
use crate::page;
use clap::Args;

/// List the serial ports, with what is known of each. None is opened, since many boards reset when their port is.
#[derive(Args, Debug)]
pub struct SerialArguments {}

/// Runs the command.
///
/// # Errors
/// The system does not tell its serial ports.
pub fn run(_: &SerialArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let ports = serial::ports()
        .map_err(|error| Failure { exit: Exit::LinkFailed, report: Some(miette::Report::msg(error)) })?;
    write!(terminal.out, "{}", crate::words::wrap::folded(&page::ports::render(&ports)))?;
    Ok(if ports.is_empty() { Exit::Fail } else { Exit::Pass })
}
