//! Refused: the spark still burns at the next flank

use bobweight::{PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, timetable};

const TABLE: Timetable = timetable(ADVANCE, PickupSettings { pulses_in_two_turns: 8, ..PICKUP }, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
