//! An ignition's settings as bytes: against Python's bytes, there and back, and whatever can become of bytes.

mod golden;

use bobweight::image::{EngineSettings, IMAGE_VERSION, ImageError, LARGEST_IMAGE};
use bobweight::quantity::{Pressure, SensorVoltage};
use bobweight::strategy::{dwells, models, pickups};
use bobweight::{Atmosphere, MOST_BREAKPOINTS, PressureSensor, SensorCurve, SensorKind, SensorSettings};
use golden::settings;
use proptest::collection::btree_set;
use proptest::prelude::*;

/// Images of version 1, of every kind of part and of the fewest. They stay as they are for good: what was written into
/// an ignition must be readable by every later version.
const VERSION_1: &str = include_str!("../../truth/reference/vectors/image_version_1.csv");
/// Images of version 2: those of a reluctor and of points.
const VERSION_2: &str = include_str!("../../truth/reference/vectors/image_version_2.csv");

/// Images of version 3: those of a trim.
const VERSION_3: &str = include_str!("../../truth/reference/vectors/image_version_3.csv");

fn image_of(settings: &EngineSettings) -> Vec<u8> {
    // Begun with junk, so that a byte that is not written shows.
    let mut image = vec![0xa5; LARGEST_IMAGE];
    let length = settings.encode(&mut image).expect("the largest image has room for any");
    image.truncate(length);
    image
}

fn golden_images() -> Vec<(&'static str, Vec<u8>)> {
    let rows = [VERSION_1, VERSION_2, VERSION_3].into_iter().flat_map(|rows| rows.lines().skip(1));
    let rows = rows.map(|row| row.split_once(',').expect("a row has two cells"));
    rows.map(|(name, hex)| {
        let bytes = (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap());
        (name, bytes.collect())
    })
    .collect()
}

#[test]
fn python_makes_the_same_bytes_of_the_layout_and_they_are_read_back() {
    let images = golden_images();
    assert_eq!(images.len(), 5);
    for (name, bytes) in images {
        assert_eq!(image_of(&settings(name)), bytes, "{name}");
        assert_eq!(EngineSettings::decode(&bytes), Ok(settings(name)), "{name}");
    }
}

#[test]
fn every_bit_that_flips_is_noticed() {
    let mut flipped = 0;
    for (name, bytes) in golden_images() {
        for bit in 0..8 * bytes.len() {
            let mut damaged = bytes.clone();
            damaged[bit / 8] ^= 1 << (bit % 8);
            assert!(EngineSettings::decode(&damaged).is_err(), "{name}: bit {bit}");
            flipped += 1;
        }
    }
    println!("{flipped} images with one bit flipped, all refused");
}

#[test]
fn an_image_cut_short_anywhere_is_refused_and_what_lies_behind_it_is_nothing() {
    for (name, mut bytes) in golden_images() {
        for length in 0..bytes.len() {
            let refused = EngineSettings::decode(&bytes[..length]);
            assert_eq!(refused, Err(ImageError::Short { bytes: length }), "{name}");
        }
        bytes.extend([0xff; 9]);
        assert_eq!(EngineSettings::decode(&bytes), Ok(settings(name)), "{name}");
    }
}

/// The version is told before anything else: of a newer one not even the checksum's place is known.
#[test]
fn a_newer_version_is_refused_by_name() {
    let (_, mut bytes) = golden_images().remove(0);
    for version in IMAGE_VERSION + 1..=u8::MAX {
        bytes[4] = version;
        let refused = EngineSettings::decode(&bytes).unwrap_err();
        assert_eq!(refused, ImageError::Version { version, newest: IMAGE_VERSION });
        let words = format!("the image is of version {version}; this program reads up to version 3: update it");
        assert_eq!(refused.to_string(), words);
    }
    bytes[4] = 0;
    assert_eq!(EngineSettings::decode(&bytes), Err(ImageError::NoImage));
}

#[test]
fn an_empty_store_holds_no_image() {
    for byte in [0x00, 0xff] {
        assert_eq!(EngineSettings::decode(&[byte; LARGEST_IMAGE]), Err(ImageError::NoImage));
    }
}

/// What version 1 can hold is of version 1, so that an ignition of that version can be given it. Under the other's number neither is an image.
#[test]
fn a_version_holds_what_the_one_before_it_cannot() {
    for (name, mut bytes) in golden_images() {
        let version = match name {
            "reluctor" | "points" => 2,
            "trim" => 3,
            _ => 1,
        };
        assert_eq!((bytes[4], settings(name).image_version()), (version, version), "{name}");
        for other in (1..=IMAGE_VERSION).filter(|other| *other != version) {
            bytes[4] = other;
            let refused = EngineSettings::decode(&sealed_again(bytes.clone())).unwrap_err();
            assert!(
                matches!(
                    refused,
                    ImageError::Part(_) | ImageError::Quantity(_) | ImageError::Curve(..) | ImageError::Pickup(_)
                ),
                "{name} as {other}: {refused}"
            );
        }
    }
}

/// CRC-32/ISO-HDLC bit by bit, as in the published checks.
fn sealed_again(mut image: Vec<u8>) -> Vec<u8> {
    let end = image.len() - 4;
    let crc = !image[..end].iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |crc, _| if crc & 1 == 1 { crc >> 1 ^ 0xedb8_8320 } else { crc >> 1 })
    });
    image[end..].copy_from_slice(&crc.to_le_bytes());
    image
}

/// A wrong image with a right checksum comes from a wrong writer. Every byte gets every value: what is read is written again
/// to the same bytes, so nothing was let through or made up.
#[test]
fn under_a_right_checksum_every_byte_of_any_value_is_refused_or_kept() {
    let (mut refused, mut kept) = (0, 0);
    for (name, bytes) in golden_images() {
        for place in 0..bytes.len() - 4 {
            for value in 0..=u8::MAX {
                let mut image = bytes.clone();
                image[place] = value;
                let image = sealed_again(image);
                match EngineSettings::decode(&image) {
                    Err(error) => {
                        assert!(!error.to_string().is_empty());
                        refused += 1;
                    }
                    Ok(settings) => {
                        assert_eq!(image_of(&settings), image, "{name}: byte {place} is {value}");
                        kept += 1;
                    }
                }
            }
        }
    }
    println!("{refused} images with one byte changed under a right checksum refused, {kept} read and written the same");
    assert!(refused > 1000 && kept > 1000);
}

/// What each constructor refuses, an image is refused for, and told in its words.
#[test]
fn what_a_constructor_refuses_is_refused_in_an_image_too() {
    let bytes = image_of(&settings("fewest parts"));
    // Header 7, advances 7 x 4, speeds 4 x 4, curve 1 + 2 x 6, no vacuum.
    let (speeds, curve, pickup) = (35, 51, 65);
    let dwell = pickup + 19;
    let coil = dwell + 13;
    let cases: [(&str, usize, &[u8], &str); 10] = [
        ("initial advance", 7, &[0, 0, 91, 0], "advance of 91 crank degrees is outside"),
        ("limits crossed", 31, &[0, 0, 43, 0], "the least advance is not above"),
        ("speeds crossed", speeds + 4, &[0, 0x40, 1, 0], "below running_from"),
        ("breakpoints", curve, &[1], "a curve has 2 to 16 breakpoints"),
        ("more breakpoints than a curve can have", curve, &[17], "centrifugal curve"),
        ("a curve that turns back", curve + 7, &[0, 1, 0], "does not lie to the right"),
        ("thirteen pulses", pickup, &[13], "1 to 12 pulses"),
        ("a flank that neither rises nor falls", pickup + 1, &[2], "timing flank"),
        ("a dwell above the largest", dwell + 3, &[0x81, 0x96, 0x98, 0], "at most the largest dwell"),
        ("a duty above nine tenths", coil + 4, &[0, 0, 1, 0], "at most 90 %"),
    ];
    for (what, place, with, says) in cases {
        let mut image = bytes.clone();
        image[place..place + with.len()].copy_from_slice(with);
        let error = EngineSettings::decode(&sealed_again(image)).expect_err(what);
        assert!(error.to_string().contains(says), "{what}: {error}");
    }
}

#[test]
fn an_image_for_which_there_is_no_room_is_not_begun() {
    let whole = image_of(&settings("all parts"));
    for room in 0..whole.len() {
        let mut into = vec![0xa5; room];
        let refused = settings("all parts").encode(&mut into);
        assert_eq!(refused, Err(ImageError::Room { needed: whole.len(), room }));
        assert_ne!(into.get(..4), Some(b"BOBW".as_slice()), "room for {room} bytes");
    }
}

fn sensors() -> impl Strategy<Value = PressureSensor> {
    let volts = |steps: u32| SensorVoltage::saturating_from_bits(steps);
    let kpa = |steps: u32| Pressure::saturating_from_bits(steps);
    let kinds = prop_oneof![
        Just(SensorKind::Differential),
        Just(SensorKind::Absolute(Atmosphere::ReadAtKeyOn)),
        (50 * Pressure::STEP..=110 * Pressure::STEP)
            .prop_map(move |steps| SensorKind::Absolute(Atmosphere::Constant(kpa(steps)))),
    ];
    let points = (2..=MOST_BREAKPOINTS).prop_flat_map(|count| {
        (btree_set(0..=SensorVoltage::MAX.bits(), count), btree_set(0..=Pressure::MAX.bits(), count))
    });
    let band = btree_set(0..=SensorVoltage::MAX.bits(), 2);
    (kinds, points, band).prop_map(move |(kind, (outputs, pressures), band)| {
        let points: Vec<_> = outputs.into_iter().zip(pressures).map(|(x, y)| (volts(x), kpa(y))).collect();
        let band: Vec<_> = band.into_iter().map(volts).collect();
        let calibration = SensorCurve::new(&points).expect("points that rise");
        PressureSensor::new(SensorSettings { kind, calibration, band: (band[0], band[1]) }).expect("a sensor")
    })
}

fn engines() -> impl Strategy<Value = EngineSettings> {
    (models(), pickups(), any::<bool>(), dwells(), proptest::option::of(sensors())).prop_map(
        |(model, pickup, timing_flank_rises, dwell, sensor)| EngineSettings {
            model,
            pickup,
            timing_flank_rises,
            dwell,
            sensor,
        },
    )
}

proptest! {
    #[test]
    fn any_settings_come_back_as_they_were(settings in engines()) {
        let image = image_of(&settings);
        prop_assert!(image.len() <= LARGEST_IMAGE);
        prop_assert_eq!(EngineSettings::decode(&image), Ok(settings));
    }
}
