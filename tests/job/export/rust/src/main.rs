//! Prints the total advance of an exported curve on a grid, as the exported table has it.
//!
//! The arguments are the grid: `SPEED ... , KPA ...`, in crank rpm and kPa depression.

use bobweight::Phase;
use bobweight::quantity::{CrankSpeed, Depression};

mod engine {
    #![allow(dead_code, reason = "the table needs the model alone; that the rest compiles is a part of the test")]
    include!(concat!(env!("OUT_DIR"), "/engine.rs"));
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (speeds, depressions) = arguments.split_at(arguments.iter().position(|one| one == ",").expect("a comma"));
    let speeds_of = engine::ENGINE.model.settings().speeds;
    for rpm in speeds {
        print!("{rpm}");
        let speed =
            CrankSpeed::from_bits((rpm.parse::<f64>().expect("a speed") * 256.0).round() as u32).expect("a speed");
        let phase = if speed < speeds_of.cranking_below { Phase::Cranking } else { Phase::Running };
        for kpa in &depressions[1..] {
            let steps = (kpa.parse::<f64>().expect("a depression") * 65_536.0).round() as u32;
            let depression = Depression::from_bits(steps).expect("a depression");
            let breakdown = engine::MODEL.advance(phase, speed, Some(depression), false).expect("an advance");
            print!(",{:.3}", f64::from(breakdown.total.bits()) / 65_536.0);
        }
        println!();
    }
}
