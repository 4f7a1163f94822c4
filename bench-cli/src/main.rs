//! The command-line tool.

use bobweight_tool::cli::Exit;
use bobweight_tool::cli::on_standard_streams;
use bobweight_tool::cli::{parse, run};
use bobweight_tool::interrupt;

fn main() -> Exit {
    let cli = parse();
    interrupt::heed(Exit::Interrupted as u8);
    on_standard_streams(|terminal| run(&cli, terminal))
}
