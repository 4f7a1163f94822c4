//! Refused: the spark comes too soon after the pickup's flank

use bobweight::{PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, angle, timetable};

const TABLE: Timetable = timetable(ADVANCE, PickupSettings { angle: angle(30), ..PICKUP }, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
