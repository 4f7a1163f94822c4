//! Refused: a curve has 2 to 16 breakpoints

use bobweight::CentrifugalCurve;
use bobweight_compile_fail::{advance, checked, speed};

const CURVE: CentrifugalCurve = checked!(CentrifugalCurve::new(&[(speed(900), advance(0))]));

fn main() {
    assert_eq!(CURVE.count(), 1);
}
