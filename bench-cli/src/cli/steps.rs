//! `bobweight` alone: the steps of the job, which of their files lie in this folder, and the next command.

mod folder;

use super::exit::Exit;
use super::failure::Failure;
use super::terminal::Terminal;
use folder::{Found, look};
use std::path::Path;

/// The steps, in the order of the job.
pub const STEPS: &str = "\
From a worn mechanical distributor to an electronic ignition that is proven:

  1. bobweight survey --out READINGS.csv   leads through measuring the old distributor with a timing light
     bobweight tape --out TAPE.pdf ...     a degree tape for its pulley, at true size
  2. bobweight fit READINGS.csv            a curve with its uncertainty, and a new sheet of your engine
     Answer the questions in the sheet, and choose a curve:
     bobweight fit READINGS.csv --sheet SHEET.toml --choose found
  3. bobweight figures SHEET.toml          what the curve means where the engine is used; rotor and coil
  4. bobweight check SHEET.toml            the curve keeps its limits at every speed and vacuum, or where it does not
  5. bobweight write SHEET.toml --serial PATH
                                           the curve into an ignition; or `bobweight export`, into firmware of your own
  6. bobweight bench SHEET.toml            the ignition follows the curve, or not: a simulated one first, then with
                                           `--serial PATH` or `--trace FILE` the box itself
  7. bobweight figures SHEET.toml --first-start
                                           the page to print and take to the engine
     bobweight light SHEET.toml            the curve is proven there with a timing light, and what to turn
  8. bobweight report RESULT.json --out REPORT.html --card
                                           one page to keep of what `--json RESULT.json` saved, and the engine's card

`bobweight help COMMAND` tells more of each.
";

/// Tells the steps, what lies in a folder, and what to do next.
///
/// # Errors
/// Where it cannot be written.
pub fn run(folder: &Path, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let found = look(folder);
    write!(terminal.out, "{STEPS}\n{}", in_words(&found))?;
    terminal.out.flush()?;
    Ok(Exit::Pass)
}

fn in_words(found: &Found) -> String {
    let readings = found.readings.iter().map(|name| (name, String::from("readings")));
    let sheets = found.sheets.iter().map(|sheet| (&sheet.name, sheet.state()));
    let results = found.results.iter().map(|result| (&result.name, result.state()));
    let mut lines = vec!["In this folder:".to_owned()];
    lines.extend(readings.chain(sheets).chain(results).map(|(name, what)| format!("  {name:<32} {what}")));
    if found.is_empty() {
        lines.push("  no readings, no sheet, no result".to_owned());
    }
    format!("{}\n\nNext: {}\n", lines.join("\n"), found.next())
}

#[cfg(test)]
mod tests;
