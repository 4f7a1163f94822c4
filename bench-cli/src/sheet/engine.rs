//! `[engine]` and `[distributor]`: what the ignition is for.

use super::error::SheetError;
use super::key::Key;
use super::table::Table;
use super::value::{Bounds, wrong_quantity};
use crate::quantity::{ANGLE, COMPRESSION, DISPLACEMENT, DRIVEN, SPEED, Supply, parse_supply};
use crate::words::number::short;
use serde::Serialize;

/// Which way a shaft turns.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum Rotation {
    /// With the hands of a clock.
    Clockwise,
    /// Against them.
    Anticlockwise,
}

const ROTATIONS: &[(&str, Rotation)] =
    &[("clockwise", Rotation::Clockwise), ("anticlockwise", Rotation::Anticlockwise)];

/// `[engine]`. The first four say what it is, for whoever reads a report of it; each may be left out, and nothing is concluded
/// from them.
#[derive(Clone, Debug, Serialize)]
pub struct Engine {
    /// Litres, of all cylinders.
    pub displacement_l: Key<f64>,
    /// Room at the bottom over room at top dead centre.
    pub compression: Key<f64>,
    /// The chamber and where its plug sits, in the owner's words.
    pub chamber: Key<String>,
    /// The fuel, in the owner's words.
    pub fuel: Key<String>,
    /// How many cylinders, 1 to 12.
    pub cylinders: Key<u32>,
    /// Every cylinder once, in the order of their sparks.
    pub firing_order: Key<Vec<u32>>,
    /// From the spark of each cylinder, in that order, to the next one's; left out where they are even.
    pub firing_intervals_crank_degrees: Key<Vec<f64>>,
    /// Seen from the pulley end.
    pub rotation: Key<Rotation>,
    /// Crank rpm.
    pub idle_crank_rpm: Key<f64>,
    /// Crank rpm. The bench goes as high as this.
    pub greatest_speed_crank_rpm: Key<f64>,
    /// Nominal volts and the earthed pole; left out where there is no battery.
    #[serde(flatten)]
    pub supply: Key<Supply>,
}

/// Two turns of the crank.
pub(super) const CYCLE_CRANK_DEGREES: f64 = 720.0;
/// Intervals that differ by no more than this from even ones are even, crank degrees.
pub(super) const EVEN_WITHIN_CRANK_DEGREES: f64 = 0.1;

impl Engine {
    /// The firing intervals in crank degrees where they are uneven; none where they are even, or where the sheet says nothing of
    /// them.
    pub fn uneven_intervals(&self) -> Option<&[f64]> {
        let intervals = self.firing_intervals_crank_degrees.value()?;
        #[expect(clippy::cast_precision_loss, reason = "there are 12 at most")]
        let even = CYCLE_CRANK_DEGREES / intervals.len() as f64;
        let uneven = intervals.iter().any(|interval| (interval - even).abs() > EVEN_WITHIN_CRANK_DEGREES);
        uneven.then_some(intervals.as_slice())
    }

    /// What it is, as far as the sheet says: `4 cylinders, 2.2 l, 7.4 to 1, side valves, petrol`. Empty where it says nothing.
    pub fn in_words(&self) -> String {
        let facts = [
            self.cylinders.value().map(|count| format!("{count} cylinder{}", if *count == 1 { "" } else { "s" })),
            self.displacement_l.value().map(|litres| format!("{} l", short(*litres, 3))),
            self.compression.value().map(|ratio| format!("{} to 1", short(*ratio, 2))),
            self.chamber.value().cloned(),
            self.fuel.value().cloned(),
            self.uneven_intervals().map(|intervals| {
                let each: Vec<String> = intervals.iter().map(|interval| short(*interval, 1)).collect();
                format!("fires unevenly, {} crank degrees apart", each.join("-"))
            }),
            // The one supply that is driven goes without saying.
            self.supply.value().filter(|supply| **supply != DRIVEN).map(|supply| supply.in_words()),
        ];
        facts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

/// What the old distributor's weights and vacuum plate do now.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum OldAdvance {
    /// They are fixed in one place.
    Locked,
    /// They still move.
    Working,
}

/// `[distributor]`.
#[derive(Clone, Debug, Serialize)]
pub struct Distributor {
    /// Seen from above the cap.
    pub rotation: Key<Rotation>,
    /// Whether weights and vacuum plate are locked.
    pub old_advance: Key<OldAdvance>,
    /// Width of the rotor's tip as an arc about the shaft, counted in crank degrees; left out where nobody measured it.
    pub rotor_tip_width_crank_degrees: Key<f64>,
    /// Width of a tower's contact inside the cap, likewise.
    pub tower_width_crank_degrees: Key<f64>,
    /// How much nearer than halfway to the next tower a rotor shall stay to its own, likewise.
    pub tower_margin_crank_degrees: Key<f64>,
}

pub(super) fn engine(table: Table) -> Result<Engine, SheetError> {
    let engine = Engine {
        displacement_l: table.quantity("displacement", &DISPLACEMENT, ("10 cm3", "40 l"))?,
        compression: table.quantity("compression", &COMPRESSION, ("3 to 1", "20 to 1"))?,
        chamber: table.text("chamber", "side valves, plug over the inlet")?,
        fuel: table.text("fuel", "petrol, 95 octane")?,
        cylinders: table.whole("cylinders", 1..=12)?,
        firing_order: table.wholes("firing_order", 1..=12)?,
        firing_intervals_crank_degrees: table.list_of_quantities(
            "firing_intervals",
            &ANGLE,
            ("1 crank degrees", "720 crank degrees"),
        )?,
        rotation: table.word("rotation", ROTATIONS)?,
        idle_crank_rpm: table.quantity("idle", &SPEED, ("100 crank rpm", "5000 crank rpm"))?,
        greatest_speed_crank_rpm: table.quantity("greatest_speed", &SPEED, ("500 crank rpm", "20000 crank rpm"))?,
        supply: table.read_text("supply", "12 V negative earth", |place, text| {
            parse_supply(text).map_err(|error| wrong_quantity(place, &error))
        })?,
    };
    table.finish()?;
    Ok(engine)
}

pub(super) fn distributor(table: Table) -> Result<Distributor, SheetError> {
    const WIDTHS: Bounds = ("0 distributor degrees", "60 distributor degrees");
    let distributor = Distributor {
        rotation: table.word("rotation", ROTATIONS)?,
        old_advance: table.word("old_advance", &[("locked", OldAdvance::Locked), ("working", OldAdvance::Working)])?,
        rotor_tip_width_crank_degrees: table.quantity("rotor_tip_width", &ANGLE, WIDTHS)?,
        tower_width_crank_degrees: table.quantity("tower_width", &ANGLE, WIDTHS)?,
        tower_margin_crank_degrees: table.quantity("tower_margin", &ANGLE, WIDTHS)?,
    };
    table.finish()?;
    Ok(distributor)
}
