//! Refused: a centrifugal curve changes by at most one crank degree a crank rpm

use bobweight::{CentrifugalCurve, must};
use bobweight_compile_fail::{advance, speed};

const CURVE: CentrifugalCurve = must!(CentrifugalCurve::new(&[(speed(900), advance(0)), (speed(910), advance(12))]));

fn main() {
    assert_eq!(CURVE.count(), 2);
}
