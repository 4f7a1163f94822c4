//! Refused: a curve has 2 to 16 breakpoints

use bobweight::{CentrifugalCurve, must};
use bobweight_compile_fail::{advance, speed};

const CURVE: CentrifugalCurve = must!(CentrifugalCurve::new(&[(speed(900), advance(0))]));

fn main() {
    assert_eq!(CURVE.count(), 1);
}
