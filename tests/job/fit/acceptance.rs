//! The fit held to invented distributors whose truth is known: do its intervals hold the truth as often as they say,
//! and are they narrow enough to be of use?

use bobweight_tests::invented::{BY_EYE, Reader, Survey};
use bobweight_tests::seeds::{Seeds, Tally};
use bobweight_tool::distributor::{Estimate, FitOptions, FitResult, Misread, VacuumOutcome, fit};

/// Surveys of each kind in the long run.
const SURVEYS: u32 = 200;

/// One parameter over the seeds.
#[derive(Default)]
struct Parameter {
    covered: Tally,
    half_widths: Vec<f64>,
}

impl Parameter {
    fn add(&mut self, estimate: Option<&Estimate>, truth: f64) {
        self.covered.count(estimate.is_some_and(|estimate| estimate.holds(truth)));
        self.half_widths.extend(estimate.map(Estimate::half_width));
    }

    fn median_half_width(&self) -> f64 {
        let mut sorted = self.half_widths.clone();
        sorted.sort_by(f64::total_cmp);
        sorted[sorted.len() / 2]
    }
}

fn fitted(survey: &Survey) -> FitResult {
    fit(&survey.readings, &FitOptions::default()).expect("a whole survey is fitted")
}

/// Judges every parameter of surveys of one kind; gives back how often the number of ramps and the misread were right.
#[track_caller]
fn hose_off(ramps: usize, widest_knots: &[f64]) -> [Tally; 2] {
    let names = ["initial", "knot 1", "knot 2", "knot 3", "level 2", "level 3", "up against down", "scatter"];
    let mut parameters: Vec<Parameter> = names.iter().map(|_| Parameter::default()).collect();
    let (mut ramps_right, mut misread_named) = (Tally::default(), Tally::default());
    for seed in Seeds::of(SURVEYS).iter() {
        let survey = Survey::invent(ramps, &BY_EYE, seed);
        let found = fitted(&survey);
        let truth = &survey.distributor;
        let right = found.ramps == ramps;
        ramps_right.count(right);
        let named = found.misread.filter(Misread::is_named).map(|misread| misread.index);
        misread_named.count(named == survey.misread);
        let knot = |at: usize| found.knots.get(at).filter(|_| right);
        let level = |at: usize| found.levels.get(at).filter(|_| right);
        parameters[0].add(Some(&found.initial), truth.levels[0]);
        for at in 0..=ramps {
            parameters[1 + at].add(knot(at), truth.knots[at]);
        }
        for at in 1..=ramps {
            parameters[3 + at].add(level(at), truth.levels[at]);
        }
        parameters[6].add(Some(&found.up_down), truth.up_down);
        parameters[7].add(Some(&found.scatter), BY_EYE.scatter);
    }
    println!("--- {ramps} ramp(s)");
    let mut pooled = Tally::default();
    for (name, parameter) in names.iter().zip(&parameters).filter(|(_, parameter)| parameter.covered.of > 0) {
        println!(
            "{name}: median half-width {:.2}, covered {:.3}",
            parameter.median_half_width(),
            parameter.covered.share()
        );
        pooled.held += parameter.covered.held;
        pooled.of += parameter.covered.of;
    }
    println!("pooled {:.3}, ramps {:.3}, misread {:.3}", pooled.share(), ramps_right.share(), misread_named.share());
    for (name, parameter) in names.iter().zip(&parameters).filter(|(_, parameter)| parameter.covered.of > 0) {
        parameter.covered.at_least(name, 0.88);
    }
    pooled.at_least("all parameters pooled", 0.92);
    let narrow = |parameter: usize, widest: f64| {
        let width = parameters[parameter].median_half_width();
        assert!(width <= widest, "{}: median half-width {width}, at most {widest}", names[parameter]);
    };
    narrow(0, 0.6);
    narrow(3 + ramps, 0.8);
    for (at, &widest) in widest_knots.iter().enumerate() {
        narrow(1 + at, widest);
    }
    [ramps_right, misread_named]
}

#[test]
fn curves_are_covered_and_narrow_their_ramps_counted_and_misreads_named() {
    let kinds = [hose_off(1, &[85.0, 85.0]), hose_off(2, &[140.0, 220.0, 280.0])];
    let both = |which: usize| kinds[0][which] + kinds[1][which];
    both(0).at_least("number of ramps right, of both kinds", 0.96);
    both(1).at_least("misread named, of both kinds", 0.95);
}

#[test]
fn vacuum_from_ten_readings_is_covered_and_narrow() {
    let reader = Reader { hose_on: 10, ..BY_EYE };
    let mut parameters = [(); 4].map(|()| Parameter::default());
    for seed in Seeds::of(SURVEYS).iter() {
        let survey = Survey::invent(1 + usize::from(seed % 2 == 0), &reader, seed);
        let VacuumOutcome::Fitted(vacuum) = fitted(&survey).vacuum else { panic!("ten readings are enough") };
        let (start, full, greatest) = survey.distributor.vacuum;
        let pairs = [(&vacuum.greatest, greatest), (&vacuum.start, start), (&vacuum.full, full), (&vacuum.rest, 0.0)];
        for (parameter, (estimate, truth)) in parameters.iter_mut().zip(pairs) {
            parameter.add(Some(estimate), truth);
        }
    }
    let names = ["greatest vacuum advance", "vacuum start", "vacuum full", "rest"];
    for (name, parameter) in names.iter().zip(&parameters) {
        println!(
            "{name}: median half-width {:.2}, covered {:.3}",
            parameter.median_half_width(),
            parameter.covered.share()
        );
    }
    for ((name, parameter), widest) in names.iter().zip(&parameters).zip([0.85, 4.5, 4.5]) {
        parameter.covered.at_least(name, 0.86);
        assert!(parameter.median_half_width() <= widest, "{name}");
    }
}
