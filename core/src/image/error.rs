//! Why bytes are no image.

use crate::advance::ModelError;
use crate::curve::CurveError;
use crate::dwell::DwellError;
use crate::pickup::PickupError;
use crate::pressure::SensorError;
use crate::quantity::OutOfRange;
use core::fmt;

/// A part of an image.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum ImagePart {
    /// The centrifugal curve.
    Centrifugal,
    /// The vacuum unit and its curve.
    Vacuum,
    /// The trim.
    Trim,
    /// Which way the pickup's timing flank moves.
    TimingFlank,
    /// The pickup's second flank.
    SecondFlank,
    /// The dwell curve.
    Dwell,
    /// The vacuum sensor.
    Sensor,
    /// Its end: there are bytes too many, or too few.
    End,
}

impl fmt::Display for ImagePart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Centrifugal => "centrifugal curve",
            Self::Vacuum => "vacuum advance",
            Self::Trim => "trim",
            Self::TimingFlank => "timing flank",
            Self::SecondFlank => "second flank",
            Self::Dwell => "dwell curve",
            Self::Sensor => "vacuum sensor",
            Self::End => "end",
        })
    }
}

/// Why bytes are no image, or settings do not fit where an image was to go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum ImageError {
    /// There is not enough room for the image.
    Room {
        /// Bytes that it takes.
        needed: usize,
        /// Bytes that there are.
        room: usize,
    },
    /// The bytes end before the image does: so many there are.
    Short {
        /// Bytes that there are.
        bytes: usize,
    },
    /// It does not begin like an image: an empty store, or something else.
    NoImage,
    /// Of a version that this library does not read.
    Version {
        /// The image's.
        version: u8,
        /// The newest that this library reads.
        newest: u8,
    },
    /// It is damaged: the checksum does not fit.
    Checksum {
        /// The checksum in the image.
        stored: u32,
        /// That of its bytes.
        computed: u32,
    },
    /// A part is not as the layout has it.
    Part(ImagePart),
    /// A quantity is out of its range.
    Quantity(OutOfRange),
    /// Breakpoints that make no curve.
    Curve(ImagePart, CurveError),
    /// Settings that make no model.
    Model(ModelError),
    /// Settings that make no pickup.
    Pickup(PickupError),
    /// Settings that make no dwell.
    Dwell(DwellError),
    /// Settings that make no sensor.
    Sensor(SensorError),
}

impl From<OutOfRange> for ImageError {
    fn from(error: OutOfRange) -> Self {
        Self::Quantity(error)
    }
}

impl fmt::Display for ImageError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Room { needed, room } => write!(f, "the image takes {needed} bytes, and there are {room}"),
            Self::Short { bytes } => write!(f, "the image is cut short after {bytes} bytes"),
            Self::NoImage => f.write_str("there is no image"),
            Self::Version { version, newest } => {
                write!(f, "the image is of version {version}; this program reads up to version {newest}: update it")
            }
            Self::Checksum { stored, computed } => {
                write!(f, "the image is damaged: its checksum is {stored:08x}, that of its bytes {computed:08x}")
            }
            Self::Part(part) => write!(f, "the image's {part} is not as it should be"),
            Self::Quantity(error) => write!(f, "in the image: {error}"),
            Self::Curve(part, error) => write!(f, "the image's {part}: {error}"),
            Self::Model(error) => write!(f, "the image's advance: {error}"),
            Self::Pickup(error) => write!(f, "the image's pickup: {error}"),
            Self::Dwell(error) => write!(f, "the image's dwell: {error}"),
            Self::Sensor(error) => write!(f, "the image's sensor: {error}"),
        }
    }
}

impl core::error::Error for ImageError {
    fn source(&self) -> Option<&(dyn core::error::Error + 'static)> {
        match self {
            Self::Quantity(error) => Some(error),
            Self::Curve(_, error) => Some(error),
            Self::Model(error) => Some(error),
            Self::Pickup(error) => Some(error),
            Self::Dwell(error) => Some(error),
            Self::Sensor(error) => Some(error),
            _ => None,
        }
    }
}
