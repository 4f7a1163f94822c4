//! The dwell that a coil needs, and where the engine is too fast to give it.

mod cut;

pub use cut::steady_dwell_s;

use crate::curve::circuit::Circuit;
use crate::quantity::{DRIVEN, Supply};
use crate::record::figures::{CoilFigures, DwellRow};
use crate::sheet::{DWELL_TABLE_VOLTS, DwellPoint, Sheet, SheetError};
use crate::words::number::short;
use cut::cut_short;

/// The battery voltages of a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Battery {
    /// The lowest, volts.
    pub from: f64,
    /// The highest, volts.
    pub to: f64,
}

impl From<Supply> for Battery {
    /// From a battery that the starter pulls down to a regulator that fails high.
    fn from(supply: Supply) -> Self {
        let (from, to) = supply.battery_volts();
        Self { from, to }
    }
}

impl std::str::FromStr for Battery {
    type Err = String;

    /// Reads `8..15 V`.
    fn from_str(text: &str) -> Result<Self, String> {
        let form = || "write the lowest and the highest voltage, such as `8..15 V`".to_owned();
        let (from, to) = text.trim().strip_suffix('V').and_then(|text| text.split_once("..")).ok_or_else(form)?;
        let volts = |text: &str| text.trim().parse::<f64>().map_err(|_| form());
        let battery = Self { from: volts(from)?, to: volts(to)? };
        let (least, greatest) = DWELL_TABLE_VOLTS;
        let served = battery.from >= least && battery.to <= greatest && battery.to - battery.from >= 1.0;
        if served {
            Ok(battery)
        } else {
            Err(format!("a battery's range lies within {least} to {greatest} V and is at least 1 V wide"))
        }
    }
}

impl Battery {
    /// That of a sheet's supply; of the one that is driven where the sheet does not say.
    pub fn of(sheet: &Sheet) -> Self {
        sheet.engine.supply.value().copied().unwrap_or(DRIVEN).into()
    }

    /// Every whole volt and both ends; every second where that were more rows than a table may have.
    fn rows(self) -> Vec<f64> {
        let step = if self.to - self.from > 13.0 { 2.0 } else { 1.0 };
        let mut rows = vec![self.from];
        let mut next = (self.from / step).floor() * step + step;
        while next < self.to {
            rows.push(next);
            next += step;
        }
        rows.push(self.to);
        rows
    }
}

/// A circuit, and the current that it shall reach.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// The circuit.
    pub circuit: Circuit,
    /// Amperes at the spark.
    pub current_a: f64,
    /// No dwell is longer, seconds; nothing where that is not known.
    pub largest_dwell_s: Option<f64>,
}

impl Wanted {
    /// The dwell table for it, as it is written into a sheet: milliseconds of two places, the largest dwell where the current is
    /// reached too late or never. Voltages without either are left out; where it is reached nowhere, all are.
    pub fn table(&self, battery: Battery) -> Vec<DwellPoint> {
        let Self { circuit, current_a, largest_dwell_s } = *self;
        if battery.rows().iter().all(|volts| circuit.dwell_s(*volts, current_a).is_none()) {
            return Vec::new();
        }
        let row = |volts: f64| {
            let needed = circuit.dwell_s(volts, current_a).or(largest_dwell_s)?;
            let dwell = largest_dwell_s.map_or(needed, |largest| needed.min(largest));
            // Not shorter than any spark is worth, and a largest dwell is not passed by rounding.
            let hundredths = (dwell.max(SHORTEST_DWELL_S) * 1e5 + 0.5).floor();
            let hundredths =
                largest_dwell_s.map_or(hundredths, |largest| hundredths.min((largest * 1e5 + 1e-6).floor()));
            Some(DwellPoint { volts, dwell_s: hundredths / 1e5 })
        };
        battery.rows().into_iter().filter_map(row).collect()
    }
}

/// The circuit of a sheet's running engine.
///
/// # Errors
/// A key that is missing.
pub fn circuit(sheet: &Sheet) -> Result<Circuit, SheetError> {
    let coil = &sheet.coil;
    Ok(Circuit {
        resistance_ohm: *coil.resistance_ohm.get()?,
        inductance_h: *coil.inductance_h.get()?,
        driver_drop_volts: *coil.driver_drop_volts.get()?,
    })
}

fn wanted(sheet: &Sheet) -> Result<Wanted, SheetError> {
    let coil = &sheet.coil;
    Ok(Wanted {
        circuit: circuit(sheet)?,
        current_a: *coil.current_a.get()?,
        largest_dwell_s: coil.largest_dwell_s.value().copied(),
    })
}

/// The table that the coil of a sheet needs.
///
/// # Errors
/// A key that is missing, and a coil that reaches its current nowhere in the battery's range.
pub fn needed_table(sheet: &Sheet, battery: Battery) -> Result<Vec<DwellPoint>, SheetError> {
    let wanted = wanted(sheet)?;
    let Wanted { circuit, current_a, .. } = wanted;
    let table = wanted.table(battery);
    if table.is_empty() {
        return Err(sheet.coil.current_a.refuse(
            format!(
                "is {} A, and this circuit never reaches it from {} to {} V",
                short(current_a, 3),
                short(battery.from, 3),
                short(battery.to, 3)
            ),
            "is never reached",
            format!(
                "at {} V less the driver's drop, {} ohm let {:.2} A through at most: want less, or a coil of less resistance",
                short(battery.to, 3),
                short(circuit.resistance_ohm, 3),
                (battery.to - circuit.driver_drop_volts).max(0.0) / circuit.resistance_ohm
            ),
        ));
    }
    Ok(table)
}

/// The shortest dwell that a sheet takes, seconds.
const SHORTEST_DWELL_S: f64 = 0.000_5;

/// The figures of a sheet's coil.
///
/// # Errors
/// A key that is missing, and a coil that reaches its current nowhere in the battery's range.
pub fn figures(sheet: &Sheet, battery: Battery) -> Result<CoilFigures, SheetError> {
    let Wanted { circuit, current_a, .. } = wanted(sheet)?;
    let needed = needed_table(sheet, battery)?;
    let own = sheet.coil.dwell.value();
    let given = own.unwrap_or(&needed);
    let row = |volts: f64| {
        let dwell = at(given, volts);
        DwellRow {
            volts,
            needed_ms: circuit.dwell_s(volts, current_a).map(|seconds| seconds * 1e3),
            dwell_ms: dwell * 1e3,
            current_a: circuit.current_a(volts, dwell),
        }
    };
    let table: Vec<DwellRow> = battery.rows().into_iter().map(row).collect();
    let between = |step: u32| row(battery.from + (battery.to - battery.from) * f64::from(step) / 1_000.0);
    let greatest = (0..=1_000).map(between).max_by(|a, b| a.current_a.total_cmp(&b.current_a));
    let volts: Vec<f64> = table.iter().filter(|row| row.needed_ms.is_some()).map(|row| row.volts).collect();
    Ok(CoilFigures {
        wanted_a: current_a,
        most_ever_a: (battery.to - circuit.driver_drop_volts) / circuit.resistance_ohm,
        never_below_volts: circuit.driver_drop_volts + circuit.resistance_ohm * current_a,
        dwell_is_of_sheet: own.is_some(),
        greatest_between_rows_a: greatest.map_or(0.0, |row| row.current_a),
        greatest_between_rows_volts: greatest.map_or(0.0, |row| row.volts),
        cut_short: cut_short(sheet, given, &circuit, &volts).into(),
        table,
    })
}

/// A dwell table read as the ignition reads it: straight between its points, flat beyond them; seconds.
pub fn at(points: &[DwellPoint], volts: f64) -> f64 {
    let after = points.partition_point(|point| point.volts < volts);
    match (after.checked_sub(1).and_then(|before| points.get(before)), points.get(after)) {
        (Some(a), Some(b)) => a.dwell_s + (b.dwell_s - a.dwell_s) * (volts - a.volts) / (b.volts - a.volts),
        (Some(end), None) | (None, Some(end)) => end.dwell_s,
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests;
