//! How the main loop reaches a driver that interrupts use too.

use crate::driver::CoilDriver;
use crate::timer::CompareTimer;

/// Runs something on the driver with nothing coming between: in a critical section, or a lock above the priority of the timer's interrupts.
///
/// A program without interrupts, such as a test, gives the driver itself.
pub trait Access<T: CompareTimer, const ROOM: usize> {
    /// Does `work`, which is short.
    fn with<R>(&mut self, work: impl FnOnce(&mut CoilDriver<T, ROOM>) -> R) -> R;
}

impl<T: CompareTimer, const ROOM: usize> Access<T, ROOM> for CoilDriver<T, ROOM> {
    fn with<R>(&mut self, work: impl FnOnce(&mut Self) -> R) -> R {
        work(self)
    }
}

#[cfg(feature = "critical-section")]
impl<T: CompareTimer, const ROOM: usize> Access<T, ROOM>
    for &critical_section::Mutex<core::cell::RefCell<CoilDriver<T, ROOM>>>
{
    fn with<R>(&mut self, work: impl FnOnce(&mut CoilDriver<T, ROOM>) -> R) -> R {
        critical_section::with(|section| work(&mut self.borrow_ref_mut(section)))
    }
}
