//! Where an ignition keeps its image: two slots, written in turn, so that losing power at any moment leaves one of them whole.
//!
//! The store is any memory of bytes that keeps them without power, such as a chip's EEPROM. Each slot holds an image from its
//! first byte on, and a commitment in its last six. A write goes into the slot that is not in use: first the image, which is
//! read back, then the commitment, which is read back too. Until the last byte of the commitment stands, the old curve is the
//! one that the next key-on finds.
//!
//! | bytes of the commitment | what |
//! | --- | --- |
//! | 2 | generation, little-endian: one more with each write, wrapping |
//! | 4 | CRC-32/ISO-HDLC of the image's own checksum, little-endian, and the generation |
//!
//! A commitment fits one image alone, so a slot half overwritten is never taken for what was in it before, nor for what was
//! to be in it. A byte that was being written when power went may read as anything; every sum that holds it is then wrong.
//!
//! Nothing here waits: a [`ByteStore`] whose bytes take milliseconds waits in [`ByteStore::write`] and gives up there when an
//! edge comes.

use crate::image::{EngineSettings, Identity, ImageError, LARGEST_IMAGE, checksum};
use core::fmt;

/// Bytes of one slot. Two of them fill the 1 KB of EEPROM of a small chip.
pub const SLOT_BYTES: usize = 512;
/// Bytes of a commitment, the last of its slot.
pub const COMMITMENT_BYTES: usize = 6;
const COMMITMENT_AT: usize = SLOT_BYTES - COMMITMENT_BYTES;
const _: () = assert!(LARGEST_IMAGE <= COMMITMENT_AT);

/// Which slot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Slot {
    /// From byte 0 of the store.
    One,
    /// From byte 512.
    Two,
}

impl Slot {
    /// Its first byte in the store.
    pub const fn address(self) -> usize {
        match self {
            Self::One => 0,
            Self::Two => SLOT_BYTES,
        }
    }

    /// Where its commitment begins in the store.
    pub const fn commitment_address(self) -> usize {
        self.address() + COMMITMENT_AT
    }

    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::One => Self::Two,
            Self::Two => Self::One,
        }
    }
}

/// Why a write ended before its curve was committed. What was in use before is in use still.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum StoreError {
    /// An edge came: an engine that turns has the chip to itself.
    EngineTurns,
    /// This byte of the store does not keep what is written to it.
    NotKept {
        /// Where, from the store's first byte.
        address: usize,
    },
    /// Bytes that lie outside the room for an image.
    Outside,
    /// What was written is no image that this firmware can use.
    Image(ImageError),
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::EngineTurns => f.write_str("the engine turns, and the write was given up"),
            Self::NotKept { address } => write!(f, "byte {address} of the store does not keep what is written to it"),
            Self::Outside => write!(f, "an image has at most {LARGEST_IMAGE} bytes"),
            Self::Image(error) => write!(f, "{error}"),
        }
    }
}

impl core::error::Error for StoreError {}

/// A memory of at least 1 024 bytes that keeps them without power.
pub trait ByteStore {
    /// The byte at an address below 1 024.
    fn read(&mut self, address: usize) -> u8;

    /// Writes one byte and waits until it is done.
    ///
    /// # Errors
    /// [`StoreError::EngineTurns`] where an edge has come since the engine stood; the byte is then not begun.
    fn write(&mut self, address: usize, value: u8) -> Result<(), StoreError>;
}

/// An image in use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Stored {
    /// Where it lies.
    pub slot: Slot,
    /// How many writes came before it, wrapping.
    pub generation: u16,
    /// Which image it is.
    pub identity: Identity,
}

/// What a store holds, as key-on finds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Slots {
    in_use: Option<Stored>,
}

impl Slots {
    /// Looks for the newest whole image that this firmware can use, and gives its settings.
    ///
    /// `None` means that no dwell may begin: there is no curve but another engine's.
    pub fn open<S: ByteStore>(store: &mut S) -> (Self, Option<EngineSettings>) {
        let [mut newest, mut older] = [stored(store, Slot::One), stored(store, Slot::Two)];
        if let (Some(one), Some(two)) = (newest, older)
            && two.generation.wrapping_sub(one.generation).cast_signed() > 0
        {
            core::mem::swap(&mut newest, &mut older);
        }
        for found in [newest, older].into_iter().flatten() {
            if let Ok(settings) = EngineSettings::decode_from(&mut |at| byte_of(store, found.slot, at)) {
                return (Self { in_use: Some(found) }, Some(settings));
            }
        }
        (Self { in_use: None }, None)
    }

    /// The image in use; `None` where there is none.
    pub const fn in_use(&self) -> Option<&Stored> {
        self.in_use.as_ref()
    }

    /// One byte of the image in use; `None` beyond its end.
    pub fn byte<S: ByteStore>(&self, store: &mut S, at: usize) -> Option<u8> {
        let stored = self.in_use.filter(|stored| at < stored.identity.length)?;
        byte_of(store, stored.slot, at)
    }

    /// The slot that the next write goes to.
    pub fn target(&self) -> Slot {
        self.in_use.map_or(Slot::One, |stored| stored.slot.other())
    }

    /// Writes a piece of a new image, whose first byte has the place `at` in it. Bytes that are right already are left alone:
    /// each write of a byte wears it.
    ///
    /// # Errors
    /// [`StoreError::Outside`] beyond the largest image, before anything is written; [`StoreError::EngineTurns`] and
    /// [`StoreError::NotKept`].
    pub fn write<S: ByteStore>(&self, store: &mut S, at: usize, piece: &[u8]) -> Result<(), StoreError> {
        let ends = at.checked_add(piece.len()).filter(|&end| end <= LARGEST_IMAGE);
        if ends.is_none() {
            return Err(StoreError::Outside);
        }
        write_all(store, self.target().address().saturating_add(at), piece)
    }

    /// The settings of the new image as they were written, before it is committed.
    ///
    /// # Errors
    /// [`StoreError::Image`] where what is in the slot is no image that this firmware can use.
    pub fn written<S: ByteStore>(&self, store: &mut S) -> Result<EngineSettings, StoreError> {
        let slot = self.target();
        EngineSettings::decode_from(&mut |at| byte_of(store, slot, at)).map_err(StoreError::Image)
    }

    /// Commits the new image: it is read back as a whole, and its settings go through their constructors. From then on it is
    /// the one in use, and the old one stays beside it.
    ///
    /// The settings that a running ignition works by are not touched; the next key-on takes the new ones.
    ///
    /// # Errors
    /// [`StoreError::Image`] where what is in the slot is no image that this firmware can use, [`StoreError::EngineTurns`] and
    /// [`StoreError::NotKept`]. The old image stays in use.
    pub fn commit<S: ByteStore>(&mut self, store: &mut S) -> Result<Stored, StoreError> {
        let slot = self.target();
        self.written(store)?;
        let identity = Identity::of(&mut |at| byte_of(store, slot, at)).map_err(StoreError::Image)?;
        let generation = self.in_use.map_or(1, |stored| stored.generation.wrapping_add(1));
        write_all(store, slot.commitment_address(), &commitment(identity.checksum, generation))?;
        let stored = Stored { slot, generation, identity };
        self.in_use = Some(stored);
        Ok(stored)
    }
}

/// The commitment of an image with this checksum: for whoever programs a store as a whole.
pub fn commitment(image_checksum: u32, generation: u16) -> [u8; COMMITMENT_BYTES] {
    let [a, b, c, d] = image_checksum.to_le_bytes();
    let [low, high] = generation.to_le_bytes();
    let [e, f, g, h] = checksum(&[a, b, c, d, low, high]).to_le_bytes();
    [low, high, e, f, g, h]
}

/// The image of a slot that is whole and committed.
fn stored<S: ByteStore>(store: &mut S, slot: Slot) -> Option<Stored> {
    let mut found = [0; COMMITMENT_BYTES];
    for (address, place) in (slot.commitment_address()..).zip(&mut found) {
        *place = store.read(address);
    }
    let [low, high, ..] = found;
    let generation = u16::from_le_bytes([low, high]);
    let identity = Identity::of(&mut |at| byte_of(store, slot, at)).ok()?;
    (commitment(identity.checksum, generation) == found).then_some(Stored { slot, generation, identity })
}

fn byte_of<S: ByteStore>(store: &mut S, slot: Slot, at: usize) -> Option<u8> {
    (at < COMMITMENT_AT).then(|| store.read(slot.address().saturating_add(at)))
}

fn write_all<S: ByteStore>(store: &mut S, from: usize, bytes: &[u8]) -> Result<(), StoreError> {
    for (address, &byte) in (from..).zip(bytes) {
        if store.read(address) == byte {
            continue;
        }
        store.write(address, byte)?;
        if store.read(address) != byte {
            return Err(StoreError::NotKept { address });
        }
    }
    Ok(())
}
