//! Refused: the shortest dwell from the second flank, and its spark, last into the next flank

use bobweight::{DwellSettings, PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, angle, micros, timetable};

const FAR: PickupSettings = PickupSettings { pulses_in_two_turns: 8, angle: angle(97), ..PICKUP };
const SHORT_BURN: DwellSettings = DwellSettings { burn_time: micros(50), ..DWELL };
const TABLE: Timetable = timetable(ADVANCE, FAR, SHORT_BURN, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
