//! Refused: the period at the highest speed has no room for burn time and dwell

use bobweight::{PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, timetable};

const TABLE: Timetable = timetable(ADVANCE, PickupSettings { pulses_in_two_turns: 12, ..PICKUP }, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
