//! The columns that readings may have, and which column of a file is which.

use super::ColumnNames;
use super::error::{Problem, ReadingsError};
use super::text::Text;
use crate::quantity::units;

/// A distributor turns once while the crank turns twice: a degree or an rpm of its shaft is two of the crank.
const CRANK_PER_DISTRIBUTOR: f64 = 2.0;

/// What a column tells.
#[derive(Debug, Clone, Copy)]
pub(super) enum Tells {
    Hose,
    SpeedWas,
    /// Times the factor: crank rpm.
    Speed(f64),
    /// Times the factor: crank degrees.
    Angle(f64),
    Vacuum(Pressure),
}

/// How a column tells the vacuum.
#[derive(Debug, Clone, Copy)]
pub(super) enum Pressure {
    /// Below the atmosphere, by a conversion to kPa.
    Depression(fn(f64) -> f64),
    /// kPa absolute.
    Absolute,
}

pub(super) struct Known {
    pub(super) name: &'static str,
    pub(super) unit: &'static str,
    pub(super) tells: Tells,
}

const fn known(name: &'static str, unit: &'static str, tells: Tells) -> Known {
    Known { name, unit, tells }
}

const KNOWN: [Known; 12] = [
    known("hose", "", Tells::Hose),
    known("speed_was", "", Tells::SpeedWas),
    known("crank_rpm", "crank rpm", Tells::Speed(1.0)),
    known("distributor_rpm", "distributor rpm", Tells::Speed(CRANK_PER_DISTRIBUTOR)),
    known("crank_degrees", "crank degrees", Tells::Angle(1.0)),
    known("distributor_degrees", "distributor degrees", Tells::Angle(CRANK_PER_DISTRIBUTOR)),
    known("vacuum_inHg", "inHg depression", Tells::Vacuum(Pressure::Depression(units::inhg_to_kpa))),
    known("vacuum_kPa", "kPa depression", Tells::Vacuum(Pressure::Depression(std::convert::identity))),
    known("vacuum_mmHg", "mmHg depression", Tells::Vacuum(Pressure::Depression(units::mmhg_to_kpa))),
    known("vacuum_mbar", "mbar depression", Tells::Vacuum(Pressure::Depression(units::mbar_to_kpa))),
    known("vacuum_psi", "psi depression", Tells::Vacuum(Pressure::Depression(units::psi_to_kpa))),
    known("manifold_kPa_absolute", "kPa absolute", Tells::Vacuum(Pressure::Absolute)),
];

/// Where each quantity stands in a line.
pub(super) struct Columns {
    pub(super) count: usize,
    pub(super) hose: Place,
    pub(super) speed_was: Place,
    pub(super) speed: Place,
    pub(super) angle: Place,
    pub(super) vacuum: Option<Place>,
}

/// A known column and its place in the line, from 0.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub(super) index: usize,
    pub(super) column: &'static Known,
}

/// Names of columns with their places in the bytes of the file.
pub(super) type Named<'a> = [(&'a str, std::ops::Range<usize>)];

impl Columns {
    pub(super) fn names(&self) -> ColumnNames {
        ColumnNames {
            speed: self.speed.column.name,
            angle: self.angle.column.name,
            vacuum: self.vacuum.map(|vacuum| vacuum.column.name),
        }
    }

    pub(super) fn from_header(text: &Text<'_>, header: &Named<'_>) -> Result<Self, ReadingsError> {
        let mut found: [Option<Place>; 5] = [None; 5];
        for (index, (name, place)) in header.iter().enumerate() {
            let Some(column) = KNOWN.iter().find(|column| column.name == *name) else {
                return Err(text.refuse(place.clone(), None, Problem::UnknownColumn((*name).to_owned()), advice(name)));
            };
            let slot = &mut found[slot(column.tells)];
            if let Some(earlier) = slot {
                let problem = if earlier.column.name == column.name {
                    Problem::RepeatedColumn(column.name.to_owned())
                } else {
                    Problem::RivalColumns(earlier.column.name, column.name)
                };
                return Err(text.refuse(place.clone(), None, problem, "keep one of the two and take the other out"));
            }
            *slot = Some(Place { index, column });
        }
        let whole = header.first().map_or(0, |(_, place)| place.start)..header.last().map_or(0, |(_, place)| place.end);
        let need = |place: Option<Place>, names: &'static str, remedy: &str| {
            place.ok_or_else(|| text.refuse(whole.clone(), None, Problem::MissingColumn(names), remedy))
        };
        Ok(Self {
            count: header.len(),
            hose: need(found[0], "`hose`", "add it, with `on` or `off` in every line")?,
            speed_was: need(found[1], "`speed_was`", "add it, with `rising`, `falling` or `steady` in every line")?,
            speed: need(found[2], "`crank_rpm` or `distributor_rpm`", "add the one that your tachometer shows")?,
            angle: need(found[3], "`crank_degrees` or `distributor_degrees`", "add the one that you read")?,
            vacuum: found[4],
        })
    }
}

fn slot(tells: Tells) -> usize {
    match tells {
        Tells::Hose => 0,
        Tells::SpeedWas => 1,
        Tells::Speed(_) => 2,
        Tells::Angle(_) => 3,
        Tells::Vacuum(_) => 4,
    }
}

fn advice(name: &str) -> String {
    if name.is_empty() {
        return "take out the comma too many, or name the column".to_owned();
    }
    let near = KNOWN
        .iter()
        .map(|column| (strsim::jaro_winkler(&column.name.to_lowercase(), &name.to_lowercase()), column.name))
        .max_by(|one, other| one.0.total_cmp(&other.0));
    let names: Vec<_> = KNOWN.iter().map(|column| column.name).collect();
    let names = names.join(", ");
    match near {
        Some((likeness, near)) if likeness > 0.85 => {
            format!("write `{near}`, or take the column out; known are {names}")
        }
        _ => format!("take the column out, or turn it into a comment; known are {names}"),
    }
}
