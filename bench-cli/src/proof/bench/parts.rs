//! The verdict on a run, from the verdicts on its parts.

use crate::record::bench::{BenchResult, DrivenBy};
use crate::record::verdict::Verdict;

impl BenchResult {
    /// The best verdict that the parts of this result allow: one part that failed fails all, one that is undecided leaves all
    /// undecided, and so does a plan that was not driven to its end. What is told by the sparks of all parts together can only
    /// be worse.
    pub fn verdict_of_parts(&self) -> Verdict {
        let points = self.test_points.iter().map(|point| point.verdict);
        let cranking = self.cranking.iter().map(|cranking| cranking.verdict);
        let ramps = self.ramps.iter().map(|ramp| ramp.verdict);
        let disturbed = self.disturbed_pulses.iter().map(|disturbed| disturbed.verdict);
        // Every pulse of a trace stands in the place of its test points' own sparks, which are among them.
        let sparks = match (&self.every_pulse, &self.single_sparks) {
            (Some(every), _) => Some(every.verdict),
            (None, single) => single.as_ref().map(|single| single.verdict),
        };
        let verdict = Verdict::of_all(points.chain(cranking).chain(ramps).chain(disturbed).chain(sparks));
        // A trace may be of one depression out of three: what it lacks is said, and no part of it.
        let not_driven =
            self.settings.driven_by != DrivenBy::Trace && self.test_points.len() < self.counts.planned_test_points;
        match verdict {
            _ if !self.limits.kept => Verdict::Fail,
            Verdict::Pass if self.broken_off.is_some() || not_driven => Verdict::Undecided,
            verdict => verdict,
        }
    }
}
