//! Refused: the second flank lies above the greatest cranking limit

use bobweight::{AdvanceSettings, Limits, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, advance, timetable};

const TABLE: Timetable = timetable(
    AdvanceSettings { limits: Limits { greatest_cranking: advance(7), ..ADVANCE.limits }, ..ADVANCE },
    PICKUP,
    DWELL,
    FIRMWARE,
);

fn main() {
    assert_eq!(TABLE, TABLE);
}
