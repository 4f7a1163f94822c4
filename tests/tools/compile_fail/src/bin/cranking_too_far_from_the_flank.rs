//! Refused: the cranking advance lies too far from the pickup's flank

use bobweight::{PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, timetable};

const TABLE: Timetable =
    timetable(ADVANCE, PickupSettings { pulses_in_two_turns: 8, second_flank_angle: None, ..PICKUP }, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
