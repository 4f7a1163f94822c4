//! What a trace leaves open: test points that are not in it, and stretches that are at none.

use super::{Coverage, TracedDepression};
use crate::proof::plan::TestPoint;
use crate::record::bench::{BenchResult, Direction};
use crate::record::verdict::Verdict;
use crate::words::number::whole;

/// What no trace proves.
const NOT_PROVEN_TRACED: &str = "a trace proves what was driven while it was recorded: nothing is said of cranking, of ramps, of a lost \
                                 pulse and of a false one";
/// Test points that one sentence names.
const NAMED: usize = 8;

impl Coverage {
    /// Tells in a result what the trace left open. A trace that lacks test points of its own depression, or has none at all, does
    /// not pass.
    pub fn tell(&self, depression: TracedDepression, result: &mut BenchResult) {
        let (lacking, sentences) = said(self, depression);
        result.not_proven.extend(sentences);
        if (lacking > 0 || result.test_points.is_empty()) && result.verdict == Verdict::Pass {
            result.verdict = Verdict::Undecided;
        }
    }
}

/// What the trace leaves open, in sentences, and how many test points of its own depressions it lacks.
fn said(coverage: &Coverage, depression: TracedDepression) -> (usize, Vec<String>) {
    let mut sentences = vec![NOT_PROVEN_TRACED.to_owned()];
    let (own, other): (Vec<&TestPoint>, Vec<&TestPoint>) =
        coverage.not_covered.iter().partition(|point| match depression {
            TracedDepression::Constant(kpa) => (kpa - point.depression_kpa).abs() <= 0.5,
            TracedDepression::AsPlanned => true,
        });
    if !own.is_empty() {
        sentences.push(format!("{} test points of the plan are not in the trace: {}", own.len(), listed(&own)));
    }
    if !other.is_empty() {
        sentences.push(format!(
            "{} test points of the plan lie at other depressions than the trace's: record a trace at each, and judge each with its \
             `--depression`",
            other.len()
        ));
    }
    if coverage.elsewhere_count > 0 {
        let speeds: Vec<String> = coverage.elsewhere.iter().map(|rpm| whole(*rpm)).collect();
        let more = if coverage.elsewhere_count > speeds.len() { " and others" } else { "" };
        sentences.push(format!(
            "{} stretches of steady speed lie at no test point that was left, and were not judged: {}{more} crank rpm",
            coverage.elsewhere_count,
            speeds.join(", ")
        ));
    }
    if coverage.unsteady > 0 {
        let unsteady = coverage.unsteady;
        sentences.push(format!("{unsteady} pieces of a stretch were not steady enough, and were not judged"));
    }
    (own.len(), sentences)
}

fn listed(points: &[&TestPoint]) -> String {
    let named = points.iter().take(NAMED).map(|point| {
        let way = match point.direction {
            Direction::Rising => "rising",
            Direction::Falling => "falling",
        };
        format!("{} crank rpm {way} at {:.1} kPa depression", whole(point.speed_crank_rpm), point.depression_kpa)
    });
    let named: Vec<String> = named.collect();
    let rest = points.len().saturating_sub(NAMED);
    if rest > 0 { format!("{} and {rest} more", named.join(", ")) } else { named.join(", ") }
}
