//! Refused: the burn time is at most 10 ms

use bobweight::{Dwell, DwellSettings, must};
use bobweight_compile_fail::{DWELL, micros};

const COIL: Dwell = must!(Dwell::new(DwellSettings { burn_time: micros(10_001), ..DWELL }));

fn main() {
    assert_ne!(COIL.settings().burn_time, DWELL.burn_time);
}
