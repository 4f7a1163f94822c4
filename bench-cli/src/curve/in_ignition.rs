//! The curve that an ignition holds, for people: in a line, and as the tables of a sheet.

use crate::record::ignition::Curve;
use std::fmt::Write;

use bobweight::VacuumSource;
use bobweight::image::{EngineSettings, LARGEST_IMAGE};
use bobweight::quantity::{Advance, CrankSpeed, Depression};

use crate::quantity::of_core::{crank_degrees, degrees_a_second, kpa_of, rpm_of};
use crate::words::number::short_ungrouped as short;
use crate::words::number::whole;

/// A number without the steps of the fixed point: three decimals say more than anybody can set.
fn number(value: f64) -> String {
    short(value, 3)
}

fn degrees(advance: Advance) -> String {
    number(crank_degrees(advance))
}

fn rpm(speed: CrankSpeed) -> String {
    number(rpm_of(speed))
}

fn kpa(depression: Depression) -> String {
    number(kpa_of(depression))
}

/// The curve in a line, with the checksum of its image, by which two are known apart.
pub fn in_words(settings: &EngineSettings, checksum: u32) -> String {
    let model = settings.model.settings();
    let (last, most) = model.centrifugal.breakpoint(model.centrifugal.count());
    let vacuum = model.vacuum.as_ref().map_or("no vacuum advance".to_owned(), |vacuum| {
        format!("vacuum advance up to {} crank degrees", degrees(vacuum.curve.range().1))
    });
    format!(
        "initial {} crank degrees, centrifugal advance up to {} crank degrees at {} crank rpm, {vacuum} \
         (checksum {checksum:08x})",
        degrees(model.initial),
        degrees(most),
        whole(rpm_of(last))
    )
}

/// The curve as the tables `[advance]`, `[centrifugal]` and `[vacuum]` of a sheet.
pub fn tables(settings: &EngineSettings) -> String {
    let model = settings.model.settings();
    let speeds = &model.speeds;
    let mut text = String::from("[advance]\n");
    for (key, advance) in [("initial", model.initial), ("cranking", model.cranking), ("held", model.held)] {
        let _ = writeln!(text, "{key} = \"{} crank degrees\"", degrees(advance));
    }
    for (key, speed) in [
        ("cranking_below", speeds.cranking_below),
        ("running_from", speeds.running_from),
        ("no_spark_above", speeds.no_spark_above),
        ("spark_again_below", speeds.spark_again_below),
    ] {
        let _ = writeln!(text, "{key} = \"{} crank rpm\"", rpm(speed));
    }
    let points = (0..model.centrifugal.count()).map(|i| {
        let (speed, advance) = model.centrifugal.breakpoint(i);
        format!("[{}, {}]", rpm(speed), degrees(advance))
    });
    let points: Vec<String> = points.collect();
    let _ = writeln!(
        text,
        "\n[centrifugal]\nunit = [\"crank rpm\", \"crank degrees\"]\nbreakpoints = [{}]",
        points.join(", ")
    );
    text.push_str("\n[vacuum]\n");
    let Some(vacuum) = &model.vacuum else { return text + "source = \"none\"\n" };
    let source = match vacuum.source {
        VacuumSource::Manifold => "manifold",
        VacuumSource::Ported => "ported",
    };
    let points = (0..vacuum.curve.count()).map(|i| {
        let (depression, advance) = vacuum.curve.breakpoint(i);
        format!("[{}, {}]", kpa(depression), degrees(advance))
    });
    let points: Vec<String> = points.collect();
    let rate = number(degrees_a_second(vacuum.greatest_rate));
    let _ = writeln!(
        text,
        "source = \"{source}\"\nunit = [\"kPa depression\", \"crank degrees\"]\nbreakpoints = [{}]\ngreatest_rate = \"{rate} crank degrees per s\"",
        points.join(", ")
    );
    text
}

/// The parts in which two ignitions differ, by the names of a sheet's tables.
pub fn differences(one: &EngineSettings, other: &EngineSettings) -> Vec<&'static str> {
    let (a, b) = (one.model.settings(), other.model.settings());
    let advances = |s: &bobweight::AdvanceSettings| (s.initial, s.cranking, s.held, s.speeds);
    let parts = [
        ("advance", advances(a) != advances(b)),
        ("centrifugal", a.centrifugal != b.centrifugal),
        ("vacuum", a.vacuum != b.vacuum),
        ("limits", a.limits != b.limits),
        ("pickup", one.pickup != other.pickup || one.timing_flank_rises != other.timing_flank_rises),
        ("coil", one.dwell != other.dwell),
        ("sensor", one.sensor != other.sensor),
    ];
    parts.into_iter().filter(|(_, differ)| *differ).map(|(name, _)| name).collect()
}

impl Curve {
    /// The curve of these settings.
    pub fn of(settings: &EngineSettings) -> Self {
        let mut image = [0; LARGEST_IMAGE];
        // The largest image has room for any.
        let length = settings.encode(&mut image).unwrap_or(0);
        let checksum = image[..length].last_chunk().map_or(0, |bytes| u32::from_le_bytes(*bytes));
        Self { checksum: format!("{checksum:08x}"), statement: in_words(settings, checksum), tables: tables(settings) }
    }
}
