//! The command-line tool.

use bobweight_bench::cli::exit::Exit;
use bobweight_bench::cli::terminal::on_standard_streams;
use bobweight_bench::cli::{parse, run};

fn main() -> Exit {
    let cli = parse();
    on_standard_streams(|terminal| run(&cli, terminal))
}
