//! What the author of a firmware supplies: one timer with a compare unit that moves the coil's pin.

use bobweight::quantity::TickRate;

/// What the coil's pin is moved to. High is coil on: an active-low driver is inverted in the timer's implementation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// The coil draws current.
    High,
    /// The coil is off.
    Low,
}

/// A timer that counts up without end, with a compare unit that moves the coil's pin by itself, and a capture unit for the pickup.
///
/// A unit without a pin of its own serves too, where its match interrupt moves the pin and is never held up: what it is held up by is
/// how late the spark comes.
pub trait CompareTimer {
    /// How fast it counts. A timetable of another rate is refused.
    const TICK_RATE: TickRate;

    /// How many of the low bits of a time the compare register holds: 16, 24 or 32.
    const COMPARE_BITS: u32;

    /// How many ticks pass at most from reading [`now`](Self::now) until what [`arm`](Self::arm) then writes has effect, interrupts being
    /// off. A moment nearer than this is not armed.
    const WRITE_TIME: u32;

    /// How many ticks after the match the pin has moved for certain.
    const MATCH_TIME: u32 = 2;

    /// The time now, in ticks: 32 bits that wrap. See [`Wide`](crate::Wide) for a counter with fewer.
    fn now(&mut self) -> u32;

    /// The time of the edge that was captured last; or of now, where the timer captures nothing and the interrupt is never held up.
    fn captured(&mut self) -> u32;

    /// From now on the pin moves to `level` whenever the counter's low bits are those of `at`, and stays as it is until then. What was armed
    /// before is void.
    fn arm(&mut self, level: Level, at: u32);

    /// The pin is low now, and stays so until it is armed.
    fn force_off(&mut self);

    /// The pin is low for good, without the compare unit: the program is not to be trusted any more.
    fn disconnect(&mut self) {
        self.force_off();
    }
}
