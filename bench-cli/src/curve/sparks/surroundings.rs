//! What the sheet says of starter, battery, coil and cap, and what is assumed where it does not.

use crate::curve::figures::rotor;
use crate::quantity::of_core::{rpm_of, speed};
use crate::sheet::{Ballast, Key, Settings, Sheet, SheetError};
use crate::words::number::{short, whole};
use bobweight::Circuit;
use bobweight::quantity::{CrankAngle, Current, Energy, Inductance, Power, Resistance, Swing, Voltage};
use bobweight::sparks::{Asked, Battery, Cap, Coil, Starter, Surroundings};

/// A swing of 3 to 1: an engine in good compression. Common practice, no source.
const USUAL_SWING: f64 = 3.0;

/// What stands around an ignition, by its sheet.
pub(super) struct Stated {
    pub around: Surroundings,
    pub asked: Asked,
    pub assumed: Vec<String>,
}

pub(super) fn of(sheet: &Sheet, settings: &Settings) -> Result<Stated, SheetError> {
    let mut assumed = Vec::new();
    let around = Surroundings {
        starter: starter(sheet, settings, &mut assumed),
        battery: battery(sheet, settings, &mut assumed)?,
        coil: coil(sheet),
        cap: cap(sheet, settings)?,
    };
    let asked = Asked {
        least_energy: bits(&sheet.coil.least_energy_j, 1e6, Energy::saturating_from_bits),
        greatest_current: bits(&sheet.coil.greatest_current_a, 1e3, Current::saturating_from_bits),
        greatest_heat: bits(&sheet.coil.greatest_heat_w, 1e3, Power::saturating_from_bits),
    };
    Ok(Stated { around, asked, assumed })
}

/// The swing of the sheet, or the usual one.
pub fn swing(sheet: &Sheet) -> Swing {
    let swing = sheet.starter.swing.value().copied().unwrap_or(USUAL_SWING);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the cast saturates, and so does the swing"
    )]
    let bits = (swing * f64::from(Swing::STEP)).round() as u16;
    Swing::saturating_from_bits(bits)
}

fn starter(sheet: &Sheet, settings: &Settings, assumed: &mut Vec<String>) -> Starter {
    let swing = swing(sheet);
    let fastest = rpm_of(settings.model.settings().speeds.running_from);
    let said = sheet.starter.speed_crank_rpm.value().copied();
    let crank_rpm = said.unwrap_or_else(|| {
        assumed.push(format!(
            "the starter turns the crank no faster than {} crank rpm at any moment, where cranking ends: `starter.speed` and \
             `starter.swing` would say",
            whole(fastest)
        ));
        // The fastest moment is the root of the swing times the mean.
        fastest / (f64::from(swing.bits()) / f64::from(Swing::STEP)).sqrt()
    });
    Starter { fastest: speed(crank_rpm), swing }
}

fn battery(sheet: &Sheet, settings: &Settings, assumed: &mut Vec<String>) -> Result<Battery, SheetError> {
    let curve = &settings.dwell.settings().curve;
    let ends = [curve.breakpoint(0).0, curve.breakpoint(curve.count()).0];
    let table = &sheet.battery;
    let mut range = |key: &Key<[f64; 2]>, assume: [Voltage; 2], when: &str| match key.value() {
        Some([least, greatest]) if least > greatest => Err(key.refuse(
            format!("runs from {} V down to {} V", short(*least, 2), short(*greatest, 2)),
            "the least first",
            "write the lower voltage first",
        )),
        Some(range) => Ok(range.map(voltage)),
        None => {
            assumed.push(format!(
                "the battery has {} to {} V {when}: `{}` would say",
                short(volts(assume[0]), 2),
                short(volts(assume[1]), 2),
                key.place().key()
            ));
            Ok(assume)
        }
    };
    let cranking = range(&table.cranking_volts, ends, "while the starter turns")?;
    let supply = sheet.engine.supply.value().map_or(ends[0], |supply| voltage(supply.volts));
    let running = range(&table.running_volts, [supply.clamp(ends[0], ends[1]), ends[1]], "while the engine runs")?;
    Ok(Battery { cranking, running })
}

/// The coil, where the sheet says what it is.
fn coil(sheet: &Sheet) -> Option<Coil> {
    let table = &sheet.coil;
    let loop_ohm = *table.resistance_ohm.value()?;
    let ballast_ohm = table.ballast_ohm.value().copied().unwrap_or(0.0).min(loop_ohm);
    let milliohms = |ohms: f64| Resistance::saturating_from_bits(rounded(ohms * 1e3));
    Some(Coil {
        circuit: Circuit {
            winding: milliohms(loop_ohm - ballast_ohm),
            ballast: milliohms(ballast_ohm),
            inductance: Inductance::saturating_from_bits(rounded(table.inductance_h.value()? * 1e6)),
            driver_drop: voltage(*table.driver_drop_volts.value()?),
        },
        ballast_bypassed: table.ballast_while_cranking.value() == Some(&Ballast::Bypassed),
    })
}

/// The cap of the old distributor. An engine of one cylinder has none that matters.
fn cap(sheet: &Sheet, settings: &Settings) -> Result<Option<Cap>, SheetError> {
    let cylinders = *sheet.engine.cylinders.get()?;
    let figures = match rotor::figures(sheet, &settings.model) {
        Ok(figures) => figures,
        // Without a word on the old distributor there is none, or nobody has looked at it yet.
        Err(error) if error.is_missing_key() || error.is_not_driven() => return Ok(None),
        Err(error) => return Err(error),
    };
    if cylinders < 2 {
        return Ok(None);
    }
    let margin = sheet.distributor.tower_margin_crank_degrees.value().copied().unwrap_or(0.0);
    Ok(Some(Cap {
        towers: u8::try_from(cylinders).unwrap_or(u8::MAX),
        line_up: angle(figures.line_up_crank_degrees),
        margin: angle(margin),
        carried: rotor::carried(sheet)?,
    }))
}

#[expect(clippy::cast_possible_truncation, reason = "the cast saturates, and so does the angle")]
fn angle(crank_degrees: f64) -> CrankAngle {
    CrankAngle::saturating_from_bits((crank_degrees * f64::from(CrankAngle::STEP)).round() as i32)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, and so does the voltage"
)]
fn voltage(volts: f64) -> Voltage {
    Voltage::saturating_from_bits((volts * f64::from(Voltage::STEP)).round() as u16)
}

fn volts(voltage: Voltage) -> f64 {
    f64::from(voltage.bits()) / f64::from(Voltage::STEP)
}

fn bits<T>(key: &Key<f64>, step: f64, of: impl Fn(u32) -> T) -> Option<T> {
    key.value().map(|value| of(rounded(value * step)))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, and so do the quantities"
)]
fn rounded(steps: f64) -> u32 {
    steps.round() as u32
}
