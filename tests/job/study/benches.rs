//! Bench runs: which cause is named, and how wide U is and how often it holds.

use crate::bench_model::{Bench, CENTRIFUGAL, Errors, setting};
use crate::table::{percent, print, width};
use crate::{seeds, truths};
use bobweight_tests::seeds::Tally;
use bobweight_tool::proof::{Diagnosis, Estimate, Setting, diagnose};
use bobweight_tool::record::bench::{Direction, FindingKind};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// What is planted, each of at least three times the U that is stated of it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Plant {
    Offset,
    Lag,
    UpDown,
    VacuumShortfall,
    Clock,
    SpeedAxis,
    SensorZero,
    SensorGain,
    Breakpoint,
}

const PLANTS: [Plant; 9] = [
    Plant::Offset,
    Plant::Lag,
    Plant::UpDown,
    Plant::VacuumShortfall,
    Plant::Clock,
    Plant::SpeedAxis,
    Plant::SensorZero,
    Plant::SensorGain,
    Plant::Breakpoint,
];

impl Plant {
    fn kind(self) -> FindingKind {
        match self {
            Self::Offset => FindingKind::Offset,
            Self::Lag => FindingKind::Lag,
            Self::UpDown => FindingKind::UpDown,
            Self::VacuumShortfall => FindingKind::VacuumShortfall,
            Self::Clock => FindingKind::Clock,
            Self::SpeedAxis => FindingKind::SpeedAxis,
            Self::SensorZero => FindingKind::SensorZero,
            Self::SensorGain => FindingKind::SensorGain,
            Self::Breakpoint => FindingKind::Breakpoint,
        }
    }

    /// So much of it, in its own unit, beside what is there.
    fn add(self, errors: &mut Errors, size: f64, breakpoint: usize) {
        match self {
            Self::Offset => errors.offset += size,
            Self::Lag => errors.lag_us += size,
            Self::UpDown => errors.up_down += size,
            Self::VacuumShortfall => errors.vacuum_shortfall += size,
            Self::Clock => errors.delay += size / 100.0,
            Self::SpeedAxis => errors.clock += size / 100.0,
            Self::SensorZero => errors.sensor_zero += size,
            Self::SensorGain => errors.sensor_gain += size / 100.0,
            Self::Breakpoint => errors.breakpoint = Some((breakpoint, size)),
        }
    }

    /// So much that nobody overlooks it.
    fn much(self) -> f64 {
        match self {
            Self::Lag => 200.0,
            Self::SensorGain => 20.0,
            Self::SensorZero => 6.0,
            Self::Clock | Self::SpeedAxis => 5.0,
            Self::Offset | Self::UpDown | Self::VacuumShortfall | Self::Breakpoint => 2.0,
        }
    }

    fn estimate(self, found: &Diagnosis) -> Option<&Estimate> {
        let regression = found.regression.as_ref()?;
        match self {
            Self::Offset => regression.offset.as_ref(),
            Self::Lag => regression.lag_us.as_ref(),
            Self::UpDown => regression.up_down.as_ref(),
            Self::VacuumShortfall => regression.vacuum_shortfall.as_ref(),
            _ => regression.further.first()?.as_ref(),
        }
    }

    /// The U that is stated of it where nothing else is wrong, on either side; with what the bench itself allows.
    fn stated(self, setting: &Setting, scatter: f64, breakpoint: usize) -> [f64; 2] {
        [-1.0, 1.0].map(|side| {
            let mut errors = Errors { scatter, core: 0.02, ..Errors::default() };
            self.add(&mut errors, side * self.much(), breakpoint);
            let found = diagnose(&Bench::new(1, setting, errors).first_look(), setting);
            let u =
                self.estimate(&found).unwrap_or_else(|| panic!("{self:?}: {:?}", found.findings)).expanded_uncertainty;
            // At one depression on the slope, 29 kPa, a gain shows as a zero, and is stated in kilopascals.
            let as_zero =
                self == Self::SensorGain && found.findings.iter().any(|one| one.kind == FindingKind::SensorZero);
            if as_zero { 100.0 * u / 29.0 } else { u }
        })
    }

    /// What the bench allows of it, which is no fault.
    fn allowed(self, setting: &Setting) -> f64 {
        match self {
            Self::SpeedAxis => 100.0 * setting.clock_tolerance,
            Self::SensorZero => setting.vacuum_step_kpa,
            Self::SensorGain => 100.0 * setting.vacuum_step_kpa / 41.0,
            _ => 0.0,
        }
    }
}

#[derive(Default)]
struct Row {
    named: Tally,
    alone: Tally,
    wrongly: Tally,
    accused: Tally,
    held: Tally,
    offset_held: Tally,
    widths: Vec<f64>,
    statistical: Vec<f64>,
}

impl Row {
    fn count(&mut self, found: &Diagnosis, planted: &[(Plant, f64)]) {
        let kinds: Vec<FindingKind> = planted.iter().map(|(plant, _)| plant.kind()).collect();
        for kind in &kinds {
            self.named.count(found.findings.iter().any(|finding| finding.kind == *kind || finding.or.contains(kind)));
            self.alone.count(found.findings.iter().any(|finding| finding.kind == *kind && finding.or.is_empty()));
        }
        // A name is wrong where neither it nor what it may be as well is in the truth.
        let wrong = found.findings.iter().any(|finding| {
            finding.kind != FindingKind::TestPoints
                && !kinds.contains(&finding.kind)
                && !finding.or.iter().any(|other| kinds.contains(other))
        });
        if wrong && std::env::var("BOBWEIGHT_STUDY_SHOW").is_ok() {
            println!("{planted:?}: {:?}", found.findings);
        }
        self.wrongly.count(wrong);
        self.accused.count(!found.findings.is_empty());
        let Some(regression) = &found.regression else { return };
        let truth = |of: Plant| planted.iter().find(|(plant, _)| *plant == of).map_or(0.0, |(_, size)| *size);
        if let Some(offset) = &regression.offset {
            self.offset_held.count((offset.value - truth(Plant::Offset)).abs() <= offset.expanded_uncertainty);
            self.statistical.push(offset.statistical);
        }
        if let [(plant, size)] = planted
            && found.findings.iter().any(|finding| finding.kind == plant.kind())
            && let Some(estimate) = plant.estimate(found)
        {
            self.held.count((estimate.value - size).abs() <= estimate.expanded_uncertainty);
            self.widths.push(estimate.expanded_uncertainty);
        }
    }

    fn cells(&self, name: &str) -> Vec<String> {
        vec![
            name.to_owned(),
            self.wrongly.of.to_string(),
            percent(self.named),
            percent(self.alone),
            percent(self.wrongly),
            percent(self.held),
            width(&self.widths, 3),
            percent(self.offset_held),
            width(&self.statistical, 4),
        ]
    }
}

const HEADS: [&str; 9] = [
    "class",
    "runs",
    "named %",
    "by one name %",
    "wrongly %",
    "held by U %",
    "median U",
    "offset held by U %",
    "U of it by scatter",
];

/// Sizes from three to ten times U, on either side.
fn size(plant: Plant, stated: [f64; 2], setting: &Setting, rng: &mut ChaCha8Rng) -> f64 {
    let below = rng.random_bool(0.5);
    let size = plant.allowed(setting) + stated[usize::from(!below)] * rng.random_range(3.0..10.0);
    if below { -size } else { size }
}

#[test]
fn benches() {
    let mut rows = vec![HEADS.map(str::to_owned).to_vec()];
    let mut faults = Vec::new();
    let mut add = |name: String, row: &Row, asked: bool| {
        rows.push(row.cells(&name));
        let slack = |share: f64, tally: Tally| 2.0 * (share * (1.0 - share) / f64::from(tally.of.max(1))).sqrt();
        if asked && row.named.of > 0 && row.named.share() < 0.95 - slack(0.95, row.named) {
            faults.push(format!("{name}: named in {} %", percent(row.named)));
        }
        if row.wrongly.share() > 0.01 + slack(0.01, row.wrongly) {
            faults.push(format!("{name}: named wrongly in {} %", percent(row.wrongly)));
        }
        for (what, tally) in [("its", row.held), ("the offset's", row.offset_held)] {
            if asked && tally.of > 0 && tally.share() < 0.93 - slack(0.93, tally) {
                faults.push(format!("{name}: {what} U holds {} %", percent(tally)));
            }
        }
    };
    for (clocks, clock_tolerance) in [("quartz", 100e-6), ("ceramic", 0.005)] {
        let setting = Setting { clock_tolerance, ..setting() };
        let scatter = 0.3;
        let stated = |breakpoint: usize| PLANTS.map(|plant| plant.stated(&setting, scatter, breakpoint));
        let stated: Vec<[[f64; 2]; 9]> = (0..CENTRIFUGAL.len()).map(stated).collect();
        let breakpoint = |seed: u64| usize::try_from(seed).expect("a seed") % CENTRIFUGAL.len();
        let run = |seed: u64, planted: &[(Plant, f64)], more: Errors| {
            let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x77_0000);
            let clock = rng.random_range(-1.0..1.0) * clock_tolerance;
            let mut errors = Errors { scatter, core: 0.02, clock, ..more };
            for (plant, size) in planted {
                if *plant == Plant::SpeedAxis {
                    errors.clock = 0.0;
                }
                plant.add(&mut errors, *size, breakpoint(seed));
            }
            diagnose(&Bench::new(seed, &setting, errors).first_look(), &setting)
        };
        let mut row = Row::default();
        for seed in seeds() {
            row.count(&run(seed, &[], Errors::default()), &[]);
        }
        add(format!("{clocks}: nothing"), &row, true);
        for (at, plant) in PLANTS.into_iter().enumerate() {
            let mut row = Row::default();
            for seed in seeds() {
                let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x33_0000);
                let planted = [(plant, size(plant, stated[breakpoint(seed)][at], &setting, &mut rng))];
                row.count(&run(seed, &planted, Errors::default()), &planted);
            }
            add(format!("{clocks}: {plant:?}"), &row, true);
        }
        let mut row = Row::default();
        for seed in seeds() {
            let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x55_0000);
            let mut all: Vec<usize> = (0..PLANTS.len()).collect();
            all.shuffle(&mut rng);
            let planted = [all[0], all[1]]
                .map(|at| (PLANTS[at], size(PLANTS[at], stated[breakpoint(seed)][at], &setting, &mut rng)));
            row.count(&run(seed, &planted, Errors::default()), &planted);
        }
        add(format!("{clocks}: two of them"), &row, false);
        let mut row = Row::default();
        for seed in seeds() {
            row.count(&run(seed, &[], Errors { bumps: 0.4, ..Errors::default() }), &[]);
        }
        add(format!("{clocks}: no cause known"), &row, false);
    }
    print("bench: one look at 78 test points, sparks scatter by 0.3 crank degrees", &rows);
    println!("{} runs each", truths());
    assert!(faults.is_empty(), "{faults:#?}");
}

/// A trace at one depression, going up alone, has no line for vacuum, and tells 2 crank degrees and 100 us all the same.
#[test]
fn a_trace_at_one_depression_names_offset_and_lag() {
    let setting = setting();
    let mut tally = Tally::default();
    for depression in [0, 1, 2] {
        for seed in seeds().take(60) {
            let errors = Errors { scatter: 0.3, core: 0.02, offset: 2.0, lag_us: 100.0, ..Errors::default() };
            let mut points = Bench::new(seed, &setting, errors).first_look();
            let mut depressions: Vec<f64> = points.iter().map(|point| point.conditions.depression_kpa).collect();
            depressions.sort_by(f64::total_cmp);
            depressions.dedup();
            points.retain(|point| {
                point.conditions.direction == Direction::Rising
                    && point.conditions.depression_kpa.to_bits() == depressions[depression].to_bits()
            });
            let found = diagnose(&points, &setting);
            let has = |kind: FindingKind, size: f64, within: f64| {
                found.findings.iter().any(|finding| finding.kind == kind && (finding.size - size).abs() <= within)
            };
            let both = has(FindingKind::Offset, 2.0, 0.15) && has(FindingKind::Lag, 100.0, 8.0);
            if !both {
                println!("{:?}", found.findings);
            }
            tally.count(both && found.findings.len() == 2);
        }
    }
    tally.at_least("offset and lag at one depression", 0.95);
}
