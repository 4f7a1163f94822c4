//! The pulley from its own end: true top dead centre by a stop, and the marks of the tape.

use super::EngineFile;
use super::picture::{Picture, at_bearing};
use crate::curve::figures::in_words;
use crate::page::report::page::Html;
use crate::page::tape::Carrier;
use crate::quantity::of_core::crank_degrees;
use crate::sheet::Rotation;
use crate::words::number::{fixed, short, whole};
use crate::words::position::{position, side};

const SIZE: [f64; 2] = [480.0, 460.0];
const MIDDLE: [f64; 2] = [240.0, 252.0];
const RIM: f64 = 170.0;
/// Degrees of the tape after top dead centre.
const AFTER: f64 = 10.0;
/// A stop that nobody has tried yet is drawn so far to either side, crank degrees.
const STOP_DRAWN_AT: f64 = 45.0;

/// A mark of the curve on the rim.
struct CurveMark {
    letter: char,
    words: String,
    crank_degrees: f64,
}

/// The section.
pub fn section(html: &mut Html, file: &EngineFile) {
    html.heading(2, "Pulley, top dead centre and the tape");
    let Some(sheet) = file.sheet else { return html.marked("missing", &file.no_sheet()) };
    let rotation = match sheet.engine.rotation.get() {
        Ok(rotation) => *rotation,
        Err(error) => return html.marked("missing", &format!("Cannot be drawn yet: {}", in_words(&error))),
    };
    let marks = marks(file);
    let stops = file.readings.ok().and_then(|readings| readings.stops);
    let caption = format!(
        "The pulley seen from its own end, {} with the crank at top dead centre of cylinder 1. The pointer stands still; the tape turns \
         with the rim. {}",
        turns(rotation),
        stop_in_words(stops)
    );
    html.picture(&drawn(&marks, stops, rotation), &caption, |html| {
        let rows: Vec<Vec<String>> = marks
            .iter()
            .map(|mark| vec![mark.letter.to_string(), position(mark.crank_degrees), mark.words.clone()])
            .collect();
        html.table("The marks on the rim", &["mark", "crank degrees", "what"], &rows);
        html.paragraph("A tape at true size for your pulley, its diameter measured across the rim:");
        html.as_written("The command that draws the tape", &command(&marks, rotation));
        html.paragraph(
            "Its numerals are 5 mm high wherever they have room: what is read off a moving scale in poor light at 0.7 m wants 5 to 8 mm \
             (MIL-STD-1472, from memory).",
        );
    });
    file.missing_of_curve().iter().for_each(|sentence| html.marked("missing", sentence));
}

fn turns(rotation: Rotation) -> &'static str {
    match rotation {
        Rotation::Clockwise => "turning clockwise,",
        Rotation::Anticlockwise => "turning anticlockwise,",
    }
}

fn stop_in_words(stops: Option<[f64; 2]>) -> String {
    match stops {
        Some([before, after]) => format!(
            "The survey's positive stop held the crank where the pulley's own mark read {} and {}: true top dead centre is halfway, {} by \
             that mark.",
            as_read(before),
            as_read(after),
            as_read(f64::midpoint(before, after))
        ),
        None => "No positive stop is in the readings here: where the two marks S fall is not known, and they are drawn somewhere. True top \
                 dead centre lies halfway between them (common practice); `bobweight survey` leads through it, with its cautions."
            .to_owned(),
    }
}

/// Where the wheel stood, as exactly as it was read.
fn as_read(crank_degrees: f64) -> String {
    format!("{} {}", short(crank_degrees.abs(), 2), side(crank_degrees))
}

/// Where the chosen curve puts sparks on the rim.
fn marks(file: &EngineFile) -> Vec<CurveMark> {
    let Some(model) = &file.model else { return Vec::new() };
    let settings = model.settings();
    let initial = crank_degrees(settings.initial);
    let total = initial + crank_degrees(settings.centrifugal.range().1);
    let vacuum = settings.vacuum.as_ref().map(|vacuum| crank_degrees(vacuum.curve.range().1));
    let all = [
        (Some(initial), "initial timing, hose off, at idle"),
        (Some(total), "all centrifugal advance, hose off"),
        (vacuum.map(|vacuum| total + vacuum), "that and the whole vacuum advance"),
    ];
    let mut marks: Vec<CurveMark> = Vec::new();
    for (letter, (degrees, words)) in ('A'..).zip(all) {
        if let Some(crank_degrees) = degrees {
            marks.push(CurveMark { letter, words: words.to_owned(), crank_degrees });
        }
    }
    marks
}

/// How far before top dead centre the tape goes: a whole ten beyond the last mark.
fn before(marks: &[CurveMark]) -> f64 {
    let greatest = marks.iter().map(|mark| mark.crank_degrees).fold(30.0, f64::max);
    (greatest / 10.0).floor() * 10.0 + 10.0
}

fn command(marks: &[CurveMark], rotation: Rotation) -> String {
    let rotation = match rotation {
        Rotation::Clockwise => "clockwise",
        Rotation::Anticlockwise => "anticlockwise",
    };
    format!(
        "bobweight tape --diameter \"... mm\" \\\n  --from \"{} crank degrees ATDC\" \\\n  --to \"{} crank degrees BTDC\" \\\n  --rotation {rotation} \\\n  --on pulley \\\n  --out tape.pdf\n",
        whole(AFTER),
        whole(before(marks))
    )
}

fn drawn(marks: &[CurveMark], stops: Option<[f64; 2]>, rotation: Rotation) -> String {
    let sign = Carrier::Pulley.side_of_before(rotation).sign();
    let said: Vec<String> =
        marks.iter().map(|mark| format!("{}: {}, {}", mark.letter, mark.words, position(mark.crank_degrees))).collect();
    let right = if sign > 0.0 { "right" } else { "left" };
    let description = format!(
        "The degrees before top dead centre lie to the {right} of 0 on the rim. {}{}",
        said.join("; "),
        if said.is_empty() { "" } else { "." }
    );
    let mut picture = Picture::new("pulley", "Pulley, top dead centre and the tape", &description, SIZE);
    picture.circle(MIDDLE, RIM, "body");
    picture.circle(MIDDLE, 26.0, "shaft");
    let from = -AFTER;
    let to = before(marks);
    picture.arc(MIDDLE, RIM - 13.0, [from * sign, to * sign], "tape");
    let mut degree = from;
    while degree <= to {
        let bearing = degree * sign;
        let ten = (degree / 10.0).fract().abs() < 1e-9;
        let inner = if ten { 14.0 } else { 8.0 };
        picture.line(at_bearing(MIDDLE, RIM, bearing), at_bearing(MIDDLE, RIM - inner, bearing), "mark-line");
        if ten {
            let [x, y] = at_bearing(MIDDLE, RIM - 30.0, bearing);
            picture.words_of(&fixed(degree.abs(), 0), [x, y + 5.0], "middle", "number");
        }
        degree += 2.0;
    }
    for (degree, words) in [(-AFTER, "ATDC"), (15.0, "BTDC")] {
        let [x, y] = at_bearing(MIDDLE, RIM - 54.0, degree * sign);
        picture.words([x, y + 5.0], "middle", words);
    }
    pointer(&mut picture, sign);
    letters(&mut picture, marks, sign);
    let half = stops.map_or(STOP_DRAWN_AT, |[before, after]| (before - after) / 2.0);
    for bearing in [half, -half] {
        let class = if stops.is_some() { "stop" } else { "stop unknown" };
        picture.line(at_bearing(MIDDLE, 50.0, bearing), at_bearing(MIDDLE, RIM - 70.0, bearing), class);
        let [x, y] = at_bearing(MIDDLE, 42.0, bearing);
        picture.words_of("S", [x, y + 5.0], "middle", "number");
    }
    picture.arrow(MIDDLE, RIM - 30.0, [140.0 * sign, 220.0 * sign], "motion");
    let [x, y] = MIDDLE;
    picture.words([x, y + RIM - 56.0], "middle", "turns this way");
    picture.words([8.0, SIZE[1] - 8.0], "start", "S: where a stop holds the crank, on either side of TDC");
    picture.into_text()
}

/// The pointer on the block.
fn pointer(picture: &mut Picture, sign: f64) {
    let [x, y] = MIDDLE;
    let tip = y - RIM - 2.0;
    picture.polygon(&[[x, tip], [x - 8.0, tip - 20.0], [x + 8.0, tip - 20.0]], "ink");
    // On the side where no mark of the curve lies.
    picture.words([x - 16.0 * sign, tip - 8.0], if sign > 0.0 { "end" } else { "start" }, "pointer, at TDC");
}

/// The letters outside the rim, each clear of the one before it.
fn letters(picture: &mut Picture, marks: &[CurveMark], sign: f64) {
    let mut outermost: Vec<(f64, f64)> = Vec::new();
    for mark in marks {
        let near = |other: &&(f64, f64)| (other.0 - mark.crank_degrees).abs() < 9.0;
        let level = outermost.iter().filter(near).map(|other| other.1 + 22.0).fold(RIM + 24.0, f64::max);
        outermost.push((mark.crank_degrees, level));
        let bearing = mark.crank_degrees * sign;
        picture.line(at_bearing(MIDDLE, RIM - 20.0, bearing), at_bearing(MIDDLE, level - 10.0, bearing), "chosen-mark");
        let [x, y] = at_bearing(MIDDLE, level, bearing);
        picture.words_of(&mark.letter.to_string(), [x, y + 5.0], "middle", "letter");
    }
}
