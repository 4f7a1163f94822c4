//! Refused: every dwell of the curve is at least 0.5 ms and at most the largest dwell

use bobweight::{Dwell, DwellSettings, must};
use bobweight_compile_fail::{DWELL, micros};

const COIL: Dwell = must!(Dwell::new(DwellSettings { largest: micros(5_000), ..DWELL }));

fn main() {
    assert_ne!(COIL.settings().largest, DWELL.largest);
}
