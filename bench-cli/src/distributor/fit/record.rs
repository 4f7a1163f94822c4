//! A fit for programs.

use super::{ByMeter, EndOfSurvey, Estimate, Finding, FitResult, Misread, Unsettled, VacuumOutcome};
use crate::distributor::readings::Readings;
use crate::record::fit::{
    ByMeterRecord, CentrifugalRecord, EndRecord, FindingRecord, FitRecord, MisreadRecord, ReadNextRecord, SCHEMA,
    VacuumRecord,
};
use crate::record::interval::Interval;
use crate::record::precision::Precision;

impl FitRecord {
    /// A fit, as it is saved.
    pub fn new(readings: &Readings, fit: &FitResult, findings: &[Finding], questions: Vec<String>, seed: u64) -> Self {
        let [degrees, speed, kpa] = [Precision::CrankDegrees, Precision::CrankRpm, Precision::Kpa].map(interval_to);
        let by_tachometer = |at: usize| fit.by_tachometer.as_ref().map(|by| by_meter(by[at], Precision::CrankRpm));
        let breakpoints = fit.knots.iter().zip(&fit.centrifugal).enumerate();
        Self {
            schema: SCHEMA.to_owned(),
            readings: readings.name.clone(),
            hose_off_readings: readings.hose_off().count(),
            hose_on_readings: readings.hose_on().count(),
            seed,
            initial_crank_degrees: degrees(fit.initial),
            ramps: fit.ramps,
            odds_of_two_ramps: Precision::Ratio.of(fit.odds_of_two_ramps),
            centrifugal: breakpoints
                .map(|(at, (knot, rise))| CentrifugalRecord {
                    crank_rpm: speed(*knot),
                    crank_degrees: degrees(*rise),
                    by_tachometer: by_tachometer(at),
                })
                .collect(),
            vacuum: match &fit.vacuum {
                VacuumOutcome::Fitted(vacuum) => Some(VacuumRecord {
                    start_kpa_depression: kpa(vacuum.start),
                    full_kpa_depression: kpa(vacuum.full),
                    start_by_gauge: vacuum.by_gauge.map(|by| by_meter(by[0], Precision::Kpa)),
                    full_by_gauge: vacuum.by_gauge.map(|by| by_meter(by[1], Precision::Kpa)),
                    greatest_crank_degrees: degrees(vacuum.greatest),
                    misread: vacuum.misread.as_ref().map(MisreadRecord::from),
                }),
                VacuumOutcome::NotRead | VacuumOutcome::TooFew { .. } => None,
            },
            up_down_crank_degrees: degrees(fit.up_down),
            scatter_crank_degrees: degrees(fit.scatter),
            residual_sum_crank_degrees_squared: Precision::CrankDegreesSquared.of(fit.residual_sum),
            misread: fit.misread.as_ref().map(MisreadRecord::from),
            second_misread: fit.second_misread.as_ref().map(MisreadRecord::from),
            sharp_probability: Some(Precision::Probability.of(fit.sharp)),
            read_next: fit
                .wide_corners
                .iter()
                .map(|corner| ReadNextRecord {
                    breakpoint: corner.knot + 1,
                    worth_crank_degrees: Precision::CrankDegrees.of(corner.worth_degrees),
                    crank_rpm: Precision::CrankRpm.of(corner.read_next),
                })
                .collect(),
            moving_at_lowest: EndRecord::from(fit.lowest),
            moving_at_highest: EndRecord::from(fit.highest),
            unsettled: fit
                .unsettled
                .iter()
                .map(|why| match why {
                    Unsettled::Readings(count) => format!("only {count} readings with the hose off"),
                    Unsettled::Scatter(scatter) => format!("readings scatter by {scatter:.2} crank degrees"),
                })
                .collect(),
            findings: findings.iter().map(FindingRecord::from).collect(),
            questions,
        }
    }
}

fn interval_to(precision: Precision) -> impl Fn(Estimate) -> Interval {
    move |estimate| precision.of_interval(estimate.into())
}

fn by_meter(ByMeter { as_shown, within }: ByMeter, precision: Precision) -> ByMeterRecord {
    ByMeterRecord { by_readings: precision.of_interval(as_shown.into()), within: precision.of(within) }
}

impl From<EndOfSurvey> for EndRecord {
    fn from(EndOfSurvey { speed, still_moving, .. }: EndOfSurvey) -> Self {
        Self { crank_rpm: Precision::CrankRpm.of(speed), probability: Precision::Probability.of(still_moving) }
    }
}

impl From<Estimate> for Interval {
    fn from(Estimate { value, low, high }: Estimate) -> Self {
        Self { value, low, high }
    }
}

impl From<&Finding> for FindingRecord {
    fn from(finding: &Finding) -> Self {
        let Finding { subject, answer, statistic, threshold, sentence } = finding.clone();
        // A probability or a ratio: the more places of the two.
        let statistic = statistic.map(|statistic| Precision::Probability.of(statistic));
        Self { subject, answer, statistic, threshold, sentence }
    }
}

impl From<&Misread> for MisreadRecord {
    fn from(misread: &Misread) -> Self {
        Self { line: misread.reading.line, probability: Precision::Probability.of(misread.probability) }
    }
}
