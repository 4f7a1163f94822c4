//! Benches the demo's ignition, simulated, and writes what a logic analyser on its wires records:
//! `cargo run -p bobweight-tests --example simulated_trace -- TRACE.vcd`.

use bobweight_tests::plain::voltage;
use bobweight_tests::whole_bench::{Demo, VOLTS};
use bobweight_tests::witness::{Witness, dump};
use bobweight_tool::link::Link;
use bobweight_tool::proof::{CoreIgnition, ImperfectIgnition, Imperfections, SimulatedBench};

fn main() {
    let path = std::env::args().nth(1).expect("name the file: simulated_trace TRACE.vcd");
    let demo = Demo::read();
    let imperfections: Imperfections = "lag=150 us, pickup=1.5 crank degrees early".parse().expect("imperfections");
    let settings = &demo.settings;
    let ignition = ImperfectIgnition::new(&settings.model, &settings.pickup, &imperfections).expect("an ignition");
    let table = ignition.timetable(&settings.dwell, &settings.firmware).expect("sparks that can be timed");
    let bench = SimulatedBench::new(CoreIgnition::new(&table, settings.firmware, voltage(VOLTS)), imperfections, 1);
    let (witness, heard) = Witness::of(bench);
    demo.run_link(Link::open(witness, "a witnessed bench").expect("a bench"));
    std::fs::write(path, dump(&heard.borrow())).expect("the trace is written");
}
