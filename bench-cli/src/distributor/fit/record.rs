//! A fit for programs.

use super::{Estimate, Finding, FitResult, Misread, Unsettled, VacuumOutcome};
use crate::distributor::readings::Readings;
use crate::record::fit::{
    CentrifugalRecord, EndRecord, FindingRecord, FitRecord, MisreadRecord, ReadNextRecord, SCHEMA, VacuumRecord,
};
use crate::record::interval::Interval;

impl FitRecord {
    /// A fit, as it is saved.
    pub fn new(readings: &Readings, fit: &FitResult, findings: &[Finding], questions: Vec<String>, seed: u64) -> Self {
        let breakpoints = fit.knots.iter().zip(&fit.centrifugal);
        Self {
            schema: SCHEMA.to_owned(),
            readings: readings.name.clone(),
            hose_off_readings: readings.hose_off().count(),
            hose_on_readings: readings.hose_on().count(),
            seed,
            initial_crank_degrees: fit.initial.into(),
            ramps: fit.ramps,
            odds_of_two_ramps: fit.odds_of_two_ramps,
            centrifugal: breakpoints
                .map(|(knot, rise)| CentrifugalRecord { crank_rpm: (*knot).into(), crank_degrees: (*rise).into() })
                .collect(),
            vacuum: match &fit.vacuum {
                VacuumOutcome::Fitted(vacuum) => Some(VacuumRecord {
                    start_kpa_depression: vacuum.start.into(),
                    full_kpa_depression: vacuum.full.into(),
                    greatest_crank_degrees: vacuum.greatest.into(),
                    misread: vacuum.misread.as_ref().map(MisreadRecord::from),
                }),
                VacuumOutcome::NotRead | VacuumOutcome::TooFew { .. } => None,
            },
            up_down_crank_degrees: fit.up_down.into(),
            scatter_crank_degrees: fit.scatter.into(),
            residual_sum_crank_degrees_squared: fit.residual_sum,
            misread: fit.misread.as_ref().map(MisreadRecord::from),
            read_next: fit
                .wide_corners
                .iter()
                .map(|corner| ReadNextRecord {
                    breakpoint: corner.knot + 1,
                    worth_crank_degrees: corner.worth_degrees,
                    crank_rpm: corner.read_next,
                })
                .collect(),
            moving_at_lowest: EndRecord { crank_rpm: fit.lowest.speed, probability: fit.lowest.still_moving },
            moving_at_highest: EndRecord { crank_rpm: fit.highest.speed, probability: fit.highest.still_moving },
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

impl From<Estimate> for Interval {
    fn from(Estimate { value, low, high }: Estimate) -> Self {
        Self { value, low, high }
    }
}

impl From<&Finding> for FindingRecord {
    fn from(finding: &Finding) -> Self {
        let Finding { subject, answer, statistic, threshold, sentence } = finding.clone();
        Self { subject, answer, statistic, threshold, sentence }
    }
}

impl From<&Misread> for MisreadRecord {
    fn from(misread: &Misread) -> Self {
        Self { line: misread.reading.line, probability: misread.probability }
    }
}
