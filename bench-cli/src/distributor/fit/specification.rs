//! A book's figures as curves: in the middle, and at either end of what it allows.

use super::curve::Curve;
use crate::sheet::Specified;

/// The figures themselves as a curve; none where there are none.
pub fn middle(specified: &[Specified]) -> Option<Curve> {
    curve(specified, |point| (point.x, point.crank_degrees))
}

/// The least that is allowed: each corner as late as it may be.
pub(super) fn lower(specified: &[Specified]) -> Option<Curve> {
    curve(specified, |point| (point.x_allowed[1], point.crank_degrees_allowed[0]))
}

/// The most that is allowed: each corner as early as it may be.
pub(super) fn upper(specified: &[Specified]) -> Option<Curve> {
    curve(specified, |point| (point.x_allowed[0], point.crank_degrees_allowed[1]))
}

fn curve(specified: &[Specified], corner: impl Fn(&Specified) -> (f64, f64)) -> Option<Curve> {
    let mut last = f64::NEG_INFINITY;
    let (x, y): (Vec<f64>, Vec<f64>) = specified
        .iter()
        .map(|point| {
            let (x, y) = corner(point);
            // Wide bands may overlap; a curve rises in x.
            last = last.max(x);
            (last, y)
        })
        .unzip();
    (!x.is_empty()).then(|| Curve::new(&x, &y))
}
