//! Refused: the cranking advance is not the zero crossing's angle

use bobweight::{PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, RELUCTOR, angle, timetable};

const TABLE: Timetable = timetable(ADVANCE, PickupSettings { angle: angle(7), ..RELUCTOR }, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
