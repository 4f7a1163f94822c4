//! A first look at a curve of which nothing but itself is known: what the engine gets where it bends, hose off and with all of the vacuum. No limit is
//! known so far, so nothing is held to one.

use super::known::running;
use crate::quantity::of_core::{advance, crank_degrees, kpa_of, rpm_of, speed};
use crate::sheet::{self, Sheet, SheetError, VacuumSource};
use bobweight::quantity::{AdvanceRate, CrankSpeed, Depression};
use bobweight::{AdvanceModel, Phase, Vacuum};

/// The curve.
pub struct FirstLook {
    model: AdvanceModel,
    /// Where all of the vacuum advance is in; none for an engine without it.
    full: Option<Depression>,
}

/// What the engine gets at a speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Crank rpm.
    pub crank_rpm: f64,
    /// Crank degrees BTDC, hose off.
    pub hose_off: f64,
    /// With all of the vacuum; none without a unit.
    pub whole_vacuum: Option<f64>,
}

impl FirstLook {
    /// The chosen curve of a sheet.
    ///
    /// # Errors
    /// A part that is missing, or that the core refuses.
    pub fn of(sheet: &Sheet) -> Result<Self, SheetError> {
        let initial = &sheet.advance.initial_crank_degrees;
        let centrifugal = sheet::centrifugal(&sheet.centrifugal.breakpoints)?;
        let vacuum = match sheet.vacuum.source.value() {
            Some(VacuumSource::None) => None,
            _ => Some(sheet::vacuum_curve(&sheet.vacuum.breakpoints)?),
        };
        let full = vacuum.as_ref().map(|curve| curve.breakpoint(curve.count() - 1).0);
        let vacuum = vacuum.map(|curve| Vacuum {
            curve,
            source: bobweight::VacuumSource::Manifold,
            greatest_rate: AdvanceRate::MAX,
        });
        advance(*initial.get()?)
            .ok()
            .and_then(|initial| running(initial, centrifugal, vacuum))
            .map(|model| Self { model, full })
            .ok_or_else(|| initial.refuse("is out of range", "here", "write a value within the range"))
    }

    /// What the engine gets at a speed.
    pub fn at(&self, crank_rpm: f64) -> Row {
        let given = |depression: Option<Depression>| {
            let given = self.model.advance(Phase::Running, speed(crank_rpm), depression, false);
            given.map_or(f64::NAN, |given| crank_degrees(given.total))
        };
        Row { crank_rpm, hose_off: given(None), whole_vacuum: self.full.map(|full| given(Some(full))) }
    }

    /// Where the curve bends.
    pub fn rows(&self) -> Vec<Row> {
        self.bends().into_iter().map(|bend| self.at(rpm_of(bend))).collect()
    }

    fn bends(&self) -> Vec<CrankSpeed> {
        let curve = &self.model.settings().centrifugal;
        (0..curve.count()).map(|at| curve.breakpoint(at).0).collect()
    }

    /// Where all of the vacuum advance is in, kPa.
    pub fn full_kpa(&self) -> Option<f64> {
        self.full.map(kpa_of)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::parse;

    /// Reckoned by pencil: common practice, no source. 14 and 22 are 36, and with 12 of vacuum 48.
    #[test]
    fn it_has_the_sums_that_a_pencil_gives() {
        let text = "bobweight_sheet = 1\n[advance]\ninitial = \"14 crank degrees\"\n[centrifugal]\nunit = [\"crank rpm\", \"crank degrees\"]\n\
                    breakpoints = [[1000, 0], [3000, 22]]\n[vacuum]\nunit = [\"inHg depression\", \"crank degrees\"]\nbreakpoints = [[5, 0], [12, 12]]\n";
        let look = FirstLook::of(&parse("engine.toml", text).expect("a sheet")).expect("a curve");
        let near = |found: f64, wanted: f64| (found - wanted).abs() < 0.01;
        let rows = look.rows();
        assert_eq!(rows.len(), 2);
        for (row, [off, on]) in rows.iter().zip([[14.0, 26.0], [36.0, 48.0]]) {
            assert!(near(row.hose_off, off) && row.whole_vacuum.is_some_and(|found| near(found, on)), "{row:?}");
        }
        assert!(near(look.at(2000.0).hose_off, 25.0) && look.full_kpa().is_some_and(|kpa| (kpa - 40.637).abs() < 0.05));
        let none = text.split("[vacuum]").next().expect("the rest").to_owned() + "[vacuum]\nsource = \"none\"\n";
        let look = FirstLook::of(&parse("engine.toml", &none).expect("a sheet")).expect("a curve");
        assert_eq!((look.full_kpa(), look.at(3000.0).whole_vacuum), (None, None));
    }
}
