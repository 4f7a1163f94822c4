//! What comes with the tool and is made from its own command line: completions for shells and manual pages.
//!
//! `cargo run -p bobweight-tool --example documents -- FOLDER` writes them below FOLDER; `--commands` for FOLDER lists the commands.

use bobweight_tool::cli::command;
use clap_complete::{Shell, generate_to};
use std::io::Error;
use std::path::PathBuf;

fn main() -> Result<(), Error> {
    let folder = PathBuf::from(std::env::args_os().nth(1).ok_or_else(|| Error::other("name a folder"))?);
    if folder.as_os_str() == "--commands" {
        let mut command = command();
        command.build();
        command.get_subcommands().for_each(|command| println!("{}", command.get_name()));
        return Ok(());
    }
    let completions = folder.join("completions");
    std::fs::create_dir_all(&completions)?;
    for shell in [Shell::Bash, Shell::Zsh, Shell::Fish, Shell::PowerShell] {
        generate_to(shell, &mut command(), "bobweight", &completions)?;
    }
    let manual = folder.join("man");
    std::fs::create_dir_all(&manual)?;
    clap_mangen::generate_to(command(), manual)
}
