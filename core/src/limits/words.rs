//! Limits and their judgements in words, for people.

use super::{Corner, Judgement, Limit};
use crate::quantity::{Advance, Decimal};
use core::fmt;

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, word) in self.key().split('_').enumerate() {
            f.write_str(if place == 0 { "" } else { " " })?;
            f.write_str(word)?;
        }
        Ok(())
    }
}

impl fmt::Display for Judgement {
    /// Where the worst corner lies, its sum, the limit, and what the sum is made of.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { limit, allowed, worst, .. } = self;
        let allowed = Decimal { steps: i64::from(allowed.bits()), step: Advance::STEP };
        let end = if matches!(limit, Limit::Least) { "least" } else { "most" };
        match (worst, limit) {
            (_, Limit::GreatestCranking) => {
                write!(f, "while cranking the advance is {}, limit {allowed}: the cranking advance alone", worst.sum)
            }
            (Corner { running: false, .. }, _) => {
                write!(f, "while held the advance is {}, limit {allowed}: the held advance alone", worst.sum)
            }
            (Corner { speed, depression: None, sum, .. }, _) => {
                write!(f, "at {speed} without vacuum the sum is {sum}, limit {allowed}: centrifugal at {end}")?;
                trimmed(f, worst)
            }
            (Corner { speed, depression: Some(depression), sum, .. }, _) => {
                let vacuum = match limit {
                    Limit::GreatestWithoutVacuum => "what the vacuum curve gives at full throttle",
                    Limit::Least => "vacuum at least",
                    _ => "vacuum at full",
                };
                write!(
                    f,
                    "at {speed} and {depression} the sum is {sum}, limit {allowed}: {vacuum} plus centrifugal at {end}"
                )?;
                trimmed(f, worst)
            }
        }
    }
}

/// The trim at a corner, where there is one.
fn trimmed(f: &mut fmt::Formatter<'_>, worst: &Corner) -> fmt::Result {
    if worst.trim.bits() == 0 { Ok(()) } else { write!(f, ", trimmed by {}", worst.trim) }
}

#[cfg(test)]
mod tests {
    use crate::quantity::{Advance, AdvanceRate, CrankSpeed, Depression};
    use crate::{
        AdvanceModel, AdvanceSettings, CentrifugalCurve, Limits, PhaseSpeeds, Vacuum, VacuumCurve, VacuumSource, must,
    };
    extern crate std;
    use std::string::ToString;

    const fn degrees(tenths: i32) -> Advance {
        must!(Advance::from_bits(tenths * Advance::STEP as i32 / 10))
    }
    const fn rpm(rpm: u32) -> CrankSpeed {
        must!(CrankSpeed::from_bits(rpm * CrankSpeed::STEP))
    }
    const fn kpa(kpa: u32) -> Depression {
        must!(Depression::from_bits(kpa * Depression::STEP))
    }

    const SETTINGS: AdvanceSettings = AdvanceSettings {
        initial: degrees(100),
        cranking: degrees(50),
        held: degrees(100),
        centrifugal: must!(CentrifugalCurve::new(&[(rpm(900), degrees(0)), (rpm(3120), degrees(240))])),
        vacuum: Some(Vacuum {
            curve: must!(VacuumCurve::new(&[(kpa(17), degrees(0)), (kpa(41), degrees(181))])),
            source: VacuumSource::Manifold,
            greatest_rate: must!(AdvanceRate::from_bits(30 * AdvanceRate::STEP as i32)),
        }),
        limits: Limits {
            greatest: degrees(500),
            greatest_without_vacuum: degrees(340),
            greatest_cranking: degrees(100),
            least: degrees(0),
        },
        speeds: PhaseSpeeds {
            cranking_below: rpm(400),
            running_from: rpm(450),
            no_spark_above: rpm(5000),
            spark_again_below: rpm(4900),
        },
    };

    #[test]
    fn each_limit_says_where_its_sum_is_worst_and_of_what_it_is_made() {
        let said = must!(AdvanceModel::new(SETTINGS)).judge().0.map(|judgement| judgement.to_string());
        assert_eq!(
            said,
            [
                "at 3 120 crank rpm and 41 kPa depression the sum is 52.1 crank degrees, limit 50: vacuum at full plus \
                 centrifugal at most",
                "at 3 120 crank rpm without vacuum the sum is 34 crank degrees, limit 34: centrifugal at most",
                "while cranking the advance is 5 crank degrees, limit 10: the cranking advance alone",
                "at 900 crank rpm without vacuum the sum is 10 crank degrees, limit 0: centrifugal at least",
            ]
        );
    }

    #[test]
    fn a_vacuum_curve_that_gives_something_at_no_depression_counts_at_full_throttle() {
        let curve = must!(VacuumCurve::new(&[(kpa(0), degrees(30)), (kpa(41), degrees(181))]));
        let vacuum = Some(Vacuum { curve, ..SETTINGS.vacuum.unwrap() });
        let held = degrees(-50);
        let judgements = must!(AdvanceModel::new(AdvanceSettings { held, vacuum, ..SETTINGS })).judge();
        assert_eq!(
            judgements.0[1].to_string(),
            "at 3 120 crank rpm and 0 kPa depression the sum is 37 crank degrees, limit 34: what the vacuum curve gives at \
             full throttle plus centrifugal at most"
        );
        assert!(!judgements.0[1].holds());
        assert_eq!(
            judgements.0[3].to_string(),
            "while held the advance is -5 crank degrees, limit 0: the held advance alone"
        );
    }
}
