//! Refused: a curve's breakpoints rise strictly in x

use bobweight::CentrifugalCurve;
use bobweight_compile_fail::{advance, checked, speed};

const CURVE: CentrifugalCurve =
    checked!(CentrifugalCurve::new(&[(speed(1700), advance(0)), (speed(900), advance(12))]));

fn main() {
    assert_eq!(CURVE.count(), 2);
}
