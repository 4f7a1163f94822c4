//! Refused: the firmware's latency is at most 10 ms

use bobweight::{Firmware, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, micros, timetable};

const TABLE: Timetable = timetable(ADVANCE, PICKUP, DWELL, Firmware { latency: micros(10_001), ..FIRMWARE });

fn main() {
    assert_eq!(TABLE, TABLE);
}
