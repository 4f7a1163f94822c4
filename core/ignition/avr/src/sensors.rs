//! The manifold's sensor on ADC0, the battery on ADC1, the throttle switch and the hold jumper.

use crate::pins::HOLD;
use crate::register::{ADCH, ADCL, ADCSRA, ADMUX, DIDR0, PIND, PORTD, Quiet, Shared};
use bobweight::quantity::{SensorVoltage, Voltage};

/// Closed throttle: a switch to earth.
const THROTTLE: u8 = 1 << 4;

/// The reference is the supply, 5 V: a ratiometric sensor then needs no exact supply.
const REFERENCE_IS_SUPPLY: u8 = 1 << 6;
const ENABLED: u8 = 1 << 7;
const START: u8 = 1 << 6;
const INTERRUPT: u8 = 1 << 3;
/// The converter's clock is 125 kHz; it is exact from 50 to 200 kHz.
const CLOCK_BY_128: u8 = 0b111;

/// What the converter has measured.
#[derive(Clone, Copy)]
pub enum Sample {
    /// Output of the manifold's sensor.
    Manifold(SensorVoltage),
    /// The battery.
    Battery(Voltage),
}

static SAMPLE: Shared<Option<Sample>> = Shared::new(None);

/// Switches the converter and the pull-ups on.
pub fn start() {
    PORTD.set(THROTTLE);
    PORTD.set(HOLD);
    DIDR0.write(0b11);
    ADCSRA.write(ENABLED | INTERRUPT | CLOCK_BY_128);
}

/// Starts a measurement of the manifold, or else of the battery. The answer comes in 0.1 ms.
pub fn measure(manifold: bool) {
    ADMUX.write(REFERENCE_IS_SUPPLY | u8::from(!manifold));
    ADCSRA.write(ENABLED | START | INTERRUPT | CLOCK_BY_128);
}

/// The converter's interrupt.
pub fn measured(quiet: Quiet) {
    let low = ADCL.read();
    let steps = u16::from_le_bytes([low, ADCH.read()]);
    let sample = if ADMUX.read() & 1 == 0 {
        // 5 V / 1 024 are 320 steps of a sensor's voltage; half a step lies in the middle of what the converter calls the same.
        Sample::Manifold(SensorVoltage::saturating_from_bits(u32::from(steps) * 320 + 160))
    } else {
        // A quarter of the battery's voltage: 20 V / 1 024 are 5 steps of a voltage.
        Sample::Battery(Voltage::saturating_from_bits(steps * 5 + 2))
    };
    SAMPLE.with(quiet, |latest| *latest = Some(sample));
}

/// The sample that waits, if there is one.
pub fn next(quiet: Quiet) -> Option<Sample> {
    SAMPLE.with(quiet, Option::take)
}

/// Whether a sample waits.
pub fn has_sample(quiet: Quiet) -> bool {
    SAMPLE.with(quiet, |sample| sample.is_some())
}

/// Whether the throttle is closed.
pub fn throttle_closed() -> bool {
    PIND.read() & THROTTLE == 0
}

/// Whether the hold jumper is in its place.
pub fn hold_jumper() -> bool {
    PIND.read() & HOLD == 0
}
