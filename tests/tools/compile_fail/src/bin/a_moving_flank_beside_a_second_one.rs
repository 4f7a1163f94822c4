//! Refused: a pickup with a moving flank has no second flank

use bobweight::{Pickup, PickupSettings, must};
use bobweight_compile_fail::{RELUCTOR, angle};

const PIN: Pickup = must!(Pickup::new(PickupSettings { second_flank_angle: Some(angle(4)), ..RELUCTOR }));

fn main() {
    assert!(PIN.settings().moving_flank.is_some());
}
