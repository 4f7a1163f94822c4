//! A counter of 16 or 24 bits made 32 bits wide.

/// Counts on where a counter of `BITS` bits wraps.
///
/// Give it the counter at least once a wrap, for instance in an interrupt of the timer every half wrap: one that was not seen is lost, and no
/// counter can tell.
///
/// ```
/// let mut clock = bobweight_driver::Wide::<16>::new();
/// assert_eq!(clock.now(0xfff0), 0xfff0);
/// assert_eq!(clock.now(0x0010), 0x1_0010);
/// // An edge that was captured before the counter wrapped.
/// assert_eq!(clock.at(0x0010, 0xffe0), 0xffe0);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wide<const BITS: u32> {
    last: u32,
}

impl<const BITS: u32> Wide<BITS> {
    const MASK: u32 = {
        assert!(BITS >= 8 && BITS <= 32, "a counter has 8 to 32 bits");
        u32::MAX >> (32 - BITS)
    };

    /// Time 0.
    #[must_use]
    pub const fn new() -> Self {
        Self { last: 0 }
    }

    /// The time, with the counter as it is read now. Bits above `BITS` count for nothing.
    pub const fn now(&mut self, counter: u32) -> u32 {
        self.last = self.last.wrapping_add(counter.wrapping_sub(self.last) & Self::MASK);
        self.last
    }

    /// The time at which the counter was `then`, less than one wrap before it is `counter`.
    pub const fn at(&mut self, counter: u32, then: u32) -> u32 {
        let now = self.now(counter);
        now.wrapping_sub(counter.wrapping_sub(then) & Self::MASK)
    }
}
