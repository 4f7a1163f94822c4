//! Which readings to take: where they tell an offset from a lag, in an order that is kind to the engine.

use crate::curve::figures::conditions::{all_centrifugal, all_vacuum};
use crate::distributor::readings::{Hose, Reading};
use crate::quantity::of_core::{kpa_of, rpm_of, speed};
use crate::sheet::{self, Sheet, SheetError};

/// Beyond the last breakpoint the curve is flat, and a tachometer that is out does no harm, crank rpm.
const BEYOND_THE_LAST: f64 = 500.0;
/// A reading within so many crank rpm of a proposed one is that one.
const SAME_SPEED: f64 = 250.0;
/// Likewise, kPa.
const SAME_DEPRESSION_KPA: f64 = 5.0;

/// A reading to take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proposal {
    /// The hose.
    pub hose: Hose,
    /// About this speed, crank rpm.
    pub crank_rpm: f64,
    /// At this depression, kPa; none with the hose off.
    pub depression_kpa: Option<f64>,
}

impl Proposal {
    fn is(&self, reading: &Reading) -> bool {
        let near = match (self.depression_kpa, reading.depression_kpa) {
            (Some(wanted), Some(read)) => (wanted - read).abs() <= SAME_DEPRESSION_KPA,
            _ => true,
        };
        reading.hose == self.hose && (reading.crank_rpm - self.crank_rpm).abs() <= SAME_SPEED && near
    }
}

/// The readings that are still to be taken: three at idle, one in the middle of every ramp, four on the flat beyond the
/// last breakpoint; then, where there is vacuum advance, two with the unit's whole depression and one with half of it.
///
/// # Errors
/// A key that is missing.
pub fn proposals(sheet: &Sheet, taken: &[Reading]) -> Result<Vec<Proposal>, SheetError> {
    let model = sheet::model(sheet)?;
    let (idle, greatest) = (*sheet.engine.idle_crank_rpm.get()?, *sheet.engine.greatest_speed_crank_rpm.get()?);
    let top = (rpm_of(all_centrifugal(&model)) + BEYOND_THE_LAST).min(greatest);
    let off = |crank_rpm: f64| Proposal { hose: Hose::Off, crank_rpm, depression_kpa: None };
    let mut proposed = vec![off(idle); 3];
    let curve = &model.settings().centrifugal;
    let speeds: Vec<f64> = (0..curve.count()).map(|at| rpm_of(curve.breakpoint(at).0)).collect();
    for pair in speeds.windows(2) {
        let middle = f64::midpoint(pair[0], pair[1]);
        if middle > idle && middle < top {
            proposed.push(off((middle / 50.0).round() * 50.0));
        }
    }
    proposed.extend([off((top / 50.0).round() * 50.0); 4]);
    if let Some(full) = all_vacuum(&model).map(kpa_of) {
        let vacuum = &model.settings().vacuum.as_ref().map(|vacuum| kpa_of(vacuum.curve.breakpoint(0).0));
        let half = f64::midpoint(vacuum.unwrap_or(0.0), full);
        // A steady speed between idle and the top that the throttle holds well, and where a ported hose has vacuum.
        let open_from = rpm_of(bobweight::throttle_closed_up_to(speed(idle))) + 100.0;
        let steady = (f64::midpoint(idle, top).min(2_000.0).max(open_from) / 50.0).round() * 50.0;
        let on = |kpa: f64| Proposal { hose: Hose::On, crank_rpm: steady, depression_kpa: Some(kpa) };
        proposed.extend([on(full + 3.0), on(full + 3.0), on(half)]);
    }
    for reading in taken {
        if let Some(at) = proposed.iter().position(|proposal| proposal.is(reading)) {
            proposed.remove(at);
        }
    }
    Ok(proposed)
}
