use super::*;
use crate::proof::measure::{PointStatistics, PulseStatistics, Summary};
use crate::proof::verdict::{
    Conditions, Decision, JudgedPoint, MeasuredPoint, NOT_PROVEN, Setting, SingleSparks, judge_run,
};
use crate::record::bench::*;
use crate::record::check::LimitsOutcome;
use crate::record::sheet::SheetIdentity;
use crate::record::verdict::Verdict;

fn setting() -> Setting {
    Setting {
        pulses_in_two_turns: 4,
        delay_at_no_advance: 52.0,
        flank_distance: None,
        centrifugal: vec![[1000.0, 0.0], [2000.0, 10.0]],
        vacuum: vec![[17.0, 0.0], [41.0, 10.0]],
        tick_bench_s: 0.5e-6,
        tick_ignition_s: 0.5e-6,
        clock_tolerance: 1e-4,
        vacuum_step_kpa: 0.05,
        tolerance: 0.5,
        tolerance_ramp: 2.0,
    }
}

/// A run of a made-up box with this lag.
pub(crate) fn result(lag_us: f64) -> BenchResult {
    let setting = setting();
    let mut points = Vec::new();
    for direction in [Direction::Rising, Direction::Falling] {
        for (depression_kpa, vacuum_advance) in [(0.0, 0.0), (29.0, 5.0), (41.0, 10.0)] {
            for speed_crank_rpm in [650.0, 1000.0, 1500.0, 2000.0, 3300.0, 4600.0] {
                let conditions = Conditions { speed_crank_rpm, depression_kpa, direction, vacuum_advance };
                // A fixed unevenness in place of scatter.
                let jitter = [-0.04, 0.0, 0.04, -0.02, 0.02][points.len() % 5];
                let error =
                    Summary { count: 13, mean: jitter - 6e-6 * speed_crank_rpm * lag_us, standard_deviation: 0.15 };
                let statistics = PointStatistics {
                    cycle_means: error,
                    spark_scatter: 0.3,
                    pulse_spread: 0.05,
                    pulses: (0..4).map(|in_cycle| PulseStatistics { in_cycle, error }).collect(),
                    wanted: 8.0 + vacuum_advance,
                    pulse_count: 52,
                    missing: 0,
                    extra: 0,
                    dwell: None,
                };
                let mut point = crate::proof::verdict::Judge::new(setting.tolerance, 36, 4).point();
                let bound = setting.bound(&conditions).total();
                let outside = if error.mean.abs() > setting.tolerance + bound { 52 } else { 0 };
                let single = SingleSparks { judged: 52, outside, worst: error.mean };
                let decision = point.look(&error, bound, &single);
                let measured = MeasuredPoint { conditions, statistics };
                points.push(JudgedPoint { measured, decision, single });
            }
        }
    }
    assert!(lag_us > 0.0 || points.iter().all(|point| point.decision == Decision::Pass));
    let run = judge_run(&points, &setting);
    let test_points: Vec<TestPointResult> = points
        .iter()
        .zip(&run.points)
        .map(|(point, verdict)| TestPointResult::new(point, *verdict, &setting))
        .collect();
    BenchResult {
        assumptions: Vec::new(),
        schema: SCHEMA.to_owned(),
        tool_version: "0.1.0".to_owned(),
        sheet: SheetIdentity { name: "a made-up engine".to_owned(), file: "made-up.toml".to_owned(), digest: None },
        curve_source: CurveSource {
            readings_file: None,
            readings_digest: None,
            statements: Vec::new(),
            remarks: Vec::new(),
        },
        limits: LimitsOutcome { kept: true, statements: Vec::new() },
        settings: BenchSettings {
            driven_by: DrivenBy::SerialPort,
            source: "the stimulator at a made-up port".to_owned(),
            seed: None,
            simulate: None,
            pulses_in_two_turns: 4,
            tolerance_crank_degrees: setting.tolerance,
            tolerance_ramp_crank_degrees: setting.tolerance_ramp,
            tick_bench_us: 0.5,
            tick_ignition_us: 0.5,
            clock_tolerance_percent: 0.01,
            vacuum_step_kpa: 0.05,
            vacuum_breakpoints: setting.vacuum.clone(),
            coil: None,
        },
        counts: Counts::of(&test_points, test_points.len()),
        every_pulse: None,
        single_sparks: Some(SingleSparksResult::new(&run.single)),
        test_points,
        regression: run.diagnosis.regression.as_ref().map(RegressionResult::from),
        cranking: Vec::new(),
        ramps: Vec::new(),
        disturbed_pulses: Vec::new(),
        findings: run.findings().iter().map(FindingResult::from).collect(),
        broken_off: None,
        verdict: run.verdict,
        not_proven: vec![NOT_PROVEN.to_owned()],
    }
}

#[test]
fn the_text_says_verdict_cause_and_what_was_not_proven() {
    let failed = render(&result(150.0), Colour::Plain);
    for said in [
        "verdict: FAIL",
        "later with speed: a lag of 150 us",
        "not proven: a bench run proves the box",
        "us later with speed, give or take ",
        "no offset seen (within 0.",
    ] {
        assert!(failed.contains(said), "{said:?} is not in\n{failed}");
    }
    let passed = render(&result(0.0), Colour::Plain);
    assert!(passed.contains("verdict: pass   36 of 36 test points passed, 0 failed, 0 undecided"), "{passed}");
    assert!(passed.contains("no lag seen (within "), "{passed}");
    assert!(!passed.contains("\n- "), "a right box is accused of nothing: {passed}");
    assert!(passed.contains("not proven: a bench run proves the box"), "a pass says what it did not prove");
}

#[test]
fn what_to_do_next_hangs_on_the_verdict_and_on_what_was_benched() {
    let next = |result: &BenchResult| {
        let text = render(result, Colour::Plain);
        let from = text.find("\nnext: ").expect("it is said");
        text[from..].split("\nnot proven").next().unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let mut passed = result(0.0);
    assert!(next(&passed).contains("`bobweight light made-up.toml`"), "{}", next(&passed));
    passed.settings.driven_by = DrivenBy::Simulation;
    assert!(next(&passed).contains("`bobweight bench made-up.toml --serial PATH`"), "{}", next(&passed));
    assert!(!next(&passed).contains("engine"), "a simulation sends nobody to the engine: {}", next(&passed));
    let mut failed = result(150.0);
    assert!(
        next(&failed).contains("keep this box away from the engine: mend what is named above"),
        "{}",
        next(&failed)
    );
    failed.broken_off = Some("the cable is out".to_owned());
    assert!(next(&failed).contains("mend what broke the run off"), "{}", next(&failed));
    failed.limits.kept = false;
    assert!(next(&failed).contains("`bobweight check made-up.toml`"), "{}", next(&failed));
    let undecided = BenchResult { verdict: Verdict::Undecided, ..result(0.0) };
    assert!(
        next(&undecided).contains("keep this box away from the engine: look for what scatters"),
        "{}",
        next(&undecided)
    );
}

#[test]
fn every_row_is_as_wide_as_the_header_and_no_error_has_a_bare_sign() {
    let result = result(150.0);
    let column = header().lines().last().unwrap().find("verdict").unwrap();
    for point in &result.test_points {
        let row = row(point);
        let verdict = &row.trim_end()[column..];
        assert!(["pass", "FAIL", "undecided"].contains(&verdict), "{row}");
        assert!(!row.contains(['+', '-']), "{row}");
    }
    let text = render(&result, Colour::Plain);
    assert!(text.lines().all(|line| line.chars().count() <= 80));
    let bare = |word: &str| word.len() > 1 && word.starts_with(['+', '-']);
    assert!(!text.split_whitespace().any(bare), "{text}");
}

#[test]
fn colour_is_on_the_word_of_the_verdict_alone() {
    let result = result(0.0);
    let (plain, ansi) = (render(&result, Colour::Plain), render(&result, Colour::Ansi));
    assert!(!plain.contains('\u{1b}'));
    assert_eq!(ansi.matches('\u{1b}').count(), 3, "bold, colour and reset around one word");
    assert_eq!(ansi.replace("\u{1b}[1m\u{1b}[32mpass\u{1b}[0m", "pass"), plain);
}
