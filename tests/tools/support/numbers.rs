//! Repeatable numbers for motions, and how many to take.

/// A small source of numbers in 0 .. 1, by Marsaglia's xorshift of 64 bits with the shifts 13, 7, 17.
#[derive(Clone, Debug)]
pub struct Numbers(u64);

impl Numbers {
    /// The source that a seed names; any but 0 will do.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    /// The next number in 0 .. 1.
    #[allow(clippy::cast_precision_loss)] // 53 bits are exact.
    pub fn next_share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// The next number between two.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next_share()
    }

    /// One of these.
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Short lists.
    pub fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[(self.next_share() * choices.len() as f64) as usize]
    }
}

/// How many times as much to do: ten times in the long run, when `BOBWEIGHT_LONG` is set.
#[must_use]
pub fn times() -> usize {
    if std::env::var_os("BOBWEIGHT_LONG").is_some() { 10 } else { 1 }
}
