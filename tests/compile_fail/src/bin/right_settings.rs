//! Right settings: it compiles, so that the wrong ones beside it are refused for what they say.

use bobweight::{AdvanceModel, Pickup, must};
use bobweight_compile_fail::{ADVANCE, PICKUP};

const MODEL: AdvanceModel = must!(AdvanceModel::new(ADVANCE));
const PIN: Pickup = must!(Pickup::new(PICKUP));

fn main() {
    assert_eq!(MODEL.settings(), &ADVANCE);
    assert_eq!(PIN.settings(), &PICKUP);
}
