//! The command-line tool.

use bobweight_bench::cli::exit::Exit;
use bobweight_bench::cli::terminal::on_standard_streams;
use bobweight_bench::cli::{Cli, run};
use clap::Parser;

fn main() -> Exit {
    let cli = Cli::parse();
    on_standard_streams(|terminal| run(&cli, terminal))
}
