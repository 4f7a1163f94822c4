//! Refused: the lag is at most 500 us

use bobweight::{Pickup, PickupSettings, must};
use bobweight_compile_fail::{PICKUP, micros};

const PIN: Pickup = must!(Pickup::new(PickupSettings { lag: micros(501), ..PICKUP }));

fn main() {
    assert_eq!(PIN.settings().lag, micros(501));
}
