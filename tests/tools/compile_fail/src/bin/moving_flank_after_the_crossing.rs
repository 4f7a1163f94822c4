//! Refused: a reluctor's moving flank lies before its zero crossing

use bobweight::{Pickup, PickupSettings, must};
use bobweight_compile_fail::{RELUCTOR, angle, moving};

const PIN: Pickup = must!(Pickup::new(PickupSettings { moving_flank: moving(angle(18), angle(8)), ..RELUCTOR }));

fn main() {
    assert!(PIN.settings().moving_flank.is_some());
}
