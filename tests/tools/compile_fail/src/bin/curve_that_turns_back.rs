//! Refused: a curve's breakpoints rise strictly in x

use bobweight::{CentrifugalCurve, must};
use bobweight_compile_fail::{advance, speed};

const CURVE: CentrifugalCurve = must!(CentrifugalCurve::new(&[(speed(1700), advance(0)), (speed(900), advance(12))]));

fn main() {
    assert_eq!(CURVE.count(), 2);
}
