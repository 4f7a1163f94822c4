//! A queue of fixed length.

/// Up to `N` things, first in, first out; N is a power of two below 256.
pub struct Ring<T, const N: usize> {
    items: [T; N],
    first: u8,
    length: u8,
}

impl<T: Copy, const N: usize> Ring<T, N> {
    pub const fn new(filling: T) -> Self {
        Self { items: [filling; N], first: 0, length: 0 }
    }

    fn place(&self, after: u8) -> usize {
        usize::from(self.first.wrapping_add(after)) % N
    }

    /// False where there was no room.
    #[inline(always)]
    pub fn push(&mut self, item: T) -> bool {
        let place = self.place(self.length);
        if self.is_full() {
            return false;
        }
        if let Some(slot) = self.items.get_mut(place) {
            *slot = item;
        }
        self.length += 1;
        true
    }

    pub fn is_empty(&self) -> bool {
        self.length == 0
    }

    pub fn is_half_empty(&self) -> bool {
        usize::from(self.length) <= N / 2
    }

    pub fn is_full(&self) -> bool {
        usize::from(self.length) == N
    }

    #[inline(always)]
    pub fn first(&self) -> Option<T> {
        if self.is_empty() { None } else { self.items.get(self.place(0)).copied() }
    }

    #[inline(always)]
    pub fn pop(&mut self) -> Option<T> {
        let item = self.first()?;
        self.first = self.first.wrapping_add(1);
        self.length -= 1;
        Some(item)
    }
}
