//! Found, specified and chosen, side by side.

use crate::distributor::fit::{Curve, Estimate, FitResult, VacuumOutcome, middle};
use crate::page::columns::{Columns, Lie};
use crate::sheet::{Sheet, Specification};
use crate::words::number::whole;

/// Nearer speeds and depressions share a row, crank rpm and kPa.
const NEAR: (f64, f64) = (100.0, 1.0);

/// One row for the initial timing, each speed and each depression at which one of the curves has a breakpoint; advances in crank
/// degrees. A curve that the sheet does not have is a dash.
pub(super) fn side_by_side(fit: &FitResult, specification: &Specification, sheet: &Sheet) -> String {
    let mut text = row(&["crank degrees", "found", "specified", "chosen"].map(str::to_owned));
    let figure = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| format!("{value:.1}"));
    let chosen_initial = sheet.advance.initial_crank_degrees.value().copied();
    text += &row(&[
        "initial timing".to_owned(),
        estimate(&fit.initial),
        figure(specification.initial),
        figure(chosen_initial),
    ]);
    let chosen = sheet
        .centrifugal
        .breakpoints
        .value()
        .map(|all| all.iter().map(|point| [point.crank_rpm, point.crank_degrees]).collect::<Vec<_>>());
    let specified = middle(&specification.centrifugal);
    let of_found = fit.knots.iter().map(|knot| (knot.value / 50.0).round() * 50.0);
    for speed in places(of_found, specified.as_ref(), chosen.as_deref(), NEAR.0) {
        text += &row(&[
            format!("centrifugal at {speed} crank rpm", speed = whole(speed)),
            if (fit.lowest.speed..=fit.highest.speed).contains(&speed) {
                estimate(&fit.centrifugal_at(speed))
            } else {
                "not read".to_owned()
            },
            figure(specified.as_ref().map(|curve| curve.at(speed))),
            figure(chosen.as_deref().map(|curve| Curve::through(curve).at(speed))),
        ]);
    }
    let chosen = sheet
        .vacuum
        .breakpoints
        .value()
        .map(|all| all.iter().map(|point| [point.depression_kpa, point.crank_degrees]).collect::<Vec<_>>());
    let specified = middle(&specification.vacuum);
    let found = match &fit.vacuum {
        VacuumOutcome::Fitted(unit) => Some(unit),
        VacuumOutcome::NotRead | VacuumOutcome::TooFew { .. } => None,
    };
    let of_found = found.iter().flat_map(|unit| [unit.start.value.round(), unit.full.value.round()]);
    for kpa in places(of_found, specified.as_ref(), chosen.as_deref(), NEAR.1) {
        text += &row(&[
            format!("vacuum at {kpa:.1} kPa depression"),
            match found {
                Some(unit) if (unit.read_kpa.0..=unit.read_kpa.1).contains(&kpa) => {
                    let band = unit.band_at(kpa);
                    estimate(&Estimate { value: band.mid, low: band.low, high: band.high })
                }
                _ => "not read".to_owned(),
            },
            figure(specified.as_ref().map(|curve| curve.at(kpa))),
            figure(chosen.as_deref().map(|curve| Curve::through(curve).at(kpa))),
        ]);
    }
    text
}

fn places(
    found: impl Iterator<Item = f64>,
    specified: Option<&Curve>,
    chosen: Option<&[[f64; 2]]>,
    near: f64,
) -> Vec<f64> {
    let specified = specified.into_iter().flat_map(|curve| curve.breakpoints().iter().map(|point| point[0]));
    let chosen = chosen.into_iter().flatten().map(|point| point[0]);
    // Written breakpoints come first: their row is at their own speed.
    let written: Vec<f64> = specified.chain(chosen).collect();
    let mut places: Vec<f64> = Vec::new();
    for place in written.into_iter().chain(found) {
        if places.iter().all(|other| (other - place).abs() >= near) {
            places.push(place);
        }
    }
    places.sort_by(f64::total_cmp);
    places
}

fn estimate(Estimate { value, low, high }: &Estimate) -> String {
    format!("{value:.1} ({low:.1} to {high:.1})")
}

const TABLE: Columns =
    Columns { each: &[(32, Lie::Left, 2), (20, Lie::Right, 2), (9, Lie::Right, 2), (6, Lie::Right, 2)] };

fn row(cells: &[String; 4]) -> String {
    TABLE.lines(&[cells])
}
