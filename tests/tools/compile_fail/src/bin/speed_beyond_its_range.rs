//! Refused: a quantity is out of its range

use bobweight::quantity::CrankSpeed;
use bobweight_compile_fail::speed;

const SPEED: CrankSpeed = speed(20_001);

fn main() {
    assert_eq!(SPEED.bits(), 0);
}
