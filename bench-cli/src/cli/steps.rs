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

  1. Read the old distributor with a timing light, hose off and hose on, and write the readings to a CSV file.
  2. bobweight fit READINGS.csv            a curve with its uncertainty, and a new sheet of your engine
     Answer the questions in the sheet, and choose a curve:
     bobweight fit READINGS.csv --sheet SHEET.toml --choose found
  3. bobweight figures SHEET.toml          what the curve means where the engine is used; rotor and coil
  4. bobweight check SHEET.toml            the curve keeps its limits at every speed and vacuum, or where it does not
  5. bobweight bench SHEET.toml            the ignition's box follows the curve, or not
  6. bobweight figures SHEET.toml --first-start
                                           the page to print and take to the engine

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
    let mut text = String::from("In this folder:\n");
    let mut file = |name: &str, what: &str| text.push_str(&format!("  {name:<32} {what}\n"));
    found.readings.iter().for_each(|name| file(name, "readings"));
    found.sheets.iter().for_each(|sheet| file(&sheet.name, &sheet.state()));
    found.results.iter().for_each(|result| file(&result.name, &result.state()));
    if found.is_empty() {
        text.push_str("  no readings, no sheet, no result\n");
    }
    format!("{text}\nNext: {}\n", found.next())
}

#[cfg(test)]
mod tests;
