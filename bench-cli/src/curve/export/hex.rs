//! Intel HEX (Intel, *Hexadecimal Object File Format Specification*, revision A, 1988), by the crate `ihex`.

use bobweight::store::{COMMITMENT_BYTES, Slot, commitment};
use ihex::{Record, create_object_file_representation};

/// Data bytes of a record; the usual number, common practice, no source.
const RECORD_BYTES: usize = 16;

/// The image in the store's first slot, committed. The second slot's commitment is wiped, so that no older curve of the
/// board is taken for a newer one.
pub fn text(image: &[u8]) -> String {
    let checksum = image.last_chunk().map_or(0, |bytes| u32::from_le_bytes(*bytes));
    let mut records = Vec::new();
    data(&mut records, Slot::One.address(), image);
    data(&mut records, Slot::One.commitment_address(), &commitment(checksum, 1));
    data(&mut records, Slot::Two.commitment_address(), &[0xff; COMMITMENT_BYTES]);
    records.push(Record::EndOfFile);
    // It refuses more than 255 bytes a record, and a file without its end.
    let mut text = create_object_file_representation(&records).unwrap_or_default();
    text.push('\n');
    text
}

fn data(records: &mut Vec<Record>, from: usize, bytes: &[u8]) {
    for (number, piece) in bytes.chunks(RECORD_BYTES).enumerate() {
        let offset = u16::try_from(from + number * RECORD_BYTES).unwrap_or(u16::MAX);
        records.push(Record::Data { offset, value: piece.to_vec() });
    }
}
