//! `[found]` and `[specified]`: what the readings gave, and what a book says. Neither drives anything; see the chosen
//! tables of [`super::curve`].

use super::curve::{
    ADVANCES, CENTRIFUGAL_COLUMNS, CentrifugalBreakpoint, VacuumBreakpoint, centrifugal_breakpoints,
    vacuum_breakpoints, vacuum_columns,
};
use super::error::SheetError;
use super::key::Key;
use super::points::{Column, scales};
use super::specification::{ALLOWED_KPA, Specification, Specified};
use super::table::Table;
use super::value::{elements, list, number};
use crate::quantity::ANGLE;
use serde::Serialize;

/// A curve that was found or specified. In `[found]` every value has its 95 % interval beside it.
#[derive(Clone, Debug, Serialize)]
pub struct Recorded {
    /// Crank degrees BTDC.
    pub initial_crank_degrees: Key<f64>,
    /// Its interval.
    pub initial_interval_crank_degrees: Key<[f64; 2]>,
    /// The centrifugal curve.
    pub centrifugal: Key<Vec<CentrifugalBreakpoint>>,
    /// An interval for the two numbers of each breakpoint, crank rpm and crank degrees.
    pub centrifugal_intervals: Key<Vec<[[f64; 2]; 2]>>,
    /// The vacuum curve.
    pub vacuum: Key<Vec<VacuumBreakpoint>>,
    /// An interval for the two numbers of each breakpoint, kPa depression and crank degrees.
    pub vacuum_intervals: Key<Vec<[[f64; 2]; 2]>>,
}

impl Recorded {
    /// What this curve allows, as a book's: where it gives no interval, a customary band.
    pub fn specification(&self) -> Specification {
        Specification {
            initial: self.initial_crank_degrees.value().copied(),
            centrifugal: allowed(
                self.centrifugal.value().into_iter().flatten().map(|point| (point.crank_rpm, point.crank_degrees)),
                self.centrifugal_intervals.value(),
                0.0,
            ),
            vacuum: allowed(
                self.vacuum.value().into_iter().flatten().map(|point| (point.depression_kpa, point.crank_degrees)),
                self.vacuum_intervals.value(),
                ALLOWED_KPA,
            ),
        }
    }
}

fn allowed(
    points: impl Iterator<Item = (f64, f64)>,
    intervals: Option<&Vec<[[f64; 2]; 2]>>,
    x_allowance: f64,
) -> Vec<Specified> {
    let with = |(at, (x, crank_degrees)): (usize, (f64, f64))| match intervals.and_then(|all| all.get(at)) {
        Some(&[x_allowed, crank_degrees_allowed]) => Specified { x, x_allowed, crank_degrees, crank_degrees_allowed },
        None => Specified::without_band(x, crank_degrees, x_allowance),
    };
    points.enumerate().map(with).collect()
}

pub(super) fn recorded(table: Table, atmosphere_kpa: f64, with_intervals: bool) -> Result<Recorded, SheetError> {
    let advance = table.table("advance")?;
    let initial = advance.quantity("initial", &ANGLE, ADVANCES)?;
    let initial_interval =
        advance.quantities("initial_interval", &ANGLE, ("-90 crank degrees", "180 crank degrees"))?;
    advance.finish()?;
    let of_centrifugal = table.table("centrifugal")?;
    let centrifugal = centrifugal_breakpoints(&of_centrifugal)?;
    let centrifugal_intervals = intervals(&of_centrifugal, centrifugal.value().map(Vec::len), CENTRIFUGAL_COLUMNS)?;
    of_centrifugal.finish()?;
    let of_vacuum = table.table("vacuum")?;
    let vacuum = vacuum_breakpoints(&of_vacuum, atmosphere_kpa)?;
    let vacuum_intervals = intervals(&of_vacuum, vacuum.value().map(Vec::len), vacuum_columns(atmosphere_kpa))?;
    of_vacuum.finish()?;
    table.finish()?;
    if let Some([from, to]) = initial_interval.value()
        && from > to
    {
        return Err(initial_interval.refuse("runs backwards", "from is beyond to", "write the lesser value first"));
    }
    if with_intervals {
        paired(&initial, &initial_interval)?;
        paired(&centrifugal, &centrifugal_intervals)?;
        paired(&vacuum, &vacuum_intervals)?;
    }
    Ok(Recorded {
        initial_crank_degrees: initial,
        initial_interval_crank_degrees: initial_interval,
        centrifugal,
        centrifugal_intervals,
        vacuum,
        vacuum_intervals,
    })
}

/// A value that was found without an interval would look surer than it is.
fn paired<T, U>(value: &Key<T>, interval: &Key<U>) -> Result<(), SheetError> {
    match (value.value(), interval.value()) {
        (Some(_), None) => Err(value.refuse(
            "has no 95 % interval beside it",
            "how sure is this?",
            "run `bobweight fit` again with `--sheet`, or move a curve from a book to `[specified]`",
        )),
        (None, Some(_)) => Err(interval.refuse("stands alone", "of what?", "run `bobweight fit` again with `--sheet`")),
        _ => Ok(()),
    }
}

fn intervals(
    table: &Table,
    breakpoints: Option<usize>,
    columns: [Column; 2],
) -> Result<Key<Vec<[[f64; 2]; 2]>>, SheetError> {
    const FORM: &str = "two intervals for each breakpoint, such as [[850, 950], [0, 0]]";
    let scales = scales(table, columns)?.unwrap_or([(0.0, 1.0); 2]);
    let read = table.read("breakpoints_interval", |place, item| {
        let array = list(&place, item, FORM)?;
        if breakpoints.is_some_and(|count| count != array.len()) {
            let label = "one pair of intervals for each breakpoint";
            return Err(place.refuse(format!("has {} entries", array.len()), label, format!("write {FORM}")));
        }
        let pair = |place: &super::Place, item: &toml_edit::Item| {
            let numbers: Result<Vec<f64>, SheetError> =
                elements(place, list(place, item, FORM)?).map(|(place, item)| number(&place, &item)).collect();
            match numbers?.as_slice() {
                [from, to] if from <= to => Ok([*from, *to]),
                _ => Err(place.refuse("has an interval that is none", "two rising numbers are wanted", FORM)),
            }
        };
        elements(&place, array)
            .map(|(place, item)| {
                let both: Result<Vec<[f64; 2]>, SheetError> =
                    elements(&place, list(&place, &item, FORM)?).map(|(place, item)| pair(&place, &item)).collect();
                both?.try_into().map_err(|_| place.refuse("has not two intervals", "one for each number", FORM))
            })
            .collect()
    })?;
    Ok(read.map(|all: Vec<[[f64; 2]; 2]>| {
        let mut all: Vec<_> = all.into_iter().map(|pair| [0, 1].map(|at| scaled(pair[at], scales[at]))).collect();
        // As their breakpoints: absolute pressures rise where depressions fall.
        if scales[0].1 < 0.0 {
            all.reverse();
        }
        all
    }))
}

fn scaled(ends: [f64; 2], (at_zero, slope): (f64, f64)) -> [f64; 2] {
    let [one, other] = ends.map(|end| at_zero + end * slope);
    [one.min(other), one.max(other)]
}
