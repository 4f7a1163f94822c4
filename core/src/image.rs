//! An ignition's settings as bytes, and back: what is written into an ignition, and read from it to compare.
//!
//! An image holds the engine in physical units: model, pickup, dwell and the sensor's calibration. What belongs to the firmware
//! (tick rate, latency) is not in it, so one image serves any board. Decoding checks everything that the constructors check:
//! an image that decodes makes the same model as the sheet that it was made from.
//!
//! # Layout of versions 1 to 3
//! Version 3 is that of a trim, version 2 that of a pickup with a moving flank, a reluctor, or of points that bounce; everything else
//! is version 1, whatever library writes it, so a curve that an older ignition can read is written as it reads it.
//!
//! Numbers are little-endian; a quantity is its raw scaled integer ([`bits`](crate::quantity::Advance::bits)), in four bytes
//! unless the table says otherwise. A part that is absent takes no bytes, so one set of settings has one image.
//!
//! | bytes | what | unit and step |
//! | --- | --- | --- |
//! | 4 | the magic, `b"BOBW"` | |
//! | 1 | the version, 1; with a moving flank or bounce 2; with a trim 3 | |
//! | 2 | length of the whole image | bytes |
//! | 3 x 4 | initial, cranking and held advance | crank degrees BTDC / 65 536 |
//! | 4 x 4 | limits: greatest, greatest without vacuum, greatest while cranking, least | crank degrees BTDC / 65 536 |
//! | 4 x 4 | speeds: cranking below, running from, no spark above, spark again below | crank rpm / 256 |
//! | 1 + 6 n | centrifugal curve: n, then for each breakpoint speed and advance, 3 bytes each | as above |
//! | 1 | vacuum: 0 none, 1 manifold, 2 ported | |
//! | 4 | with vacuum: the greatest rate at which it is added | crank degrees per s / 65 536 |
//! | 1 + 6 n | with vacuum: its curve, depression and advance | kPa / 65 536, crank degrees / 65 536 |
//! | 2 | in version 3: how far a trim goes to the late side and to the early side | tenths of a crank degree |
//! | 1 | pulses in two crank turns | |
//! | 1 | the timing flank: 0 falls, 1 rises at the ignition's input | |
//! | 4 | angle of the timing flank | crank degrees BTDC / 65 536 |
//! | 1 | second flank: 0 none, 1 there is one; from version 2 on also 2, it moves | |
//! | 4 | with a second flank: its angle | crank degrees BTDC / 65 536 |
//! | 2 x 4 | with a moving flank: its earliest and its latest angle | crank degrees BTDC / 65 536 |
//! | 4 | lag | ns |
//! | 4 | greatest acceleration | crank rpm per s |
//! | 4 | spread of the pulses | crank degrees / 65 536 |
//! | 4 | from version 2 on: how long points bounce | ns |
//! | 1 + 6 n | dwell curve: n, then for each breakpoint voltage in 2 bytes and dwell in 4 | V / 256, ns |
//! | 4 | largest dwell | ns |
//! | 4 | largest duty | 1 / 65 536 of the period |
//! | 4 | burn time | ns |
//! | 1 | sensor: 0 none, 1 differential, 2 absolute with its atmosphere read at key-on, 3 absolute with a constant one | |
//! | 4 | with a constant atmosphere: that | kPa / 65 536 |
//! | 2 x 4 | with a sensor: lower and upper end of its band | V / 65 536 |
//! | 1 + 6 n | with a sensor: its calibration, output and pressure, 3 bytes each | V / 65 536, kPa / 65 536 |
//! | 4 | CRC-32/ISO-HDLC of all before it | |

mod bytes;
mod error;

pub use error::{ImageError, ImagePart};

use crate::advance::{AdvanceModel, AdvanceSettings, PhaseSpeeds, Vacuum, VacuumSource};
use crate::curve::{CentrifugalCurve, DwellCurve, MOST_BREAKPOINTS, SensorCurve, VacuumCurve};
use crate::dwell::{Dwell, DwellSettings};
use crate::limits::Limits;
use crate::pickup::{MovingFlank, Pickup, PickupSettings};
use crate::pressure::{Atmosphere, PressureSensor, SensorKind, SensorSettings};
use crate::quantity::{
    Acceleration, Advance, AdvanceRate, CrankAngle, CrankSpeed, Depression, Duration, Duty, Pressure, SensorVoltage,
    Voltage,
};
use crate::trim::Trim;
pub(crate) use bytes::checksum;
use bytes::{CHECKSUM, HEADER, Reader, Writer, seal};

/// The newest version that this library writes. It reads every version up to it, and writes version 1 where that can hold the
/// settings: see [`EngineSettings::image_version`].
pub const IMAGE_VERSION: u8 = 3;
/// The version of a pickup with a moving flank, or one that bounces.
const OF_OTHER_PICKUPS: u8 = 2;
/// The version of a model with a trim, whatever its pickup.
const OF_TRIM: u8 = 3;

/// Bytes of the largest image: four curves of 16 breakpoints.
pub const LARGEST_IMAGE: usize = HEADER + 107 + 4 * (1 + 6 * MOST_BREAKPOINTS) + CHECKSUM;

/// Everything that an image holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct EngineSettings {
    /// The advance.
    pub model: AdvanceModel,
    /// The pickup.
    pub pickup: Pickup,
    /// Whether the flank that times the spark rises at the ignition's input.
    pub timing_flank_rises: bool,
    /// The coil's dwell.
    pub dwell: Dwell,
    /// The vacuum sensor, where there is one.
    pub sensor: Option<PressureSensor>,
}

impl EngineSettings {
    /// The version of these settings' image: the lowest that can hold them.
    #[must_use]
    pub fn image_version(&self) -> u8 {
        version_of(&self.model, self.pickup.settings())
    }

    /// Writes these settings as an image and returns its length, at most [`LARGEST_IMAGE`].
    ///
    /// # Errors
    /// [`ImageError::Room`] where `into` is shorter than the image.
    pub fn encode(&self, into: &mut [u8]) -> Result<usize, ImageError> {
        let room = into.len();
        let mut writer = Writer::after_header(into);
        put_model(&mut writer, self.model.settings());
        if *self.model.trim() != Trim::NONE {
            let (later, earlier) = self.model.trim().tenths();
            writer.byte(later);
            writer.byte(earlier);
        }
        put_pickup(&mut writer, self.pickup.settings(), self.timing_flank_rises, self.image_version());
        put_dwell(&mut writer, self.dwell.settings());
        put_sensor(&mut writer, self.sensor.as_ref().map(PressureSensor::settings));
        let body = writer.written();
        seal(into, body, self.image_version()).ok_or(ImageError::Room { needed: HEADER + body + CHECKSUM, room })
    }

    /// The settings of an image. Bytes after its end are not looked at.
    ///
    /// # Errors
    /// [`ImageError`] says what is wrong with the image: it is none, damaged, newer than this library, or its settings are
    /// refused by the constructor that made them.
    pub fn decode(image: &[u8]) -> Result<Self, ImageError> {
        Self::decode_from(&mut |at| image.get(at).copied())
    }

    /// The settings of an image that lies where no slice reaches, such as in a chip's EEPROM: `source` gives the byte at a
    /// place, `None` beyond the last. Nothing of it is copied; it is read twice, first for the checksum.
    ///
    /// # Errors
    /// As [`EngineSettings::decode`].
    pub fn decode_from(source: &mut dyn FnMut(usize) -> Option<u8>) -> Result<Self, ImageError> {
        let identity = Identity::of(source)?;
        let version = bytes::version(source)?;
        let mut reader = Reader::new(source, &identity);
        let model = AdvanceModel::new(take_model(&mut reader)?).map_err(ImageError::Model)?;
        let model = if version >= OF_TRIM { model.with_trim(take_trim(&mut reader)?) } else { model };
        let (pickup, timing_flank_rises) = take_pickup(&mut reader, version)?;
        let pickup = Pickup::new(pickup).map_err(ImageError::Pickup)?;
        let dwell = Dwell::new(take_dwell(&mut reader)?).map_err(ImageError::Dwell)?;
        let sensor = match take_sensor(&mut reader)? {
            Some(settings) => Some(PressureSensor::new(settings).map_err(ImageError::Sensor)?),
            None => None,
        };
        if !reader.is_empty() {
            return Err(ImageError::Part(ImagePart::End));
        }
        let settings = Self { model, pickup, timing_flank_rises, dwell, sensor };
        // One set of settings has one image.
        if settings.image_version() != version {
            let part = if version >= OF_TRIM { ImagePart::Trim } else { ImagePart::SecondFlank };
            return Err(ImageError::Part(part));
        }
        Ok(settings)
    }
}

/// Which image this is: one set of settings has one image, so two curves of one checksum are the same curve, but for one
/// chance in four thousand million.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Identity {
    /// Length of the whole image in bytes.
    pub length: usize,
    /// The checksum at its end.
    pub checksum: u32,
}

impl Identity {
    /// That of an image. Header, version and checksum are right; its settings are not looked at.
    ///
    /// # Errors
    /// [`ImageError`] where the bytes are no image, damaged, or newer than this library.
    pub fn of(source: &mut dyn FnMut(usize) -> Option<u8>) -> Result<Self, ImageError> {
        bytes::identify(source, IMAGE_VERSION)
    }
}

fn version_of(model: &AdvanceModel, pickup: &PickupSettings) -> u8 {
    if *model.trim() != Trim::NONE {
        return OF_TRIM;
    }
    if pickup.moving_flank.is_some() || pickup.bounce.bits() > 0 { OF_OTHER_PICKUPS } else { 1 }
}

fn put_model(to: &mut Writer<'_>, s: &AdvanceSettings) {
    for advance in [s.initial, s.cranking, s.held] {
        to.signed(advance.bits());
    }
    let Limits { greatest, greatest_without_vacuum, greatest_cranking, least } = s.limits;
    for advance in [greatest, greatest_without_vacuum, greatest_cranking, least] {
        to.signed(advance.bits());
    }
    let PhaseSpeeds { cranking_below, running_from, no_spark_above, spark_again_below } = s.speeds;
    for speed in [cranking_below, running_from, no_spark_above, spark_again_below] {
        to.unsigned(speed.bits());
    }
    to.byte(s.centrifugal.count() as u8);
    for i in 0..s.centrifugal.count() {
        let (speed, advance) = s.centrifugal.breakpoint(i);
        to.three(speed.bits());
        to.three(advance.bits() as u32);
    }
    let Some(vacuum) = &s.vacuum else { return to.byte(0) };
    to.byte(match vacuum.source {
        VacuumSource::Manifold => 1,
        VacuumSource::Ported => 2,
    });
    to.signed(vacuum.greatest_rate.bits());
    to.byte(vacuum.curve.count() as u8);
    for i in 0..vacuum.curve.count() {
        let (depression, advance) = vacuum.curve.breakpoint(i);
        to.three(depression.bits());
        to.three(advance.bits() as u32);
    }
}

fn take_model(from: &mut Reader<'_>) -> Result<AdvanceSettings, ImageError> {
    let mut advances = [crate::advance::NONE; 7];
    for advance in &mut advances {
        *advance = Advance::from_bits(from.signed()?)?;
    }
    let [initial, cranking, held, greatest, greatest_without_vacuum, greatest_cranking, least] = advances;
    let mut speeds = [CrankSpeed::MIN; 4];
    for speed in &mut speeds {
        *speed = CrankSpeed::from_bits(from.unsigned()?)?;
    }
    let [cranking_below, running_from, no_spark_above, spark_again_below] = speeds;
    let mut breakpoints = [(CrankSpeed::MIN, crate::advance::NONE); MOST_BREAKPOINTS];
    let breakpoints = from.breakpoints(ImagePart::Centrifugal, &mut breakpoints, |from| {
        Ok((CrankSpeed::from_bits(from.three()?)?, Advance::from_bits(from.signed_three()?)?))
    })?;
    let centrifugal =
        CentrifugalCurve::new(breakpoints).map_err(|error| ImageError::Curve(ImagePart::Centrifugal, error))?;
    Ok(AdvanceSettings {
        initial,
        cranking,
        held,
        centrifugal,
        vacuum: take_vacuum(from)?,
        limits: Limits { greatest, greatest_without_vacuum, greatest_cranking, least },
        speeds: PhaseSpeeds { cranking_below, running_from, no_spark_above, spark_again_below },
    })
}

fn take_vacuum(from: &mut Reader<'_>) -> Result<Option<Vacuum>, ImageError> {
    let source = match from.byte()? {
        0 => return Ok(None),
        1 => VacuumSource::Manifold,
        2 => VacuumSource::Ported,
        _ => return Err(ImageError::Part(ImagePart::Vacuum)),
    };
    let greatest_rate = AdvanceRate::from_bits(from.signed()?)?;
    let mut breakpoints = [(Depression::MIN, crate::advance::NONE); MOST_BREAKPOINTS];
    let breakpoints = from.breakpoints(ImagePart::Vacuum, &mut breakpoints, |from| {
        Ok((Depression::from_bits(from.three()?)?, Advance::from_bits(from.signed_three()?)?))
    })?;
    let curve = VacuumCurve::new(breakpoints).map_err(|error| ImageError::Curve(ImagePart::Vacuum, error))?;
    Ok(Some(Vacuum { curve, source, greatest_rate }))
}

fn take_trim(from: &mut Reader<'_>) -> Result<Trim, ImageError> {
    Trim::from_tenths(from.byte()?, from.byte()?).map_err(|_| ImageError::Part(ImagePart::Trim))
}

fn put_pickup(to: &mut Writer<'_>, s: &PickupSettings, timing_flank_rises: bool, version: u8) {
    to.byte(s.pulses_in_two_turns);
    to.byte(u8::from(timing_flank_rises));
    to.signed(s.angle.bits());
    match (s.second_flank_angle, s.moving_flank) {
        (None, None) => to.byte(0),
        (Some(angle), _) => {
            to.byte(1);
            to.signed(angle.bits());
        }
        (None, Some(MovingFlank { earliest, latest })) => {
            to.byte(2);
            to.signed(earliest.bits());
            to.signed(latest.bits());
        }
    }
    to.unsigned(s.lag.bits());
    to.unsigned(s.greatest_acceleration.bits());
    to.signed(s.pulse_spread.bits());
    if version >= OF_OTHER_PICKUPS {
        to.unsigned(s.bounce.bits());
    }
}

fn take_pickup(from: &mut Reader<'_>, version: u8) -> Result<(PickupSettings, bool), ImageError> {
    let pulses_in_two_turns = from.byte()?;
    let timing_flank_rises = match from.byte()? {
        0 => false,
        1 => true,
        _ => return Err(ImageError::Part(ImagePart::TimingFlank)),
    };
    let angle = CrankAngle::from_bits(from.signed()?)?;
    let (mut second_flank_angle, mut moving_flank) = (None, None);
    match from.byte()? {
        0 => {}
        1 => second_flank_angle = Some(CrankAngle::from_bits(from.signed()?)?),
        2 => {
            let earliest = CrankAngle::from_bits(from.signed()?)?;
            moving_flank = Some(MovingFlank { earliest, latest: CrankAngle::from_bits(from.signed()?)? });
        }
        _ => return Err(ImageError::Part(ImagePart::SecondFlank)),
    }
    let settings = PickupSettings {
        pulses_in_two_turns,
        angle,
        second_flank_angle,
        moving_flank,
        lag: Duration::from_bits(from.unsigned()?)?,
        greatest_acceleration: Acceleration::from_bits(from.unsigned()?)?,
        pulse_spread: CrankAngle::from_bits(from.signed()?)?,
        bounce: if version >= OF_OTHER_PICKUPS { Duration::from_bits(from.unsigned()?)? } else { Duration::MIN },
    };
    Ok((settings, timing_flank_rises))
}

fn put_dwell(to: &mut Writer<'_>, s: &DwellSettings) {
    to.byte(s.curve.count() as u8);
    for i in 0..s.curve.count() {
        let (voltage, dwell) = s.curve.breakpoint(i);
        to.two(voltage.bits());
        to.unsigned(dwell.bits());
    }
    to.unsigned(s.largest.bits());
    to.unsigned(s.largest_duty.bits());
    to.unsigned(s.burn_time.bits());
}

fn take_dwell(from: &mut Reader<'_>) -> Result<DwellSettings, ImageError> {
    let mut breakpoints = [(Voltage::MIN, Duration::MIN); MOST_BREAKPOINTS];
    let breakpoints = from.breakpoints(ImagePart::Dwell, &mut breakpoints, |from| {
        Ok((Voltage::from_bits(from.two()?)?, Duration::from_bits(from.unsigned()?)?))
    })?;
    Ok(DwellSettings {
        curve: DwellCurve::new(breakpoints).map_err(|error| ImageError::Curve(ImagePart::Dwell, error))?,
        largest: Duration::from_bits(from.unsigned()?)?,
        largest_duty: Duty::from_bits(from.unsigned()?)?,
        burn_time: Duration::from_bits(from.unsigned()?)?,
    })
}

fn put_sensor(to: &mut Writer<'_>, settings: Option<&SensorSettings>) {
    let Some(s) = settings else { return to.byte(0) };
    match s.kind {
        SensorKind::Differential => to.byte(1),
        SensorKind::Absolute(Atmosphere::ReadAtKeyOn) => to.byte(2),
        SensorKind::Absolute(Atmosphere::Constant(pressure)) => {
            to.byte(3);
            to.unsigned(pressure.bits());
        }
    }
    let (lower, upper) = s.band;
    to.unsigned(lower.bits());
    to.unsigned(upper.bits());
    to.byte(s.calibration.count() as u8);
    for i in 0..s.calibration.count() {
        let (output, pressure) = s.calibration.breakpoint(i);
        to.three(output.bits());
        to.three(pressure.bits());
    }
}

fn take_sensor(from: &mut Reader<'_>) -> Result<Option<SensorSettings>, ImageError> {
    let kind = match from.byte()? {
        0 => return Ok(None),
        1 => SensorKind::Differential,
        2 => SensorKind::Absolute(Atmosphere::ReadAtKeyOn),
        3 => SensorKind::Absolute(Atmosphere::Constant(Pressure::from_bits(from.unsigned()?)?)),
        _ => return Err(ImageError::Part(ImagePart::Sensor)),
    };
    let band = (SensorVoltage::from_bits(from.unsigned()?)?, SensorVoltage::from_bits(from.unsigned()?)?);
    let mut breakpoints = [(SensorVoltage::MIN, Pressure::MIN); MOST_BREAKPOINTS];
    let breakpoints = from.breakpoints(ImagePart::Sensor, &mut breakpoints, |from| {
        Ok((SensorVoltage::from_bits(from.three()?)?, Pressure::from_bits(from.three()?)?))
    })?;
    let calibration = SensorCurve::new(breakpoints).map_err(|error| ImageError::Curve(ImagePart::Sensor, error))?;
    Ok(Some(SensorSettings { kind, calibration, band }))
}
