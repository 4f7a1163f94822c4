//! Right settings: it compiles, so that the wrong ones beside it are refused for what they say.

use bobweight::{AdvanceModel, Pickup};
use bobweight_compile_fail::{ADVANCE, PICKUP, checked};

const MODEL: AdvanceModel = checked!(AdvanceModel::new(ADVANCE));
const PIN: Pickup = checked!(Pickup::new(PICKUP));

fn main() {
    assert_eq!(MODEL.settings(), &ADVANCE);
    assert_eq!(PIN.settings(), &PICKUP);
}
