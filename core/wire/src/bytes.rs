//! Bytes, whole numbers and yes or no, written and read one after the other.
//!
//! A reader or writer remembers its first fault and goes on with zeros: one look at the end, instead of one after each
//! byte, is a fifth of the program.

use crate::FrameFault;

/// Puts what a message consists of into a buffer.
pub struct Writer<'a> {
    bytes: &'a mut [u8],
    length: usize,
}

impl<'a> Writer<'a> {
    pub(crate) fn new(bytes: &'a mut [u8]) -> Self {
        Self { bytes, length: 0 }
    }

    /// The number of bytes written; `None` if they did not fit.
    pub(crate) fn length(&self) -> Option<usize> {
        (self.length <= self.bytes.len()).then_some(self.length)
    }

    #[inline(never)]
    pub(crate) fn byte(&mut self, byte: u8) {
        if let Some(place) = self.bytes.get_mut(self.length) {
            *place = byte;
        }
        // A message has far fewer bytes than this can count.
        self.length = self.length.saturating_add(1);
    }

    /// Seven bits to a byte, the lowest first, bit 7 set in all but the last.
    #[inline(never)]
    pub(crate) fn number(&mut self, mut number: u32) {
        loop {
            let [low, ..] = number.to_le_bytes();
            number >>= 7;
            if number == 0 {
                return self.byte(low);
            }
            self.byte(low | 0x80);
        }
    }
}

/// Takes what a message consists of out of received bytes.
pub struct Reader<'a> {
    bytes: &'a [u8],
    fault: Option<FrameFault>,
}

impl<'a> Reader<'a> {
    pub(crate) fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, fault: None }
    }

    /// The message, if it was all there and nothing is left over.
    pub(crate) fn end<M>(self, message: M) -> Result<M, FrameFault> {
        match self.fault {
            Some(fault) => Err(fault),
            None if self.bytes.is_empty() => Ok(message),
            None => Err(FrameFault::Length),
        }
    }

    /// Something that this version does not know.
    pub(crate) fn unknown(&mut self) {
        self.fail(FrameFault::UnknownMessage);
    }

    fn fail(&mut self, fault: FrameFault) {
        self.fault.get_or_insert(fault);
        self.bytes = &[];
    }

    #[inline(never)]
    pub(crate) fn byte(&mut self) -> u8 {
        if let Some((&byte, rest)) = self.bytes.split_first() {
            self.bytes = rest;
            byte
        } else {
            self.fail(FrameFault::Length);
            0
        }
    }

    /// A whole number up to `greatest`, whose bits are all ones.
    #[inline(never)]
    pub(crate) fn number(&mut self, greatest: u32) -> u32 {
        let (mut number, mut room, mut place) = (0_u32, greatest, 0_u8);
        while room != 0 {
            let byte = self.byte();
            let bits = u32::from(byte & 0x7f);
            // Beyond the number's bits.
            if bits > room {
                break;
            }
            number |= bits.wrapping_shl(u32::from(place));
            if byte & 0x80 == 0 {
                return number;
            }
            room >>= 7;
            place = place.wrapping_add(7);
        }
        self.unknown();
        0
    }
}
