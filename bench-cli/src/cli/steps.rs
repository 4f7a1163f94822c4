//! `bobweight` alone: the steps of the job, which of their files lie in this folder, and the next command.

mod folder;

use super::exit::Exit;
use super::failure::Failure;
use super::job;
use super::terminal::Terminal;
use crate::words::wrap::{folded, paragraph};
use folder::{Found, look};
use std::path::Path;

/// Tells the steps, what lies in a folder, and what to do next.
///
/// # Errors
/// Where it cannot be written.
pub fn run(folder: &Path, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let found = look(folder);
    write!(terminal.out, "{}\n{}", folded(&job::in_words()), folded(&in_words(&found)))?;
    terminal.out.flush()?;
    Ok(Exit::Pass)
}

fn in_words(found: &Found) -> String {
    let readings = found.readings.iter().map(|name| (name, String::from("readings")));
    let sheets = found.sheets.iter().map(|sheet| (&sheet.name, sheet.state()));
    let results = found.results.iter().map(|result| (&result.name, result.state(&found.sheets)));
    let refused = found.refused.iter().map(|(name, why)| (name, format!("a result that counts for nothing: {why}")));
    let mut lines = vec!["In this folder:".to_owned()];
    for (name, what) in readings.chain(sheets).chain(results).chain(refused) {
        let mut line = String::new();
        paragraph(&mut line, &format!("  {name:<28} "), &what);
        lines.push(line.trim_end().to_owned());
    }
    if found.is_empty() {
        lines.push("  no readings, no sheet, no result".to_owned());
    }
    // Each command in a line of its own, to be copied.
    let next = found.next().replace(", and then ", ",\n  and then ");
    format!("{}\n\nNext: {next}\n", lines.join("\n"))
}

#[cfg(test)]
mod tests;
