//! The checksum of a frame: CRC-32/ISO-HDLC.
//!
//! Written out here: the usual crate's form without a table takes 260 cycles a byte on an 8-bit chip, a quarter of its time at the
//! highest rate of events, and its table takes half of the chip's memory. The tests hold it to that crate.

/// Bytes of the checksum.
pub const CHECKSUM: usize = 4;

/// What four bits do to the sum: four steps of the polynomial 04C11DB7 with its bits in the other order.
static OF_FOUR_BITS: [u32; 16] = table();

const fn table() -> [u32; 16] {
    let mut table = [0; 16];
    let mut place = 0;
    let mut bits: u32 = 0;
    while place < table.len() {
        let mut sum = bits;
        let mut step = 0;
        while step < 4 {
            sum = (sum >> 1) ^ if sum & 1 == 0 { 0 } else { 0xedb8_8320 };
            step += 1;
        }
        table[place] = sum;
        place += 1;
        bits += 1;
    }
    table
}

/// The checksum of these bytes.
#[inline(never)]
pub fn checksum(bytes: &[u8]) -> u32 {
    let mut sum = u32::MAX;
    for &byte in bytes {
        sum = four_bits(sum ^ u32::from(byte));
        sum = four_bits(sum);
    }
    !sum
}

#[inline]
fn four_bits(sum: u32) -> u32 {
    let [low, ..] = sum.to_le_bytes();
    (sum >> 4) ^ OF_FOUR_BITS[usize::from(low & 15)]
}

#[cfg(test)]
mod tests {
    extern crate std;

    use proptest::prelude::*;

    use super::*;

    /// The check value of CRC-32/ISO-HDLC is the checksum of the digits 1 to 9: catalogue of parametrised CRC algorithms,
    /// G. Cook (from memory); zlib's `crc32` gives the same.
    #[test]
    fn checksum_of_the_digits() {
        assert_eq!(checksum(b"123456789"), 0xcbf4_3926);
    }

    proptest! {
        #[test]
        fn agrees_with_an_independent_implementation(body in prop::collection::vec(any::<u8>(), 0..200)) {
            let other = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);
            prop_assert_eq!(checksum(&body), other.checksum(&body));
        }
    }
}
