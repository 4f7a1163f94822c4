//! Single sparks: the tolerance is how far *a spark* may come from where it is wanted, and not only the mean of many.
//!
//! A spark is *outside* where it lies further than tolerance and systematic bound from the wanted angle. Pass needs the exact
//! one-sided 95 % upper bound of the share of sparks outside, of the whole run, to lie below one in 500 (Clopper and Pearson
//! 1934, from memory: a quantile of the beta distribution). Fail needs so many outside that an ignition with one in 500 has
//! them once in a hundred runs at most; a test point alone fails likewise, with that risk shared among all points and looks.

use super::looks::{FAIL_RISK, LOOK_SPARKS};
use crate::proof::measure::{Measured, Spark};
use crate::record::verdict::Verdict;
use statrs::distribution::{Beta, ContinuousCDF};

/// The share of sparks that may come outside: one in 500. This tool's own choice; no source.
pub const GREATEST_SHARE: f64 = 1.0 / 500.0;
/// Confidence of the upper bound that a pass needs.
const CONFIDENCE: f64 = 0.95;

/// Sparks judged one by one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SingleSparks {
    /// How many were judged.
    pub judged: usize,
    /// How many came further than tolerance and bound from where they were wanted.
    pub outside: usize,
    /// The error that is furthest off, crank degrees, early positive; 0 of none.
    pub worst: f64,
}

impl SingleSparks {
    /// Judges each spark, those beyond one a pulse too, against tolerance and bound together, crank degrees.
    pub fn of(measured: &Measured, tolerance_and_bound: f64) -> Self {
        let extra = measured.pulses.iter().flat_map(|pulse| &pulse.extra);
        measured.sparks().chain(extra).map(Spark::error).fold(Self::default(), |all, error| {
            all.and(Self { judged: 1, outside: usize::from(error.abs() > tolerance_and_bound), worst: error })
        })
    }

    /// Both together.
    #[must_use]
    pub fn and(self, further: Self) -> Self {
        Self {
            judged: self.judged + further.judged,
            outside: self.outside + further.outside,
            worst: if further.worst.abs() > self.worst.abs() { further.worst } else { self.worst },
        }
    }

    /// What share of all sparks may be outside at most, with 95 % confidence; 1 where none was judged.
    #[expect(clippy::cast_precision_loss, reason = "counts of sparks")]
    pub fn greatest_share(&self) -> f64 {
        if self.outside >= self.judged {
            return 1.0;
        }
        Beta::new(self.outside as f64 + 1.0, (self.judged - self.outside) as f64)
            .map_or(1.0, |beta| beta.inverse_cdf(CONFIDENCE))
    }

    /// The verdict on the sparks of a whole run.
    pub fn verdict(&self) -> Verdict {
        match () {
            () if self.too_many(FAIL_RISK) => Verdict::Fail,
            () if self.greatest_share() < GREATEST_SHARE => Verdict::Pass,
            () => Verdict::Undecided,
        }
    }

    /// Whether one of so many test points fails by its sparks alone, at one of its looks.
    #[expect(clippy::cast_precision_loss, reason = "counts of test points")]
    pub fn fails_alone(&self, test_points: usize) -> bool {
        self.too_many(FAIL_RISK / (test_points.max(1) * LOOK_SPARKS.len()) as f64)
    }

    /// Whether an ignition with one spark in 500 outside has so many of them with a chance of `risk` at most.
    #[expect(clippy::cast_precision_loss, reason = "counts of sparks")]
    fn too_many(&self, risk: f64) -> bool {
        if self.outside == 0 {
            return false;
        }
        // The chance of k or more among n is the beta distribution of k and n - k + 1 up to the share.
        let (outside, inside) = (self.outside as f64, (self.judged - self.outside) as f64);
        Beta::new(outside, inside + 1.0).is_ok_and(|beta| beta.cdf(GREATEST_SHARE) <= risk)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(outside: usize, judged: usize) -> SingleSparks {
        SingleSparks { judged, outside, worst: 0.0 }
    }

    /// None of n: the bound is `1 - 0.05^(1/n)`, and about 3/n, the rule of three (definition; recomputed here).
    #[test]
    fn none_outside_bounds_the_share_by_the_rule_of_three() {
        let share = of(0, 4368).greatest_share();
        // The library finds its quantile by halving, to some nine places.
        assert!((share - (1.0 - 0.05_f64.powf(1.0 / 4368.0))).abs() < 1e-9, "{share}");
        assert!((1.0 / share - 1458.0).abs() < 1.0, "{}", 1.0 / share);
        assert!((share * 4368.0 - 3.0).abs() < 0.01);
    }

    /// Source: definition of a one-sided confidence bound, with the binomial distribution summed here term by term.
    #[test]
    fn at_the_bound_so_few_outside_have_a_chance_of_5_per_cent() {
        for (k, n) in [(1_u32, 500_u32), (3, 4368), (9, 4368), (40, 17_000)] {
            let p = of(k as usize, n as usize).greatest_share();
            let mut term = (f64::from(n) * (1.0 - p).ln()).exp();
            let mut sum = term;
            for i in 1..=k {
                term *= f64::from(n - i + 1) / f64::from(i) * p / (1.0 - p);
                sum += term;
            }
            assert!((sum - 0.05).abs() < 1e-6, "{k} of {n}: {sum}");
        }
    }

    #[test]
    fn few_pass_many_fail_and_between_nothing_is_said() {
        let verdict = |outside| of(outside, 4368).verdict();
        assert_eq!((verdict(0), verdict(3)), (Verdict::Pass, Verdict::Pass));
        assert_eq!((verdict(4), verdict(16)), (Verdict::Undecided, Verdict::Undecided));
        assert_eq!((verdict(17), verdict(4368)), (Verdict::Fail, Verdict::Fail));
        assert_eq!((of(0, 0).verdict(), of(0, 1000).verdict()), (Verdict::Undecided, Verdict::Undecided));
    }

    #[test]
    fn a_point_fails_alone_only_by_what_none_of_all_points_would_show_by_chance() {
        assert!(
            !of(2, 52).fails_alone(78)
                && !of(2, 52).fails_alone(1)
                && of(4, 52).fails_alone(78)
                && of(3, 52).fails_alone(1)
        );
    }
}
