//! Every spark that a sheet's ignition can make: the core's list, for what the sheet says of starter, battery, coil and cap.

mod surroundings;
mod words;

use crate::quantity::of_core::{angle_degrees, rpm_of};
use crate::record::sparks::{
    CrankingAtVoltage, DemandName, DemandResult, RotorAtSparks, SparkAngles, SparkEnergy, SparkResult, SparksResult,
};
use crate::sheet::{Settings, Sheet, SheetError};
use bobweight::quantity::{CrankAngle, Voltage};
use bobweight::sparks::{Cap, Cause, Demand, Energies, Spark, SparkJudgement, SparkList};
pub use surroundings::swing;

use surroundings::Stated;

/// The list of a sheet.
///
/// # Errors
/// A key that the cap or the coil needs and that is wrong.
pub fn sparks(sheet: &Sheet, settings: &Settings) -> Result<SparksResult, SheetError> {
    let Stated { around, asked, assumed } = surroundings::of(sheet, settings)?;
    let list = SparkList {
        model: &settings.model,
        pickup: &settings.pickup,
        dwell: &settings.dwell,
        firmware: &settings.firmware,
        table: &settings.timetable,
        around: &around,
    };
    let all = list.sparks();
    let voltages = voltages(settings, around.battery.cranking);
    let demands = list.judge(&all, &asked);
    Ok(SparksResult {
        rows: all.0.iter().map(|spark| row(&list, spark)).collect(),
        cranking: voltages.into_iter().filter_map(|voltage| at_voltage(&list, voltage)).collect(),
        demands: demands.iter().flatten().map(|demand| held(&list, demand)).collect(),
        assumed,
    })
}

impl SparksResult {
    /// Whether everything that is asked of the sparks is kept.
    pub fn kept(&self) -> bool {
        self.demands.iter().all(|demand| demand.kept)
    }

    /// The row of a cause, by its name.
    pub fn row(&self, cause: &str) -> Option<&SparkResult> {
        self.rows.iter().find(|row| row.cause == cause)
    }
}

/// What a person calls the cause of a row.
pub fn cause_of(row: &SparkResult) -> &str {
    let known = Cause::ALL.into_iter().find(|cause| cause.key() == row.cause);
    match known {
        Some(cause) => words::cause_in_words(cause),
        None => &row.cause,
    }
}

/// The breakpoints of the dwell table within a range of voltages, and its ends.
fn voltages(settings: &Settings, [least, greatest]: [Voltage; 2]) -> Vec<Voltage> {
    let curve = &settings.dwell.settings().curve;
    let inside =
        (0..curve.count()).map(|i| curve.breakpoint(i).0).filter(|voltage| (least..greatest).contains(voltage));
    let mut all: Vec<Voltage> = [least, greatest].into_iter().chain(inside).collect();
    all.sort_unstable();
    all.dedup();
    all
}

fn row(list: &SparkList<'_>, spark: &Spark) -> SparkResult {
    let angles = spark.angles.as_ref().map(|angles| SparkAngles {
        earliest_crank_degrees: angle_degrees(angles.earliest),
        earliest_at_crank_rpm: rpm_of(angles.earliest_at),
        latest_crank_degrees: angle_degrees(angles.latest),
        latest_at_crank_rpm: rpm_of(angles.latest_at),
        anywhere: spark.is_anywhere(list.pickup),
        rotor: list.around.cap.as_ref().map(|cap| rotor(cap, angles.rotor_before, angles.rotor_past)),
    });
    let energy = spark.energy.map(SparkEnergy::from);
    SparkResult {
        cause: spark.cause.key().to_owned(),
        ordinary: spark.cause.is_ordinary(),
        statement: words::of_row(spark.cause, angles.as_ref(), energy, spark.rule),
        angles,
        energy,
    }
}

fn rotor(cap: &Cap, before: CrankAngle, past: CrankAngle) -> RotorAtSparks {
    let distributor = |angle: CrankAngle| angle_degrees(angle) / 2.0;
    let furthest = if past > before { past } else { CrankAngle::saturating_from_bits(-before.bits()) };
    let (tower, other) = cap.facing(furthest);
    // Beyond half of the way the nearest tower is no longer its own.
    let apart = 360.0 / f64::from(cap.towers);
    let other = if tower == 0 { distributor(other) } else { apart - distributor(other) };
    RotorAtSparks {
        before_distributor_degrees: distributor(before),
        past_distributor_degrees: distributor(past),
        other_tower_distributor_degrees: other,
    }
}

impl From<Energies> for SparkEnergy {
    fn from(energies: Energies) -> Self {
        let mj = |energy: bobweight::quantity::Energy| f64::from(energy.bits()) / 1e3;
        Self { least_mj: mj(energies.least), greatest_mj: mj(energies.greatest) }
    }
}

fn at_voltage(list: &SparkList<'_>, voltage: Voltage) -> Option<CrankingAtVoltage> {
    let spark = list.cranking_at(voltage);
    let angles = spark.angles?;
    Some(CrankingAtVoltage {
        volts: f64::from(voltage.bits()) / f64::from(Voltage::STEP),
        earliest_crank_degrees: angle_degrees(angles.earliest),
        latest_crank_degrees: angle_degrees(angles.latest),
        energy: spark.energy.map(SparkEnergy::from),
    })
}

fn held(list: &SparkList<'_>, judgement: &SparkJudgement) -> DemandResult {
    let kept = judgement.holds();
    let demand = match judgement.demand {
        Demand::KickBack { .. } => DemandName::KickBack,
        Demand::OwnTower { .. } => DemandName::OwnTower,
        Demand::LeastEnergy { .. } => DemandName::LeastEnergy,
        Demand::GreatestCurrent { .. } => DemandName::GreatestCurrent,
        _ => DemandName::GreatestHeat,
    };
    let towers = list.around.cap.as_ref().map_or(1, |cap| cap.towers);
    let statement = words::of_demand(judgement, kept, towers);
    DemandResult { demand, cause: judgement.cause.key().to_owned(), kept, statement }
}

#[cfg(test)]
mod tests;
