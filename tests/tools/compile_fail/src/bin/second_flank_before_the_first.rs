//! Refused: the second flank follows the timing flank within one pulse

use bobweight::{Pickup, PickupSettings, must};
use bobweight_compile_fail::{PICKUP, angle};

const PIN: Pickup = must!(Pickup::new(PickupSettings { second_flank_angle: Some(angle(61)), ..PICKUP }));

fn main() {
    assert!(PIN.settings().second_flank_angle.is_some());
}
