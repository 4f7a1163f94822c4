//! Refused: the largest dwell is 0.5 to 100 ms

use bobweight::{Dwell, DwellSettings, must};
use bobweight_compile_fail::{DWELL, micros};

const COIL: Dwell = must!(Dwell::new(DwellSettings { largest: micros(100_001), ..DWELL }));

fn main() {
    assert_ne!(COIL.settings().largest, DWELL.largest);
}
