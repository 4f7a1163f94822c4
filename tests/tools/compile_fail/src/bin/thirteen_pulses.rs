//! Refused: a pickup gives 1 to 12 pulses in two crank turns

use bobweight::{Pickup, PickupSettings, must};
use bobweight_compile_fail::PICKUP;

const PIN: Pickup = must!(Pickup::new(PickupSettings { pulses_in_two_turns: 13, ..PICKUP }));

fn main() {
    assert_eq!(PIN.settings().pulses_in_two_turns, 13);
}
