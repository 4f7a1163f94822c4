//! The two slots of an ignition's store, with power cut at every byte: it boots with the old curve or the new one.

mod golden;

use bobweight::image::{EngineSettings, Identity, LARGEST_IMAGE};
use bobweight::store::{ByteStore, Slot, Slots, StoreError, commitment};
use golden::settings;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const BYTES: usize = 1_024;

/// An EEPROM whose power goes, or whose engine turns, after so many writes.
#[derive(Clone)]
struct Eeprom {
    bytes: [u8; BYTES],
    /// Writes that are still done whole.
    whole: usize,
    /// What is left where the next one was being done.
    spoilt: u8,
    /// An edge comes instead of the power going: the byte is not begun.
    edge: bool,
    /// A byte that keeps nothing.
    worn: Option<usize>,
    written: usize,
}

impl Eeprom {
    fn erased() -> Self {
        Self { bytes: [0xff; BYTES], whole: usize::MAX, spoilt: 0, edge: false, worn: None, written: 0 }
    }

    fn cut_after(mut self, whole: usize, spoilt: u8) -> Self {
        (self.whole, self.spoilt) = (whole, spoilt);
        self
    }

    fn with_power(mut self) -> Self {
        self.whole = usize::MAX;
        self
    }
}

impl ByteStore for Eeprom {
    fn read(&mut self, address: usize) -> u8 {
        self.bytes[address]
    }

    fn write(&mut self, address: usize, value: u8) -> Result<(), StoreError> {
        if self.written >= self.whole {
            if !self.edge {
                self.bytes[address] = self.spoilt;
            }
            return Err(StoreError::EngineTurns);
        }
        self.written += 1;
        if self.worn != Some(address) {
            self.bytes[address] = value;
        }
        Ok(())
    }
}

fn image_of(settings: &EngineSettings) -> Vec<u8> {
    let mut image = vec![0; LARGEST_IMAGE];
    let length = settings.encode(&mut image).unwrap();
    image.truncate(length);
    image
}

/// As a board does it: sixteen bytes at a time, then the commitment.
fn write(store: &mut Eeprom, settings: &EngineSettings) -> Result<(), StoreError> {
    store.written = 0;
    let (mut slots, _) = Slots::open(store);
    for (number, piece) in image_of(settings).chunks(16).enumerate() {
        slots.write(store, 16 * number, piece)?;
    }
    slots.commit(store).map(drop)
}

/// What the next key-on finds; which image it says that it is must be the one whose settings it gives.
fn boot(store: &mut Eeprom) -> Option<EngineSettings> {
    let (slots, settings) = Slots::open(store);
    let said = slots.in_use().map(|stored| stored.identity);
    let image = settings.as_ref().map(image_of);
    assert_eq!(said, image.map(|image| Identity::of(&mut |at| image.get(at).copied()).unwrap()));
    settings
}

/// An engine like the one of fewest parts with another initial timing: an image of the same length, most bytes the same.
fn other_short(initial: i32) -> EngineSettings {
    let mut short = settings("fewest parts");
    let mut advance = *short.model.settings();
    advance.initial = bobweight::quantity::Advance::from_bits(initial << 16).unwrap();
    short.model = bobweight::AdvanceModel::new(advance).unwrap();
    short
}

/// Stores that a write can begin with: new, one curve, two curves, so many that both slots were used, and one full of
/// something else.
fn beginnings(old: &EngineSettings, older: &EngineSettings) -> Vec<(&'static str, Eeprom, Option<EngineSettings>)> {
    let mut one = Eeprom::erased();
    write(&mut one, old).unwrap();
    let mut two = Eeprom::erased();
    write(&mut two, older).unwrap();
    write(&mut two, old).unwrap();
    let mut three = two.clone();
    write(&mut three, older).unwrap();
    write(&mut three, old).unwrap();
    write(&mut three, old).unwrap();
    let mut strange = Eeprom::erased();
    strange.bytes.iter_mut().enumerate().for_each(|(at, byte)| *byte = u8::try_from(at * 37 % 251).unwrap_or(0));
    vec![
        ("erased", Eeprom::erased(), None),
        ("one curve", one, Some(*old)),
        ("two curves", two, Some(*old)),
        ("five writes", three, Some(*old)),
        ("something else", strange, None),
    ]
}

fn writes_of(begin: &Eeprom, new: &EngineSettings) -> usize {
    let mut store = begin.clone();
    write(&mut store, new).unwrap();
    store.written
}

fn spoilt_values(rng: &mut ChaCha8Rng) -> Vec<u8> {
    [0x00, 0xff].into_iter().chain((0..14).map(|_| rng.random())).collect()
}

#[test]
fn power_cut_at_every_byte_leaves_the_old_curve_or_the_new() {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let (mut old_booted, mut new_booted, mut none_booted) = (0, 0, 0);
    let (long, short) = (settings("all parts"), settings("fewest parts"));
    for (old, older, new) in
        [(&long, &short, &other_short(9)), (&short, &other_short(9), &long), (&short, &long, &short)]
    {
        for (what, begin, before) in beginnings(old, older) {
            let writes = writes_of(&begin, new);
            for cut in 0..writes {
                for spoilt in spoilt_values(&mut rng) {
                    let mut store = begin.clone().cut_after(cut, spoilt);
                    assert!(write(&mut store, new).is_err());
                    let booted = boot(&mut store);
                    assert!(
                        booted == before || booted == Some(*new),
                        "{what}: cut in write {cut} of {writes}: {booted:?}"
                    );
                    if before != Some(*new) {
                        let complete = booted == Some(*new);
                        assert!(!complete || cut + 1 == writes, "{what}: committed before the last byte, at {cut}");
                    }
                    match booted {
                        None => none_booted += 1,
                        Some(booted) if booted == *new => new_booted += 1,
                        Some(_) => old_booted += 1,
                    }
                }
            }
            let mut store = begin.clone();
            write(&mut store, new).unwrap();
            assert_eq!(boot(&mut store), Some(*new), "{what}: not cut at all");
        }
    }
    println!(
        "{} single cuts: {old_booted} booted with the old curve, {new_booted} with the new, {none_booted} with none, there having \
         been none; 0 with anything else",
        old_booted + new_booted + none_booted
    );
    assert!(old_booted > 5_000 && new_booted > 0 && none_booted > 5_000);
}

/// After the first cut the curve is written again, the same one or a third, and cut again.
#[test]
fn every_pair_of_cuts_leaves_a_curve_that_was_written_whole() {
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let (old, older, new) = (settings("fewest parts"), other_short(7), other_short(9));
    let mut booted_with = [0_usize; 4];
    for (what, begin, before) in beginnings(&old, &older) {
        for second in [new, other_short(10)] {
            for first_cut in 0..writes_of(&begin, &new) {
                let spoilt = rng.random();
                let mut once = begin.clone().cut_after(first_cut, spoilt);
                write(&mut once, &new).unwrap_err();
                let between = boot(&mut once);
                let once = once.with_power();
                let writes = writes_of(&once, &second);
                for second_cut in 0..writes {
                    let mut twice = once.clone().cut_after(second_cut, rng.random());
                    write(&mut twice, &second).unwrap_err();
                    let booted = boot(&mut twice);
                    let known = booted == between || booted == Some(second);
                    assert!(known, "{what}: cuts in write {first_cut} and {second_cut}: {booted:?}");
                    let place = [before, Some(new), Some(second), None].iter().position(|one| *one == booted);
                    booted_with[place.expect("one that was written whole, or none")] += 1;
                    // The third time nothing cuts it.
                    let mut third = twice.with_power();
                    write(&mut third, &second).unwrap();
                    assert_eq!(boot(&mut third), Some(second), "{what}: cuts in write {first_cut} and {second_cut}");
                }
            }
        }
    }
    let [as_before, first, second, none] = booted_with;
    println!(
        "{} pairs of cuts: {as_before} booted as before, {first} with the curve of the first write, {second} with that of the \
         second, {none} with none; 0 with anything else",
        booted_with.iter().sum::<usize>()
    );
    assert!(as_before > 10_000);
}

#[test]
fn an_edge_ends_a_write_and_the_byte_is_not_begun() {
    let (old, new) = (settings("all parts"), other_short(9));
    let mut begin = Eeprom::erased();
    write(&mut begin, &old).unwrap();
    for cut in 0..writes_of(&begin, &new) {
        let mut store = begin.clone().cut_after(cut, 0);
        store.edge = true;
        let before = store.bytes;
        assert_eq!(write(&mut store, &new), Err(StoreError::EngineTurns));
        let changed = before.iter().zip(&store.bytes).filter(|(a, b)| a != b).count();
        assert!(changed <= cut);
        assert_eq!(boot(&mut store), Some(old));
    }
}

#[test]
fn a_worn_byte_is_told_and_the_old_curve_stays() {
    let (old, new) = (settings("fewest parts"), settings("all parts"));
    let mut begin = Eeprom::erased();
    write(&mut begin, &old).unwrap();
    let mut told = 0;
    for address in Slot::Two.address()..BYTES {
        let mut store = begin.clone();
        store.worn = Some(address);
        match write(&mut store, &new) {
            Err(error) => {
                assert_eq!(error, StoreError::NotKept { address });
                assert_eq!(boot(&mut store), Some(old));
                told += 1;
            }
            // Not a byte of the image, or one that was right already.
            Ok(()) => assert_eq!(boot(&mut store), Some(new)),
        }
    }
    assert!(told > image_of(&new).len() / 2, "{told}");
}

#[test]
fn a_slot_is_never_committed_with_what_is_no_image() {
    let old = settings("all parts");
    let mut store = Eeprom::erased();
    write(&mut store, &old).unwrap();
    let (mut slots, _) = Slots::open(&mut store);
    let mut image = image_of(&other_short(9));
    image[20] ^= 1;
    slots.write(&mut store, 0, &image).unwrap();
    assert!(matches!(slots.commit(&mut store), Err(StoreError::Image(_))));
    assert_eq!(boot(&mut store), Some(old));
    assert_eq!(slots.write(&mut store, LARGEST_IMAGE - 3, &[0; 4]), Err(StoreError::Outside));
    assert_eq!(slots.write(&mut store, usize::MAX, &[0; 4]), Err(StoreError::Outside));
}

/// Sixteen bits of generations wrap after 65 536 writes; no EEPROM lives so long, and nothing breaks where one does.
#[test]
fn the_newer_of_two_slots_is_known_across_the_wrap() {
    for generation in [1_u16, 2, 0x7fff, 0x8000, 0xfffe, 0xffff, 0] {
        let (old, new) = (settings("fewest parts"), other_short(9));
        for (newer, older) in [(Slot::One, Slot::Two), (Slot::Two, Slot::One)] {
            let mut store = Eeprom::erased();
            for (slot, settings, generation) in [(older, &old, generation), (newer, &new, generation.wrapping_add(1))] {
                let image = image_of(settings);
                let checksum = u32::from_le_bytes(*image.last_chunk().unwrap());
                store.bytes[slot.address()..][..image.len()].copy_from_slice(&image);
                store.bytes[slot.commitment_address()..][..6].copy_from_slice(&commitment(checksum, generation));
            }
            assert_eq!(boot(&mut store), Some(new), "generation {generation} in {older:?}");
        }
    }
}
