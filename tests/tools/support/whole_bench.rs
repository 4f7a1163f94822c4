//! The whole built-in bench on the demo's sheet: wire bytes, stimulator, an ignition, measuring and verdict.

use std::io::{Read, Write};
use std::path::Path;

use bobweight_tool::interrupt::Interrupt;
use bobweight_tool::link::Link;
use bobweight_tool::proof::{Bench, Measurements, Watcher};
use bobweight_tool::proof::{CoreIgnition, IgnitionUnderTest, ImperfectIgnition, Imperfections, SimulatedBench};
use bobweight_tool::record::bench::{BenchResult, TestPointResult};
use bobweight_tool::sheet::{self, Settings, Sheet};

use crate::plain::voltage;

/// The battery of these runs.
pub const VOLTS: f64 = 13.0;

/// The demo engine. Its figures are invented; only what the bench makes of them is tested.
pub struct Demo {
    sheet: Sheet,
    /// The core's objects of its sheet.
    pub settings: Settings,
}

struct Nobody;

impl Watcher for Nobody {
    fn step(&mut self, _: usize, _: usize) {}
    fn test_point(&mut self, _: &TestPointResult) {}
}

impl Demo {
    /// Reads the demo's sheet.
    pub fn read() -> Self {
        Self::changed(|text| text)
    }

    /// Reads the demo's sheet with its text changed.
    pub fn changed(change: impl FnOnce(String) -> String) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../bench-cli/demo/fire-float.toml");
        let text = change(std::fs::read_to_string(path).unwrap());
        let sheet = sheet::parse("demo.toml", &text).unwrap();
        let settings = Settings::from_sheet(&sheet).unwrap();
        Self { sheet, settings }
    }

    /// The demo with a reluctor behind a conditioner in the place of its vane, and its text changed then. A spark that is timed a whole
    /// pulse before it comes is later on a ramp.
    pub fn reluctor(change: impl FnOnce(String) -> String) -> Self {
        let made = [
            ("kind = \"vane\"", "kind = \"coil\""),
            ("\nangle = \"60 crank degrees BTDC\"", "\nangle = \"8 crank degrees BTDC\""),
            (
                "second_flank_angle = \"8 crank degrees BTDC\"",
                "moving_flank = [\"18 crank degrees BTDC\", \"13 crank degrees BTDC\"]\nsignal_from = \"40 crank rpm\"",
            ),
            ("bench_ramp = \"5 crank degrees\"", "bench_ramp = \"16 crank degrees\""),
        ];
        Self::changed(|text| {
            change(made.iter().fold(text, |text, (from, to)| {
                assert!(text.contains(from), "the demo does not have {from}");
                text.replacen(from, to, 1)
            }))
        })
    }

    /// Drives an ignition through the whole plan of the sheet.
    pub fn run(&self, ignition: impl IgnitionUnderTest, imperfections: Imperfections, seed: u64) -> BenchResult {
        let bench = SimulatedBench::new(ignition, imperfections, seed);
        self.run_link(bench.with_pickup(&self.settings.pickup, 4_600.0).link().unwrap())
    }

    /// Drives whatever hangs on a stimulator through the whole plan of the sheet.
    pub fn run_link(&self, link: Link<impl Read + Write>) -> BenchResult {
        let dwell = f64::from(self.settings.dwell.settings().curve.at(voltage(VOLTS)).bits()) * 1e-9;
        let bench = Bench::new(&self.sheet, &self.settings, [dwell; 2]).unwrap();
        let setting = bench.setting(&link).unwrap();
        let mut measurements = Measurements::default();
        bench.drive(link, &setting, &mut measurements, &mut Nobody, &Interrupt::default()).unwrap();
        let mut result = BenchResult::not_driven("demo");
        bench.judge(measurements, &setting, &mut result);
        result
    }

    /// Drives the core's ignition made from another sheet's settings, with imperfections, through the plan of this sheet.
    pub fn run_other(&self, ignition: &Settings, imperfections: Imperfections, seed: u64) -> BenchResult {
        let imperfect = ImperfectIgnition::new(&ignition.model, &ignition.pickup, &imperfections).unwrap();
        let table = imperfect.timetable(&ignition.dwell, &ignition.firmware).unwrap();
        self.run(CoreIgnition::new(&table, ignition.firmware, voltage(VOLTS)), imperfections, seed)
    }

    /// As [`run_other`](Self::run_other) with the sheet's own settings, the ignition inside something that stands between.
    pub fn run_wrapped<'s, W: IgnitionUnderTest>(
        &'s self,
        wrap: impl FnOnce(CoreIgnition<'s>) -> W,
        imperfections: Imperfections,
        seed: u64,
    ) -> BenchResult {
        let settings = &self.settings;
        self.run(wrap(CoreIgnition::new(&settings.timetable, settings.firmware, voltage(VOLTS))), imperfections, seed)
    }
}
