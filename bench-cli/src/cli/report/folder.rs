//! `bobweight report FOLDER`: the engine's file.

use super::{ReportArguments, no_page};
use crate::cli::cautions::CAUTIONS;
use crate::cli::exit::Exit;
use crate::cli::failure::Failure;
use crate::cli::out_file::{Holds, refuse_loss, write_whole};
use crate::cli::terminal::Terminal;
use crate::page::report::{EngineFacts, render_folder};
use crate::proof::first_start::first_start;
use crate::saved::folder::{FolderOrSheet, read_folder};
use crate::sheet;

/// Runs the command.
///
/// # Errors
/// What is no folder, or stands beside one; a folder that no file can be made of; a page that cannot be written.
pub(super) fn run(arguments: &ReportArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let [folder] = arguments.results.as_slice() else {
        return Err(no_page(
            "a folder stands alone: its results are found in it".to_owned(),
            "name the folder, or the results, and not both",
        ));
    };
    if !folder.is_dir() {
        let what = format!("{}: --sheet says which sheet of a folder, and this is none", folder.display());
        return Err(no_page(what, "name a folder, or leave --sheet out"));
    }
    refuse_loss(&arguments.out, &[], Holds::Page)?;
    let found = read_folder(folder, arguments.sheet.as_deref()).map_err(|error| match error {
        FolderOrSheet::Folder(error) => Failure::new(Exit::WrongInput, error),
        FolderOrSheet::Sheet(error) => Failure::from(error),
    })?;
    let card = match (&found.sheet, arguments.card) {
        (Some(sheet), true) => Some((sheet::model(sheet)?, first_start(sheet)?)),
        (None, true) => {
            return Err(no_page(
                "the card needs a sheet, and there is none in the folder".to_owned(),
                "leave --card out",
            ));
        }
        _ => None,
    };
    let facts = found
        .sheet
        .as_ref()
        .map(|sheet| EngineFacts { sheet, card: card.as_ref().map(|(model, start)| (model, start.clone())) });
    let cautions: Vec<&str> = CAUTIONS.iter().map(|(_, caution)| *caution).collect();
    write_whole(&arguments.out, render_folder(&found, facts.as_ref(), &cautions).as_bytes())?;
    let written = format!("Written: {}. Open it in a browser, and print it from there.", arguments.out.display());
    terminal.tell_result("", &written)?;
    for result in &found.results {
        if let Some(why) = &result.past {
            terminal.say("", &format!("{} is of another state and not shown: {why}", result.file))?;
        }
    }
    for (name, why) in &found.refused {
        terminal.say("", &format!("{name} counts for nothing: {why}"))?;
    }
    terminal.out.flush()?;
    Ok(Exit::Pass)
}

#[cfg(test)]
mod tests;
