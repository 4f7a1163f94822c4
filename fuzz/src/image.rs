//! An ignition's image.

use bobweight::image::{EngineSettings, IMAGE_VERSION, LARGEST_IMAGE};

/// What becomes of bytes as an image: no panic, and write, read and write agree to the byte.
///
/// The bytes are taken as they are, and as the body of an image of each version whose header and checksum are right, for chance
/// finds no 32-bit checksum.
pub fn image(bytes: &[u8]) {
    read(bytes);
    for version in 1..=IMAGE_VERSION {
        read(&image_around(version, bytes));
    }
}

fn read(image: &[u8]) {
    match EngineSettings::decode(image) {
        Err(error) => assert!(!error.to_string().is_empty()),
        Ok(settings) => {
            let mut again = [0xa5; LARGEST_IMAGE];
            let length = settings.encode(&mut again).expect("what was read fits the largest image");
            assert_eq!(again[..length], image[..length], "{settings:?}");
            assert_eq!(EngineSettings::decode(&again), Ok(settings));
        }
    }
}

/// By another implementation of the checksum.
fn image_around(version: u8, body: &[u8]) -> Vec<u8> {
    let mut image = b"BOBW".to_vec();
    image.push(version);
    image.extend(u16::try_from(body.len() + 11).unwrap_or(u16::MAX).to_le_bytes());
    image.extend(body);
    image.extend(crc32fast::hash(&image).to_le_bytes());
    image
}
