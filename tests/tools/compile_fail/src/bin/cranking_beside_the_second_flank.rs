//! Refused: the cranking advance is not the second flank's angle

use bobweight::{AdvanceSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, advance, timetable};

const TABLE: Timetable = timetable(AdvanceSettings { cranking: advance(7), ..ADVANCE }, PICKUP, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
