//! Refused: the shortest dwell from the zero crossing, and its spark, last longer than half a pulse

use bobweight::{AdvanceSettings, DwellSettings, PhaseSpeeds, PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, RELUCTOR, micros, speed, timetable};

const FAST: AdvanceSettings =
    AdvanceSettings { speeds: PhaseSpeeds { running_from: speed(2800), ..ADVANCE.speeds }, ..ADVANCE };
const LONG: DwellSettings = DwellSettings { burn_time: micros(2_400), ..DWELL };
const EIGHT: PickupSettings = PickupSettings { pulses_in_two_turns: 8, ..RELUCTOR };
const TABLE: Timetable = timetable(FAST, EIGHT, LONG, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
