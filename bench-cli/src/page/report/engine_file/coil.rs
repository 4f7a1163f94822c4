//! The coil's current over a dwell.

use super::EngineFile;
use crate::curve::Circuit;
use crate::curve::figures::coil::{self, Battery};
use crate::curve::figures::in_words;
use crate::page::report::chart::{Axis, Chart, Frame};
use crate::page::report::page::Html;
use crate::sheet::{Ballast, Sheet, SheetError};
use crate::words::number::{fixed, short};

/// Places along a dwell.
const STEPS: u32 = 60;

/// The section.
pub fn section(html: &mut Html, file: &EngineFile) {
    html.heading(2, "The coil's current over a dwell");
    let Some(sheet) = file.sheet else { return html.marked("missing", &file.no_sheet()) };
    let dwells = match Dwells::of(sheet) {
        Ok(dwells) => dwells,
        Err(error) => return html.marked("missing", &format!("Cannot be drawn yet: {}", in_words(&error))),
    };
    let bypassed = if dwells.bypassed {
        " The starter's contact bypasses the ballast; drawn is the running engine's circuit alone."
    } else {
        ""
    };
    let caption = format!(
        "From nothing to the spark, at {} of the battery, the dwell {}.{bypassed}",
        dwells.voltages(),
        if dwells.of_sheet { "the sheet's" } else { "proposed: the sheet has none yet" }
    );
    html.picture(&dwells.drawn(), &caption, |html| {
        html.table("The coil at the end of the dwell", &["V", "dwell, ms", "current, A", "energy, mJ"], &dwells.rows());
        html.paragraph(&format!(
            "{} A is wanted; energy is half of inductance times current squared.",
            short(dwells.wanted_a, 1)
        ));
    });
}

/// A dwell at one voltage.
struct Dwell {
    volts: f64,
    dwell_s: f64,
    current_a: f64,
    energy_j: f64,
}

struct Dwells {
    circuit: Circuit,
    wanted_a: f64,
    greatest_a: Option<f64>,
    of_sheet: bool,
    bypassed: bool,
    all: Vec<Dwell>,
}

impl Dwells {
    fn of(sheet: &Sheet) -> Result<Self, SheetError> {
        let circuit = coil::circuit(sheet)?;
        let battery = Battery::of(sheet);
        let needed = coil::needed_table(sheet, battery)?;
        let own = sheet.coil.dwell.value();
        let table = own.unwrap_or(&needed);
        let bypassed = sheet.coil.ballast_while_cranking.value() == Some(&Ballast::Bypassed);
        let cranking = sheet.battery.cranking_volts.value().filter(|_| !bypassed).map(|range| range[0]);
        let running = sheet.battery.running_volts.value().copied().unwrap_or_else(|| {
            let ends = [table.first(), table.last()].map(|point| point.map_or(0.0, |point| point.volts));
            [f64::midpoint(ends[0], ends[1]), ends[1]]
        });
        let mut volts: Vec<f64> = cranking.into_iter().chain(running).collect();
        volts.sort_by(f64::total_cmp);
        volts.dedup();
        let at = |volts: f64| {
            let dwell_s = coil::at(table, volts);
            Dwell {
                volts,
                dwell_s,
                current_a: circuit.current_a(volts, dwell_s),
                energy_j: circuit.energy_j(volts, dwell_s),
            }
        };
        Ok(Self {
            circuit,
            wanted_a: *sheet.coil.current_a.get()?,
            greatest_a: sheet.coil.greatest_current_a.value().copied(),
            of_sheet: own.is_some(),
            bypassed,
            all: volts.into_iter().map(at).collect(),
        })
    }

    fn voltages(&self) -> String {
        let all: Vec<String> = self.all.iter().map(|dwell| format!("{} V", short(dwell.volts, 1))).collect();
        all.join(", ")
    }

    fn rows(&self) -> Vec<Vec<String>> {
        let row = |dwell: &Dwell| {
            vec![
                short(dwell.volts, 1),
                fixed(dwell.dwell_s * 1e3, 2),
                fixed(dwell.current_a, 2),
                fixed(dwell.energy_j * 1e3, 1),
            ]
        };
        self.all.iter().map(row).collect()
    }

    fn drawn(&self) -> String {
        let longest = self.all.iter().map(|dwell| dwell.dwell_s * 1e3).fold(0.5, f64::max);
        let currents = self.all.iter().map(|dwell| dwell.current_a);
        let heights = currents.chain(self.greatest_a).chain([0.0, self.wanted_a * 1.15]);
        let said: Vec<String> = self
            .all
            .iter()
            .map(|dwell| {
                format!(
                    "at {} V {} A after {} ms",
                    short(dwell.volts, 1),
                    fixed(dwell.current_a, 2),
                    fixed(dwell.dwell_s * 1e3, 2)
                )
            })
            .collect();
        let rows = 1 + u8::from(self.greatest_a.is_some());
        let mut chart = Chart::new(
            Frame::narrow(rows),
            "coil",
            "The coil's current over a dwell",
            &format!("The current rises to: {}.", said.join(", ")),
            Axis::over("ms", [0.0, longest]),
            Axis::over("A", heights),
        );
        chart.line_of(&[[0.0, self.wanted_a], [longest, self.wanted_a]], "line wanted");
        if let Some(greatest) = self.greatest_a {
            chart.line_of(&[[0.0, greatest], [longest, greatest]], "line limit");
        }
        for dwell in &self.all {
            let at = |step: u32| dwell.dwell_s * f64::from(step) / f64::from(STEPS);
            let points: Vec<[f64; 2]> =
                (0..=STEPS).map(|step| [at(step) * 1e3, self.circuit.current_a(dwell.volts, at(step))]).collect();
            chart.line_of(&points, "line chosen");
            let end = [dwell.dwell_s * 1e3, dwell.current_a];
            chart.mark(end, 0.0, crate::page::report::chart::Mark::Square, false);
            chart.note(end, &format!("{} V", short(dwell.volts, 1)));
        }
        chart.key_of_line("line wanted", "wanted at the spark");
        if self.greatest_a.is_some() {
            chart.key_of_line("line limit", "greatest that coil and driver bear");
        }
        chart.into_text()
    }
}
