//! The bytes of an image: its header, its checksum, and whole numbers in and out.

use super::{Identity, ImageError, ImagePart};
use crc::{CRC_32_ISO_HDLC, Crc, NoTable};

const MAGIC: [u8; 4] = *b"BOBW";
/// Magic, version and length.
pub(super) const HEADER: usize = 7;
/// The checksum at the end.
pub(super) const CHECKSUM: usize = 4;

/// Where an image's bytes come from: the byte at a place, `None` beyond their end.
pub(super) type Source<'s> = &'s mut dyn FnMut(usize) -> Option<u8>;

/// Without a table, which would lie in a small chip's RAM.
static CRC: Crc<u32, NoTable> = Crc::<u32, NoTable>::new(&CRC_32_ISO_HDLC);

/// Puts header and checksum around a body of this length and returns the image's. `None` where it does not fit.
pub(super) fn seal(into: &mut [u8], body: usize, version: u8) -> Option<usize> {
    let length = HEADER + body + CHECKSUM;
    let said = u16::try_from(length).ok()?.to_le_bytes();
    let (summed, checksum) = into.get_mut(..length)?.split_at_mut_checked(HEADER + body)?;
    for (place, value) in summed.iter_mut().zip(MAGIC.into_iter().chain([version]).chain(said)) {
        *place = value;
    }
    for (place, value) in checksum.iter_mut().zip(CRC.checksum(summed).to_le_bytes()) {
        *place = value;
    }
    Some(length)
}

/// The header and checksum of an image, once both are right, of a version up to `newest`.
pub(super) fn identify(source: Source<'_>, newest: u8) -> Result<Identity, ImageError> {
    let mut header = [0; HEADER];
    for (at, place) in header.iter_mut().enumerate() {
        *place = source(at).ok_or(ImageError::Short { bytes: at })?;
    }
    let [magic @ .., version, low, high] = header;
    if magic != MAGIC || version == 0 {
        return Err(ImageError::NoImage);
    }
    // First of all: of a newer version not even the length may be where it was.
    if version > newest {
        return Err(ImageError::Version { version, newest });
    }
    let length = usize::from(u16::from_le_bytes([low, high]));
    let body_end = length.checked_sub(CHECKSUM).filter(|&end| end >= HEADER).ok_or(ImageError::Part(ImagePart::End))?;
    let mut digest = CRC.digest();
    for at in 0..body_end {
        digest.update(&[source(at).ok_or(ImageError::Short { bytes: at })?]);
    }
    let mut stored = [0; CHECKSUM];
    for (at, place) in (body_end..).zip(&mut stored) {
        *place = source(at).ok_or(ImageError::Short { bytes: at })?;
    }
    let (stored, computed) = (u32::from_le_bytes(stored), digest.finalize());
    if stored == computed {
        Ok(Identity { length, checksum: stored })
    } else {
        Err(ImageError::Checksum { stored, computed })
    }
}

/// The version of an image that was identified.
pub(super) fn version(source: Source<'_>) -> Result<u8, ImageError> {
    source(MAGIC.len()).ok_or(ImageError::Short { bytes: MAGIC.len() })
}

/// The checksum of a few bytes, the same as an image's.
pub(crate) fn checksum(bytes: &[u8]) -> u32 {
    CRC.checksum(bytes)
}

/// Writes a body. What does not fit is counted and not written.
pub(super) struct Writer<'b> {
    rest: &'b mut [u8],
    written: usize,
}

impl<'b> Writer<'b> {
    pub fn after_header(into: &'b mut [u8]) -> Self {
        Self { rest: into.get_mut(HEADER..).unwrap_or_default(), written: 0 }
    }

    /// How many bytes were to be written.
    pub fn written(&self) -> usize {
        self.written
    }

    pub fn byte(&mut self, value: u8) {
        if let Some((first, rest)) = core::mem::take(&mut self.rest).split_first_mut() {
            *first = value;
            self.rest = rest;
        }
        self.written += 1;
    }

    fn lowest(&mut self, value: u32, bytes: usize) {
        for byte in value.to_le_bytes().into_iter().take(bytes) {
            self.byte(byte);
        }
    }

    pub fn two(&mut self, value: u16) {
        self.lowest(u32::from(value), 2);
    }

    /// The low three bytes: no quantity of a curve needs the fourth, save a sign.
    pub fn three(&mut self, value: u32) {
        self.lowest(value, 3);
    }

    pub fn unsigned(&mut self, value: u32) {
        self.lowest(value, 4);
    }

    pub fn signed(&mut self, value: i32) {
        self.unsigned(value.cast_unsigned());
    }
}

/// Reads a body.
pub(super) struct Reader<'s> {
    source: Source<'s>,
    at: usize,
    end: usize,
}

impl<'s> Reader<'s> {
    pub fn new(source: Source<'s>, of: &Identity) -> Self {
        Self { source, at: HEADER, end: of.length.saturating_sub(CHECKSUM) }
    }

    pub fn is_empty(&self) -> bool {
        self.at >= self.end
    }

    pub fn byte(&mut self) -> Result<u8, ImageError> {
        let cut = ImageError::Part(ImagePart::End);
        if self.is_empty() {
            return Err(cut);
        }
        let byte = (self.source)(self.at).ok_or(cut)?;
        self.at = self.at.saturating_add(1);
        Ok(byte)
    }

    fn lowest(&mut self, bytes: usize) -> Result<u32, ImageError> {
        let mut value = [0; 4];
        for place in value.iter_mut().take(bytes) {
            *place = self.byte()?;
        }
        Ok(u32::from_le_bytes(value))
    }

    pub fn two(&mut self) -> Result<u16, ImageError> {
        Ok(self.lowest(2)? as u16)
    }

    pub fn three(&mut self) -> Result<u32, ImageError> {
        self.lowest(3)
    }

    /// Three bytes with a sign.
    pub fn signed_three(&mut self) -> Result<i32, ImageError> {
        Ok((self.lowest(3)? << 8).cast_signed() >> 8)
    }

    pub fn unsigned(&mut self) -> Result<u32, ImageError> {
        self.lowest(4)
    }

    pub fn signed(&mut self) -> Result<i32, ImageError> {
        Ok(self.unsigned()?.cast_signed())
    }

    /// A count and so many breakpoints, which it returns.
    pub fn breakpoints<'p, B>(
        &mut self,
        part: ImagePart,
        places: &'p mut [B],
        mut breakpoint: impl FnMut(&mut Self) -> Result<B, ImageError>,
    ) -> Result<&'p [B], ImageError> {
        let count = usize::from(self.byte()?);
        let places = places.get_mut(..count).ok_or(ImageError::Part(part))?;
        for place in places.iter_mut() {
            *place = breakpoint(self)?;
        }
        Ok(places)
    }
}
