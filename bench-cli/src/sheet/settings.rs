//! From the sheet to the core: its quantities, curves and settings, and every refusal of the core back to its line.

use super::curve::VacuumBreakpoint;
use super::driven::driven;
use super::error::SheetError;
use super::key::Key;
use super::{CentrifugalBreakpoint, DwellPoint, PickupKind, PickupPlace, Sheet, VacuumSource};
use bobweight::quantity::{
    Acceleration, Advance, AdvanceRate, CrankAngle, CrankSpeed, Depression, Duration, Duty, OutOfRange, TickRate,
    Voltage,
};
use bobweight::{
    AdvanceModel, AdvanceSettings, CentrifugalCurve, CurveError, Dwell, DwellCurve, DwellError, DwellSettings,
    Firmware, Limit, Limits, ModelError, MovingFlank, PhaseSpeeds, Pickup, PickupError, PickupSettings, Timetable,
    TimetableError, Trim, Vacuum, VacuumCurve,
};

mod remedy;

use remedy::{Parts, remedy, static_advance};

const NANOSECONDS: f64 = 1e9;

/// Everything that an ignition is made of, from a sheet that has every key of it.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Degrees and rpm.
    pub model: AdvanceModel,
    /// The pulses.
    pub pickup: Pickup,
    /// The coil.
    pub dwell: Dwell,
    /// The box under test.
    pub firmware: Firmware,
    /// The model in ticks.
    pub timetable: Timetable,
}

impl Settings {
    /// The settings of a sheet.
    ///
    /// Limits that the curve breaks are no refusal: see [`AdvanceModel::judge`].
    ///
    /// # Errors
    /// A key that is missing, and a value that the core refuses, each with its line.
    pub fn from_sheet(sheet: &Sheet) -> Result<Self, SheetError> {
        Self::with_dwell(sheet, sheet.coil.dwell.get()?)
    }

    /// The settings of a sheet with another dwell table in the place of its own.
    ///
    /// # Errors
    /// As of [`Settings::from_sheet`]; what is wrong with the table is told of `coil.dwell`.
    pub fn with_dwell(sheet: &Sheet, points: &[DwellPoint]) -> Result<Self, SheetError> {
        driven(sheet)?;
        let (model, pickup) = (model(sheet)?, pickup(sheet)?);
        let (dwell, firmware) = (dwell(sheet, points)?, firmware(sheet)?);
        let timetable = Timetable::new(&model, &pickup, &dwell, &firmware).map_err(|error| {
            let (model, pickup, dwell, firmware) = (&model, &pickup, &dwell, &firmware);
            let engine_speeds = [&sheet.engine.idle_crank_rpm, &sheet.engine.greatest_speed_crank_rpm];
            let engine_speeds = engine_speeds.map(|key| speed(key).unwrap_or(CrankSpeed::MIN));
            let is_coil = sheet.pickup.kind.value() == Some(&PickupKind::Coil);
            refuse_timetable(sheet, &error, &Parts { model, pickup, dwell, firmware, engine_speeds, is_coil })
        })?;
        Ok(Self { model, pickup, dwell, firmware, timetable })
    }
}

fn limits(sheet: &Sheet) -> Result<Limits, SheetError> {
    let mut allowed = [Advance::MIN; Limit::ALL.len()];
    for (allowed, limit) in allowed.iter_mut().zip(Limit::ALL) {
        *allowed = advance_of(sheet.limits.of(limit))?;
    }
    Ok(Limits::in_order(allowed))
}

/// The model of a sheet's chosen curve, for judging its limits before there is an ignition.
///
/// # Errors
/// A key that is missing, and a value that the core refuses, each with its line.
pub fn model(sheet: &Sheet) -> Result<AdvanceModel, SheetError> {
    let advance = &sheet.advance;
    // Where cranking sparks come at a flank, the core asks for its very angle, to the last bit.
    let pickup = &sheet.pickup;
    advance.cranking_crank_degrees.get()?;
    let cranking = if pickup.second_flank_angle_crank_degrees.value().is_some() {
        &pickup.second_flank_angle_crank_degrees
    } else if pickup.moving_flank_crank_degrees.value().is_some() && pickup.angle_crank_degrees.value().is_some() {
        &pickup.angle_crank_degrees
    } else {
        &advance.cranking_crank_degrees
    };
    let settings = AdvanceSettings {
        initial: advance_of(&advance.initial_crank_degrees)?,
        cranking: advance_of(cranking)?,
        held: advance_of(&advance.held_crank_degrees)?,
        centrifugal: centrifugal(&sheet.centrifugal.breakpoints)?,
        vacuum: vacuum(sheet)?,
        limits: limits(sheet)?,
        speeds: PhaseSpeeds {
            cranking_below: speed(&advance.cranking_below_crank_rpm)?,
            running_from: speed(&advance.running_from_crank_rpm)?,
            no_spark_above: speed(&advance.no_spark_above_crank_rpm)?,
            spark_again_below: speed(&advance.spark_again_below_crank_rpm)?,
        },
    };
    let model = AdvanceModel::new(settings).map_err(|error| {
        let key = match error {
            ModelError::CrankingSpeeds => &advance.cranking_below_crank_rpm,
            ModelError::LimitsCrossed => sheet.limits.of(Limit::Least),
            _ => &advance.spark_again_below_crank_rpm,
        };
        key.refuse(format!("will not do: {error}"), "here", "change this value or the other")
    })?;
    Ok(model.with_trim(trim(sheet)?))
}

/// How far a trim input may go; not at all where the sheet does not say.
fn trim(sheet: &Sheet) -> Result<Trim, SheetError> {
    let tenths = |key: &Key<f64>| -> Result<u8, SheetError> {
        let Some(degrees) = key.value() else { return Ok(0) };
        let tenths = unsigned_of(degrees * 10.0);
        if (f64::from(tenths) - degrees * 10.0).abs() > 1e-6 {
            let help = "write it with at most one place after the point";
            return Err(key.refuse(format!("{degrees} crank degrees: a trim has tenths of a degree"), "here", help));
        }
        // The sheet's own bounds are narrower than a byte.
        Ok(u8::try_from(tenths).unwrap_or(u8::MAX))
    };
    let [later, earlier] = [&sheet.advance.trim_later_crank_degrees, &sheet.advance.trim_earlier_crank_degrees];
    Trim::from_tenths(tenths(later)?, tenths(earlier)?)
        .map_err(|error| later.refuse(format!("will not do: {error}"), "here", "choose a smaller one"))
}

/// A centrifugal curve of the sheet: the chosen one, or one that was found.
///
/// # Errors
/// Where the key is missing, and where the core refuses the curve.
pub fn centrifugal(key: &Key<Vec<CentrifugalBreakpoint>>) -> Result<CentrifugalCurve, SheetError> {
    let breakpoints: Result<Vec<_>, OutOfRange> =
        key.get()?.iter().map(|point| Ok((rpm(point.crank_rpm)?, degrees(point.crank_degrees)?))).collect();
    CentrifugalCurve::new(&in_range(key, breakpoints)?).map_err(|error| refuse_curve(key, &error))
}

fn vacuum(sheet: &Sheet) -> Result<Option<Vacuum>, SheetError> {
    let source = match sheet.vacuum.source.get()? {
        VacuumSource::None => return Ok(None),
        VacuumSource::Manifold => bobweight::VacuumSource::Manifold,
        VacuumSource::Ported => bobweight::VacuumSource::Ported,
    };
    let curve = vacuum_curve(&sheet.vacuum.breakpoints)?;
    let key = &sheet.vacuum.greatest_rate_crank_degrees_per_s;
    let greatest_rate = in_range(key, AdvanceRate::from_bits(signed(*key.get()?, AdvanceRate::STEP)))?;
    Ok(Some(Vacuum { curve, source, greatest_rate }))
}

/// A vacuum curve of the sheet: the chosen one, or that of a book.
///
/// # Errors
/// Where the key is missing, and where the core refuses the curve.
pub fn vacuum_curve(key: &Key<Vec<VacuumBreakpoint>>) -> Result<VacuumCurve, SheetError> {
    let breakpoints: Result<Vec<_>, OutOfRange> = key
        .get()?
        .iter()
        .map(|point| {
            Ok((
                Depression::from_bits(unsigned(point.depression_kpa, Depression::STEP))?,
                degrees(point.crank_degrees)?,
            ))
        })
        .collect();
    VacuumCurve::new(&in_range(key, breakpoints)?).map_err(|error| refuse_curve(key, &error))
}

/// The pickup of a sheet.
fn pickup(sheet: &Sheet) -> Result<Pickup, SheetError> {
    let table = &sheet.pickup;
    sheet.engine.supply.get()?;
    if *table.place.get()? == PickupPlace::Distributor {
        // That it is locked was judged when the sheet was read.
        sheet.distributor.old_advance.get()?;
    }
    let second_flank = &table.second_flank_angle_crank_degrees;
    let settings = PickupSettings {
        pulses_in_two_turns: u8::try_from(*table.pulses_in_two_turns.get()?).unwrap_or(u8::MAX),
        angle: angle(&table.angle_crank_degrees)?,
        second_flank_angle: second_flank.value().map(|_| angle(second_flank)).transpose()?,
        moving_flank: moving_flank(&table.moving_flank_crank_degrees)?,
        bounce: bounce(sheet)?,
        lag: time(&table.lag_s)?,
        greatest_acceleration: {
            let key = &table.greatest_acceleration_crank_rpm_per_s;
            in_range(key, Acceleration::from_bits(unsigned(*key.get()?, Acceleration::STEP)))?
        },
        pulse_spread: angle(&table.pulse_spread_crank_degrees)?,
    };
    Pickup::new(settings).map_err(|error| {
        let refuse = |place: &super::Place| {
            place.refuse(format!("will not do: {error}"), "here", "measure it again, or choose another pickup")
        };
        match error {
            PickupError::Pulses(_) => refuse(table.pulses_in_two_turns.place()),
            PickupError::SecondFlank(_) => refuse(second_flank.place()),
            PickupError::MovingFlank(_) => refuse(table.moving_flank_crank_degrees.place()),
            PickupError::Lag(_) => refuse(table.lag_s.place()),
            PickupError::Bounce(_) => refuse(table.bounce_s.place()),
            PickupError::Spread(_) => refuse(table.pulse_spread_crank_degrees.place()),
            _ => refuse(table.angle_crank_degrees.place()),
        }
    })
}

/// Where a coil's other flank moves.
fn moving_flank(key: &Key<[f64; 2]>) -> Result<Option<MovingFlank>, SheetError> {
    let Some(&[earliest, latest]) = key.value() else { return Ok(None) };
    let of = |value| in_range(key, CrankAngle::from_bits(signed(value, CrankAngle::STEP)));
    Ok(Some(MovingFlank { earliest: of(earliest)?, latest: of(latest)? }))
}

/// How long points bounce: nobody guesses it, for a bounce that is taken for a flank sparks far too early.
fn bounce(sheet: &Sheet) -> Result<Duration, SheetError> {
    let key = &sheet.pickup.bounce_s;
    if *sheet.pickup.kind.get()? == PickupKind::Points || key.value().is_some() { time(key) } else { Ok(Duration::MIN) }
}

/// The dwell of a sheet with these points of its table.
fn dwell(sheet: &Sheet, points: &[DwellPoint]) -> Result<Dwell, SheetError> {
    let coil = &sheet.coil;
    let points: Result<Vec<_>, OutOfRange> = points
        .iter()
        .map(|point| Ok((volts(point.volts)?, Duration::from_bits(unsigned_of(point.dwell_s * NANOSECONDS))?)))
        .collect();
    let curve = DwellCurve::new(&in_range(&coil.dwell, points)?).map_err(|error| refuse_curve(&coil.dwell, &error))?;
    let duty = &coil.largest_duty;
    let settings = DwellSettings {
        curve,
        largest: time(&coil.largest_dwell_s)?,
        largest_duty: in_range(duty, Duty::from_bits(unsigned(*duty.get()?, Duty::STEP)))?,
        burn_time: time(&coil.burn_time_s)?,
    };
    Dwell::new(settings).map_err(|error| {
        let refuse = |place: &super::Place| {
            place.refuse(format!("will not do: {error}"), "here", "look at the coil's and the driver's data sheets")
        };
        match error {
            DwellError::Largest(_) => refuse(coil.largest_dwell_s.place()),
            DwellError::Duty(_) => refuse(coil.largest_duty.place()),
            DwellError::BurnTime(_) => refuse(coil.burn_time_s.place()),
            _ => refuse(coil.dwell.place()),
        }
    })
}

/// The box under test of a sheet.
fn firmware(sheet: &Sheet) -> Result<Firmware, SheetError> {
    let tick = &sheet.ignition.tick_s;
    let tick_rate = in_range(tick, TickRate::from_bits(unsigned_of(1.0 / tick.get()?)))?;
    Ok(Firmware { tick_rate, latency: time(&sheet.ignition.latency_s)? })
}

fn refuse_timetable(sheet: &Sheet, error: &TimetableError, parts: &Parts<'_>) -> SheetError {
    let (pickup, ignition) = (&sheet.pickup, &sheet.ignition);
    let tried = || remedy(parts).unwrap_or_else(|| NO_REMEDY.to_owned());
    let (key, help) = match error {
        TimetableError::TickTooCoarse { .. } => {
            (&ignition.tick_s, "let the timer count faster, or lower `no_spark_above`".to_owned())
        }
        TimetableError::Latency(_) => (&ignition.latency_s, "measure the box's latency again".to_owned()),
        TimetableError::PeriodTooShort { .. } => (&sheet.advance.no_spark_above_crank_rpm, tried()),
        TimetableError::BounceTooLong { .. } => (
            &pickup.bounce_s,
            "clean and set the points so that they bounce less, or lower `no_spark_above`".to_owned(),
        ),
        TimetableError::CrankingOffSecondFlank { .. } | TimetableError::SecondFlankTooEarly { .. } => (
            &pickup.second_flank_angle_crank_degrees,
            "move the second flank, or `cranking` and its limit with it".to_owned(),
        ),
        TimetableError::NoRoomAfterCrossing { .. } => (
            &sheet.advance.running_from_crank_rpm,
            "write a lower `running_from` and `cranking_below`, or a shorter `burn_time` where the spark burns no longer".to_owned(),
        ),
        TimetableError::AfterOwnCrossing { .. } => (&pickup.angle_crank_degrees, static_advance(parts)),
        _ => (&pickup.angle_crank_degrees, tried()),
    };
    key.refuse(format!("cannot be timed: {error}"), "here", help)
}

/// Where nothing that can be written helps.
const NO_REMEDY: &str = "no angle, second flank, lower speed or shorter burn time will do: this pickup cannot time this curve \
                         with this box";

fn refuse_curve<T>(key: &Key<T>, error: &CurveError) -> SheetError {
    let help = match error {
        CurveError::TooSteep(_) => "look at the units of the breakpoints, or spread the rise over more crank rpm",
        CurveError::NotRising(_) => "breakpoints so near to each other are one: leave one of them out",
        _ => "write 2 to 16 breakpoints",
    };
    key.refuse(format!("will not do: {error}"), "here", help)
}

pub(super) fn in_range<T, U>(key: &Key<T>, made: Result<U, OutOfRange>) -> Result<U, SheetError> {
    made.map_err(|error| key.refuse(format!("is out of range: {error}"), "here", "write a value within the range"))
}

fn advance_of(key: &Key<f64>) -> Result<Advance, SheetError> {
    in_range(key, degrees(*key.get()?))
}

fn angle(key: &Key<f64>) -> Result<CrankAngle, SheetError> {
    in_range(key, CrankAngle::from_bits(signed(*key.get()?, CrankAngle::STEP)))
}

fn speed(key: &Key<f64>) -> Result<CrankSpeed, SheetError> {
    in_range(key, rpm(*key.get()?))
}

fn time(key: &Key<f64>) -> Result<Duration, SheetError> {
    in_range(key, Duration::from_bits(unsigned_of(*key.get()? * NANOSECONDS)))
}

fn degrees(value: f64) -> Result<Advance, OutOfRange> {
    crate::quantity::of_core::advance(value)
}

fn rpm(value: f64) -> Result<CrankSpeed, OutOfRange> {
    CrankSpeed::from_bits(unsigned(value, CrankSpeed::STEP))
}

fn volts(value: f64) -> Result<Voltage, OutOfRange> {
    Voltage::from_bits(u16::try_from(unsigned(value, Voltage::STEP)).unwrap_or(u16::MAX))
}

fn signed(value: f64, step: u32) -> i32 {
    #[expect(clippy::cast_possible_truncation, reason = "the cast saturates, and the ends are out of every range")]
    let bits = (value * f64::from(step)).round() as i32;
    bits
}

pub(super) fn unsigned(value: f64, step: u32) -> u32 {
    unsigned_of(value * f64::from(step))
}

fn unsigned_of(value: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the cast saturates, and values below zero were refused when the sheet was read"
    )]
    let bits = value.round() as u32;
    bits
}

#[cfg(test)]
mod tests;
