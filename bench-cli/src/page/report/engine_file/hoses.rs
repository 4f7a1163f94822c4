//! Which hose goes where.

use super::EngineFile;
use super::picture::Picture;
use crate::curve::figures::in_words;
use crate::page::report::page::Html;
use crate::sheet::{SensorKind, VacuumSource};

const SIZE: [f64; 2] = [480.0, 290.0];
/// Right wall of the carburettor.
const WALL: f64 = 150.0;
/// The port just above the closed throttle, and the one below it.
const PORTED: f64 = 118.0;
const MANIFOLD: f64 = 196.0;

/// The section.
pub fn section(html: &mut Html, file: &EngineFile) {
    html.heading(2, "Hoses");
    let Some(sheet) = file.sheet else { return html.marked("missing", &file.no_sheet()) };
    let source = match sheet.vacuum.source.get() {
        Ok(source) => *source,
        Err(error) => return html.marked("missing", &format!("Cannot be drawn yet: {}", in_words(&error))),
    };
    if source == VacuumSource::None {
        return html.paragraph("The sheet says that the engine has no vacuum advance: no hose goes to the ignition.");
    }
    let kind = sheet.sensor.kind.value().map(|kind| match kind {
        SensorKind::Absolute => "absolute",
        SensorKind::Differential => "differential",
    });
    html.picture(&drawn(source, kind), in_words_of(source), |html| {
        let (used, other) = match source {
            VacuumSource::Ported => ("just above the closed throttle", "below the throttle"),
            _ => ("below the throttle", "just above the closed throttle"),
        };
        let at_idle = if source == VacuumSource::Ported { "no vacuum, and no advance by it" } else { "vacuum, and its advance" };
        let rows = [
            ("From", used),
            ("At idle", at_idle),
            ("At full throttle", "next to no vacuum"),
            ("To", "the vacuum sensor of the ignition"),
            ("Sensor", kind.unwrap_or("not in the sheet yet")),
            ("Another port", other),
        ];
        html.definitions(&rows.map(|(name, is)| (name, is.to_owned())));
        html.paragraph(
            "A port that carries no hose is stopped up. \"Hose off\" means: pulled off the sensor and its end stopped up, so that the \
             engine draws no air there (common practice).",
        );
    });
}

fn in_words_of(source: VacuumSource) -> &'static str {
    match source {
        VacuumSource::Ported => {
            "Ported: the hose begins just above the closed throttle, and has vacuum once the throttle opens past the port."
        }
        _ => {
            "Manifold: the hose begins below the throttle, where there is vacuum whenever the engine runs with a throttle that is not wide open."
        }
    }
}

fn drawn(source: VacuumSource, kind: Option<&str>) -> String {
    let ported = source == VacuumSource::Ported;
    let (used, unused) = if ported { (PORTED, MANIFOLD) } else { (MANIFOLD, PORTED) };
    let mut picture = Picture::new("hoses", "Hoses", in_words_of(source), SIZE);
    // The air's way: carburettor, throttle, manifold.
    picture.through(&[[84.0, 34.0], [84.0, 258.0]], "wall");
    picture.through(&[[WALL, 34.0], [WALL, 224.0], [236.0, 224.0]], "wall");
    picture.through(&[[84.0, 258.0], [236.0, 258.0]], "wall");
    picture.line([117.0, 38.0], [117.0, 76.0], "flow");
    picture.polygon(&[[117.0, 84.0], [111.0, 72.0], [123.0, 72.0]], "ink");
    picture.words([117.0, 26.0], "middle", "air");
    picture.line([86.0, 141.0], [148.0, 127.0], "throttle");
    picture.circle([117.0, 134.0], 4.0, "shaft");
    picture.words([78.0, 139.0], "end", "throttle,");
    picture.words([78.0, 156.0], "end", "closed");
    picture.words([78.0, 246.0], "end", "manifold");
    picture.rectangle([236.0, 214.0, 92.0, 54.0], "body");
    picture.words([282.0, 246.0], "middle", "engine");
    // Both ports: the one with the hose, and the other.
    picture.rectangle([WALL, unused - 5.0, 16.0, 10.0], "port stopped");
    picture.words([WALL + 24.0, unused + 5.0], "start", "no hose: stopped up");
    picture.rectangle([WALL, used - 5.0, 16.0, 10.0], "port");
    let box_middle = [390.0, 60.0];
    let way: &[[f64; 2]] = if ported {
        &[[WALL + 16.0, used], [250.0, used], [250.0, box_middle[1]], [box_middle[0] - 76.0, box_middle[1]]]
    } else {
        &[[WALL + 16.0, used], [350.0, used], [350.0, box_middle[1] + 34.0]]
    };
    picture.through(way, "hose");
    picture.words([WALL + 24.0, used - 10.0], "start", if ported { "hose" } else { "hose, from the manifold" });
    picture.rectangle([box_middle[0] - 76.0, box_middle[1] - 34.0, 152.0, 68.0], "body");
    let sensor = kind.map_or_else(|| "vacuum sensor".to_owned(), |kind| format!("vacuum sensor, {kind}"));
    let (first, second) = sensor.split_once(", ").unwrap_or((&sensor, "of the ignition"));
    picture.words([box_middle[0], box_middle[1] - 4.0], "middle", first);
    picture.words([box_middle[0], box_middle[1] + 16.0], "middle", second);
    picture.into_text()
}
