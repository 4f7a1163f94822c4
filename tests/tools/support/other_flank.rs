//! An ignition that takes each flank of the pickup for the other one.

use bobweight_tool::proof::{IgnitionUnderTest, Switch};
use bobweight_wire::Intake;

/// Takes each flank of the pickup for the other one.
pub struct OtherFlank<I>(pub I);

impl<I: IgnitionUnderTest> IgnitionUnderTest for OtherFlank<I> {
    fn tick_rate(&self) -> f64 {
        self.0.tick_rate()
    }

    fn timing_flank(&mut self, at: u32, now: u32) {
        self.0.second_flank(at, now);
    }

    fn second_flank(&mut self, at: u32, now: u32) {
        self.0.timing_flank(at, now);
    }

    fn intake(&mut self, intake: Intake, now: u32) {
        self.0.intake(intake, now);
    }

    fn poll(&mut self, now: u32) {
        self.0.poll(now);
    }

    fn next_switch(&self) -> Option<Switch> {
        self.0.next_switch()
    }

    fn switched(&mut self) {
        self.0.switched();
    }
}
