//! The best timing of trials, its interval, and the scatter of a trial.

use crate::{number, rows};
use bobweight_tool::proof::trials::{estimate, parse};
use std::fmt::Write;

/// Source: `numpy` and `scipy`, which fit the parabola and look for the ends of the interval by trying; no formula is shared.
#[test]
fn the_top_of_trials_is_that_of_numpy_and_its_interval_that_of_scipy() {
    let mut compared = 0;
    for row in rows(include_str!("../reference/vectors/trials.csv")) {
        let [name, measure, trials] = [row[0], row[1], row[2]];
        let [best, low, high, scatter] = [row[3], row[4], row[5], row[6]].map(number);
        let mut text = "# place = full throttle\n# speed = 2000 crank rpm\n# listening = ear\n".to_owned();
        writeln!(text, "series,crank_degrees,{measure},pinking,conditions").expect("a text");
        for trial in trials.split(';') {
            let parts: Vec<&str> = trial.split(':').collect();
            writeln!(text, "{},{},{},no,", parts[0], parts[1], parts[2]).expect("a text");
        }
        let log = parse("trials.csv", text.as_bytes()).expect("a log");
        // Nothing is cut where all that was tried lies above and below the interval.
        let told = estimate(&log, 90.0);
        let found = told.best.expect("a top");
        for (what, got, wanted) in [
            ("best", found.value, best),
            ("low", found.low, low),
            ("high", found.high, high),
            ("scatter", told.scatter_percent.expect("a scatter"), scatter),
        ] {
            assert!((got - wanted).abs() < 1e-6, "{name}, {what}: {got}, NumPy and SciPy {wanted}");
        }
        compared += 1;
    }
    assert_eq!(compared, 4);
}
