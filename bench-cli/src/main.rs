//! The command-line tool.

use bobweight_bench::cli::Exit;
use bobweight_bench::cli::on_standard_streams;
use bobweight_bench::cli::{parse, run};
use bobweight_bench::interrupt;

fn main() -> Exit {
    let cli = parse();
    interrupt::heed(Exit::Interrupted as u8);
    on_standard_streams(|terminal| run(&cli, terminal))
}
