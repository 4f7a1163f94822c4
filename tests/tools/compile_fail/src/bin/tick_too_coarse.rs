//! Refused: a tick is worth more than half a crank degree at the highest speed

use bobweight::quantity::TickRate;
use bobweight::{Firmware, Timetable, must};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, timetable};

const TABLE: Timetable =
    timetable(ADVANCE, PICKUP, DWELL, Firmware { tick_rate: must!(TickRate::from_bits(50_000)), ..FIRMWARE });

fn main() {
    assert_eq!(TABLE, TABLE);
}
