//! The verdict on one test point, with guard bands and three looks.
//!
//! Accepting needs the whole interval inside the tolerance, rejecting needs it outside; between them nothing is said
//! (ISO 14253-1 and JCGM 106:2012, from memory). Pass asks 97.7 % one-sided over all looks of one point. Fail asks 99 %
//! over all looks of *all* points, because one failing point fails the run. Student's t, since the scatter is estimated.

use super::looks::{FAIL_RISK, LOOK_SPARKS};
use super::single::SingleSparks;
use crate::proof::measure::{LEAST_CYCLES, Summary};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Sparks of a whole run that was looked at once: with one of so many outside, one in 500 can still be ruled out.
const LEAST_SPARKS: usize = 2400;
/// Chance that a point at its tolerance passes, over all looks: one-sided 2 standard deviations.
const PASS_RISK: f64 = 0.023;

/// What is known of a test point after a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decision {
    /// Within tolerance.
    Pass,
    /// Beyond tolerance.
    Fail,
    /// Neither yet: measure so many further whole cycles, then judge all of them together.
    LookAgain {
        /// Further whole cycles.
        further_cycles: usize,
    },
    /// Neither, after the last look.
    Undecided,
}

/// The rules of one run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judge {
    tolerance: f64,
    test_points: usize,
    pulses_in_two_turns: usize,
}

/// The judgement of one test point as it goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointJudge {
    judge: Judge,
    look: usize,
}

impl Judge {
    /// For a run of so many settled test points; the tolerance in crank degrees.
    pub fn new(tolerance: f64, test_points: usize, pulses_in_two_turns: usize) -> Self {
        Self { tolerance, test_points: test_points.max(1), pulses_in_two_turns: pulses_in_two_turns.max(1) }
    }

    /// Whole cycles that a test point has in all at a look, 0 to 2: at least 12.
    pub fn cycles(&self, look: usize) -> usize {
        let sparks = LOOK_SPARKS[look.min(LOOK_SPARKS.len() - 1)];
        let planned = LOOK_SPARKS[0] * self.test_points;
        let sparks = if planned < LEAST_SPARKS { (sparks * LEAST_SPARKS).div_ceil(planned) } else { sparks };
        sparks.div_ceil(self.pulses_in_two_turns).max(LEAST_CYCLES)
    }

    /// Where the error of a test point lies to the tolerance, by the means of its whole cycles and its systematic bound, both in
    /// crank degrees. Fewer than 12 cycles tell nothing.
    pub fn conformity(&self, cycle_means: &Summary, bound: f64) -> Conformity {
        if cycle_means.count < LEAST_CYCLES {
            return Conformity::Open;
        }
        let factors = Factors::new(cycle_means.count, LOOK_SPARKS.len(), self.test_points);
        factors.conformity(cycle_means.mean, cycle_means.standard_uncertainty(), bound, self.tolerance)
    }

    /// A test point that has not been looked at.
    pub fn point(&self) -> PointJudge {
        PointJudge { judge: *self, look: 0 }
    }
}

impl PointJudge {
    /// Whole cycles that the next look needs in all.
    pub fn cycles(&self) -> usize {
        self.judge.cycles(self.look)
    }

    /// Judges everything measured so far at this point: the means of its whole cycles, its systematic bound, both in crank
    /// degrees, and its single sparks. Fewer than 12 cycles decide nothing. A mean within tolerance beside a spark outside is
    /// looked at again while it can be: more sparks tell how many of them stray.
    pub fn look(&mut self, cycle_means: &Summary, bound: f64, single: &SingleSparks) -> Decision {
        let last = self.look + 1 >= LOOK_SPARKS.len();
        let conformity = if single.fails_alone(self.judge.test_points) {
            Conformity::Beyond
        } else {
            self.judge.conformity(cycle_means, bound)
        };
        match conformity {
            Conformity::Within if single.outside == 0 || last => return Decision::Pass,
            Conformity::Beyond => return Decision::Fail,
            Conformity::Within | Conformity::Open => self.look += 1,
        }
        if self.look >= LOOK_SPARKS.len() {
            return Decision::Undecided;
        }
        Decision::LookAgain { further_cycles: self.cycles().saturating_sub(cycle_means.count).max(1) }
    }
}

/// Where an error lies to its tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Conformity {
    /// The whole interval lies within.
    Within,
    /// The whole interval lies beyond.
    Beyond,
    /// The interval reaches over the tolerance.
    Open,
}

/// Widths of the two guard bands, in standard uncertainties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factors {
    /// For accepting.
    pub pass: f64,
    /// For rejecting.
    pub fail: f64,
}

impl Factors {
    /// `t(1 - 0.023/L; n - 1)` and `t(1 - 0.01/(M L); n - 1)` for n values, L looks and M things judged in the run.
    #[expect(clippy::cast_precision_loss, reason = "counts of cycles and test points")]
    pub fn new(count: usize, looks: usize, judged: usize) -> Self {
        let (looks, judged) = (looks as f64, judged as f64);
        Self {
            pass: student_t(1.0 - PASS_RISK / looks, count),
            fail: student_t(1.0 - FAIL_RISK / (judged * looks), count),
        }
    }

    /// Judges an error with standard uncertainty and systematic bound against a tolerance, all in crank degrees.
    pub fn conformity(&self, error: f64, standard_uncertainty: f64, bound: f64, tolerance: f64) -> Conformity {
        if error.abs() + self.pass * standard_uncertainty + bound <= tolerance {
            Conformity::Within
        } else if error.abs() - self.fail * standard_uncertainty - bound > tolerance {
            Conformity::Beyond
        } else {
            Conformity::Open
        }
    }
}

/// Quantile of Student's t with n - 1 degrees of freedom; infinite for fewer than two values.
#[expect(clippy::cast_precision_loss, reason = "counts of cycles")]
fn student_t(probability: f64, count: usize) -> f64 {
    if count < 2 {
        return f64::INFINITY;
    }
    StudentsT::new(0.0, 1.0, (count - 1) as f64).map_or(f64::INFINITY, |t| t.inverse_cdf(probability))
}

#[cfg(test)]
mod tests {
    use super::*;

    const NONE_OUTSIDE: SingleSparks = SingleSparks { judged: 52, outside: 0, worst: 0.3 };

    fn means(count: usize, mean: f64, standard_deviation: f64) -> Summary {
        Summary { count, mean, standard_deviation }
    }

    #[test]
    fn looks_are_50_200_and_800_sparks_in_whole_cycles_and_never_under_12_cycles() {
        let cycles = |m| [0, 1, 2].map(|look| Judge::new(0.5, 78, m).cycles(look));
        assert_eq!(cycles(1), [50, 200, 800]);
        assert_eq!(cycles(3), [17, 67, 267]);
        assert_eq!(cycles(4), [13, 50, 200]);
        assert_eq!(cycles(12), [12, 17, 67]);
    }

    /// 26 points are the plan's of an engine without vacuum.
    #[test]
    fn a_plan_of_few_points_has_more_sparks_at_each() {
        for points in [1, 13, 26, 48, 78] {
            let judge = Judge::new(0.5, points, 4);
            let sparks = 4 * points * judge.cycles(0);
            let run = SingleSparks { judged: sparks, outside: 1, worst: 1.0 };
            assert_eq!(run.verdict(), crate::record::verdict::Verdict::Pass, "{points}: {sparks}");
            assert!(judge.cycles(0) < judge.cycles(1) && judge.cycles(1) < judge.cycles(2));
        }
    }

    #[test]
    fn an_open_point_is_looked_at_three_times_and_then_undecided() {
        let mut point = Judge::new(0.5, 78, 4).point();
        assert_eq!(point.look(&means(13, 0.5, 0.15), 0.03, &NONE_OUTSIDE), Decision::LookAgain { further_cycles: 37 });
        assert_eq!(point.look(&means(50, 0.5, 0.15), 0.03, &NONE_OUTSIDE), Decision::LookAgain { further_cycles: 150 });
        assert_eq!(point.look(&means(200, 0.5, 0.15), 0.03, &NONE_OUTSIDE), Decision::Undecided);
    }

    #[test]
    fn well_inside_passes_and_well_outside_fails_early_or_late() {
        for sign in [-1.0, 1.0] {
            assert_eq!(
                Judge::new(0.5, 78, 4).point().look(&means(13, sign * 0.1, 0.15), 0.03, &NONE_OUTSIDE),
                Decision::Pass
            );
            assert_eq!(
                Judge::new(0.5, 78, 4).point().look(&means(13, sign * 1.5, 0.15), 0.03, &NONE_OUTSIDE),
                Decision::Fail
            );
        }
    }

    #[test]
    fn a_bound_as_wide_as_the_tolerance_never_passes_and_never_fails_within_it() {
        let mut point = Judge::new(0.5, 78, 4).point();
        assert!(matches!(point.look(&means(13, 0.0, 0.0), 0.6, &NONE_OUTSIDE), Decision::LookAgain { .. }));
        assert!(matches!(point.look(&means(50, 0.9, 0.0), 0.6, &NONE_OUTSIDE), Decision::LookAgain { .. }));
    }

    #[test]
    fn too_few_cycles_decide_nothing() {
        let mut point = Judge::new(0.5, 78, 4).point();
        assert_eq!(point.look(&means(11, 0.0, 0.0), 0.03, &NONE_OUTSIDE), Decision::LookAgain { further_cycles: 39 });
    }

    #[test]
    fn a_right_mean_beside_a_spark_outside_is_looked_at_again_and_then_left_to_the_run() {
        let one = SingleSparks { judged: 52, outside: 1, worst: 10.0 };
        let mut point = Judge::new(0.5, 78, 4).point();
        assert_eq!(point.look(&means(13, 0.0, 0.1), 0.03, &one), Decision::LookAgain { further_cycles: 37 });
        assert_eq!(point.look(&means(50, 0.0, 0.1), 0.03, &one), Decision::LookAgain { further_cycles: 150 });
        assert_eq!(point.look(&means(200, 0.0, 0.1), 0.03, &one), Decision::Pass);
        let many = SingleSparks { judged: 52, outside: 20, worst: 1.4 };
        assert_eq!(Judge::new(0.5, 78, 4).point().look(&means(13, 0.0, 0.1), 0.03, &many), Decision::Fail);
    }
}
