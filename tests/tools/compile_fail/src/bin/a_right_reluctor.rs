//! A reluctor whose crossing is the static advance, which is the least of the curve: nothing to refuse.

use bobweight::Timetable;
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, RELUCTOR, timetable};

const TABLE: Timetable = timetable(ADVANCE, RELUCTOR, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
