//! Refused: a centrifugal curve changes by at most one crank degree a crank rpm

use bobweight::CentrifugalCurve;
use bobweight_compile_fail::{advance, checked, speed};

const CURVE: CentrifugalCurve = checked!(CentrifugalCurve::new(&[(speed(900), advance(0)), (speed(910), advance(12))]));

fn main() {
    assert_eq!(CURVE.count(), 2);
}
