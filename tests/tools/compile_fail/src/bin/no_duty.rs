//! Refused: the largest duty is above 0 and at most 90 % of the period

use bobweight::quantity::Duty;
use bobweight::{Dwell, DwellSettings, must};
use bobweight_compile_fail::DWELL;

const COIL: Dwell = must!(Dwell::new(DwellSettings { largest_duty: must!(Duty::from_bits(0)), ..DWELL }));

fn main() {
    assert_ne!(COIL.settings().largest_duty, DWELL.largest_duty);
}
