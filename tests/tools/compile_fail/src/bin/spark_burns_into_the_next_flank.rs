//! Refused: the spark still burns at the next flank

use bobweight::{DwellSettings, PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, micros, timetable};

const LONG_BURN: DwellSettings = DwellSettings { burn_time: micros(2200), ..DWELL };
const TABLE: Timetable = timetable(ADVANCE, PickupSettings { pulses_in_two_turns: 8, ..PICKUP }, LONG_BURN, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
