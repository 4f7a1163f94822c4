//! Rotor and cap from above, and every spark's range.

use super::EngineFile;
use super::picture::{Picture, at_bearing};
use crate::curve::sparks::cause_of;
use crate::page::report::page::Html;
use crate::record::figures::{RotorFigures, Section};
use crate::record::sparks::{RotorAtSparks, SparkResult, SparksResult};
use crate::words::number::fixed;
use crate::words::position::position;

const SIZE: [f64; 2] = [480.0, 430.0];
const MIDDLE: [f64; 2] = [240.0, 196.0];
/// The towers' circle.
const TOWERS: f64 = 150.0;
/// Where the rotor's tip ends.
const TIP: f64 = 128.0;

/// The section.
pub fn section(html: &mut Html, file: &EngineFile) {
    html.heading(2, "Rotor and cap from above");
    let rotor = match &file.figures {
        Some(Ok(figures)) => match &figures.rotor {
            Section::Known(rotor) => rotor,
            Section::Missing(why) => return html.marked("missing", &format!("Cannot be drawn yet: {why}")),
        },
        Some(Err(why)) => return html.marked("missing", &format!("Cannot be drawn yet: {why}")),
        None => return html.marked("missing", &file.no_sheet()),
    };
    if rotor.towers.len() < 2 {
        html.paragraph("One cylinder has one tower, or none: the spark cannot go to a wrong one.");
    } else {
        let sparks = file.sparks();
        html.picture(&from_above(file, rotor, sparks), &in_words(rotor), |html| {
            html.table("The rotor, distributor degrees", &["what", "value"], &facts(rotor));
            if let Some(at) = rotor.towers_at_in_words() {
                html.paragraph(&format!("Mind: {at}."));
            }
        });
    }
    html.heading(3, "Every spark's range");
    let Some(sparks) = file.sparks() else {
        let why = match &file.check {
            Some(Ok(check)) => check.not_told.join("; "),
            Some(Err(why)) => (*why).to_owned(),
            None => file.no_sheet(),
        };
        return html.marked("missing", &format!("Cannot be drawn yet: {why}"));
    };
    let caption = "Where each cause can put a spark, crank degrees before top dead centre (BTDC) to the left, after it (ATDC) to the right. \
                   Dark: a sound engine makes these again and again; light: they take a fault, or are the few of an engine that catches. Dashed: \
                   anywhere, for nothing bounds it.";
    html.picture(&ranges(sparks), caption, |html| {
        html.table("Every spark's range", &["cause", "earliest", "latest", "rotor past its own tower"], &rows(sparks));
    });
    html.list(sparks.demands.iter().map(|demand| &demand.statement));
    html.list(sparks.assumed.iter().map(|assumed| format!("Assumed: {assumed}.")));
}

fn in_words(rotor: &RotorFigures) -> String {
    format!(
        "The cap seen from above, the tower of cylinder 1 drawn on top: where it stands on your cap its lead tells. The rotor turns \
         {}; it is drawn lined up with that tower, as it stands with the crank at {} of cylinder 1 on compression.",
        if rotor.clockwise { "clockwise" } else { "anticlockwise" },
        position(rotor.line_up_crank_degrees)
    )
}

/// Where each tower stands, degrees from that of cylinder 1 in the rotor's direction.
fn towers_at(rotor: &RotorFigures) -> Vec<f64> {
    if let Some(at) = &rotor.towers_at_distributor_degrees {
        return at.clone();
    }
    let apart = rotor.travel.towers_apart_distributor_degrees;
    std::iter::successors(Some(0.0), |at| Some(at + apart)).take(rotor.towers.len()).collect()
}

/// The widest of the ranges of some causes, degrees past the tower.
fn widest<'a>(rows: impl Iterator<Item = &'a SparkResult>) -> Option<[f64; 2]> {
    rows.filter_map(|row| row.angles.filter(|angles| !angles.anywhere)?.rotor).fold(None, |so_far, rotor| {
        let RotorAtSparks { before_distributor_degrees: before, past_distributor_degrees: past, .. } = rotor;
        let [low, high] = so_far.unwrap_or([f64::INFINITY, f64::NEG_INFINITY]);
        Some([low.min(-before), high.max(past)])
    })
}

fn from_above(file: &EngineFile, rotor: &RotorFigures, sparks: Option<&SparksResult>) -> String {
    let sign = if rotor.clockwise { 1.0 } else { -1.0 };
    let ordinary = sparks.and_then(|sparks| widest(sparks.rows.iter().filter(|row| row.ordinary)));
    let odd = sparks.and_then(|sparks| widest(sparks.rows.iter()));
    let range = |what: &str, range: Option<[f64; 2]>| {
        range.map_or_else(String::new, |[from, to]| {
            format!(" {what} find the rotor from {} to {} its tower.", beside(from), beside(to))
        })
    };
    let towers: Vec<String> = rotor.towers.iter().map(u32::to_string).collect();
    let description = format!(
        "{} towers, in the rotor's direction {}.{}{}",
        rotor.towers.len(),
        towers.join(", "),
        range("Sparks of a sound engine", ordinary),
        range("Sparks of every bounded cause", odd)
    );
    let mut picture = Picture::new("cap", "Rotor and cap from above", &description, SIZE);
    picture.circle(MIDDLE, TOWERS + 26.0, "body");
    let at = towers_at(rotor);
    // Halfway to the neighbours the spark has its choice.
    let (next, last) = (at[1], 360.0 - at[at.len() - 1]);
    for halfway in [next / 2.0, -last / 2.0] {
        let bearing = halfway * sign;
        picture.line(at_bearing(MIDDLE, 30.0, bearing), at_bearing(MIDDLE, TOWERS + 26.0, bearing), "halfway");
    }
    let widths = file.sheet.map(|sheet| &sheet.distributor);
    let tower_width = widths.and_then(|widths| widths.tower_width_crank_degrees.value()).map(|width| width / 2.0);
    let tip_width = widths.and_then(|widths| widths.rotor_tip_width_crank_degrees.value()).map(|width| width / 2.0);
    for (cylinder, at) in rotor.towers.iter().zip(&at) {
        let bearing = at * sign;
        if let Some(width) = tower_width {
            picture.arc(MIDDLE, TIP + 8.0, [bearing - width / 2.0, bearing + width / 2.0], "contact");
        }
        picture.circle(at_bearing(MIDDLE, TOWERS + 6.0, bearing), 15.0, "tower");
        let [x, y] = at_bearing(MIDDLE, TOWERS + 6.0, bearing);
        picture.words_of(&cylinder.to_string(), [x, y + 6.0], "middle", "number");
    }
    let half = tip_width.unwrap_or(10.0) / 2.0;
    let tip = [-half, -half / 2.0, 0.0, half / 2.0, half].map(|bearing| at_bearing(MIDDLE, TIP, bearing));
    let [x, y] = MIDDLE;
    let body = [
        [x - 10.0, y + 26.0],
        [x - 10.0, y - 20.0],
        tip[0],
        tip[1],
        tip[2],
        tip[3],
        tip[4],
        [x + 10.0, y - 20.0],
        [x + 10.0, y + 26.0],
    ];
    picture.polygon(&body, "rotor");
    if let Some([from, to]) = odd {
        picture.arc(MIDDLE, 88.0, [from * sign, to * sign], "range odd");
    }
    if let Some([from, to]) = ordinary {
        picture.arc(MIDDLE, 106.0, [from * sign, to * sign], "range ordinary");
    }
    picture.circle(MIDDLE, 6.0, "shaft");
    picture.arrow(MIDDLE, 52.0, [100.0 * sign, 175.0 * sign], "motion");
    key(&mut picture, ordinary.is_some(), odd.is_some());
    picture.into_text()
}

/// A place as the rotor sees it: `7.8 distributor degrees before`.
fn beside(past: f64) -> String {
    format!("{} distributor degrees {}", fixed(past.abs(), 1), if past < 0.0 { "before" } else { "past" })
}

fn key(picture: &mut Picture, ordinary: bool, odd: bool) {
    let [_, height] = SIZE;
    let mut y = height - 32.0;
    for (class, words) in [
        (odd.then_some("range odd"), "a fault, or starting"),
        (ordinary.then_some("range ordinary"), "a sound engine's sparks"),
    ] {
        if let Some(class) = class {
            let x = if class.ends_with("odd") { 236.0 } else { 8.0 };
            picture.line([x, y], [x + 30.0, y], class);
            picture.words([x + 36.0, y + 5.0], "start", words);
        }
    }
    y += 24.0;
    picture.line([8.0, y - 4.0], [38.0, y - 4.0], "halfway");
    picture.words([44.0, y], "start", "halfway to the next tower: beyond it the spark may go there");
}

fn facts(rotor: &RotorFigures) -> Vec<Vec<String>> {
    let mut rows = vec![
        vec!["lined up at, crank degrees".to_owned(), position(rotor.line_up_crank_degrees)],
        vec!["to each side".to_owned(), fixed(rotor.each_side_distributor_degrees, 1)],
        vec!["towers apart, at least".to_owned(), fixed(rotor.travel.towers_apart_distributor_degrees, 1)],
        vec!["other tower then".to_owned(), fixed(rotor.other_tower_distributor_degrees, 1)],
    ];
    rows.push(vec![
        "tip and tower overlap at either end".to_owned(),
        rotor.overlap_at_ends_distributor_degrees.map_or_else(|| "not told".to_owned(), |overlap| fixed(overlap, 1)),
    ]);
    rows
}

fn rows(sparks: &SparksResult) -> Vec<Vec<String>> {
    let row = |spark: &SparkResult| {
        let name = cause_of(spark).to_owned();
        match &spark.angles {
            None => vec![name, "no spark".to_owned(), "-".to_owned(), "-".to_owned()],
            Some(angles) if angles.anywhere => vec![name, "anywhere".to_owned(), "anywhere".to_owned(), "-".to_owned()],
            Some(angles) => vec![
                name,
                position(angles.earliest_crank_degrees),
                position(angles.latest_crank_degrees),
                angles.rotor.map_or_else(
                    || "-".to_owned(),
                    |rotor| {
                        let ends = [-rotor.before_distributor_degrees, rotor.past_distributor_degrees];
                        let [from, to] = ends.map(|end| fixed(end, 1));
                        format!("{from} to {to}")
                    },
                ),
            ],
        }
    };
    sparks.rows.iter().map(row).collect()
}

/// The range of every cause as a bar, time running to the right.
fn ranges(sparks: &SparksResult) -> String {
    const LEFT: f64 = 176.0;
    const RIGHT: f64 = 458.0;
    const ROW: f64 = 21.0;
    const TOP: f64 = 30.0;
    let bounded = || sparks.rows.iter().filter_map(|row| row.angles.filter(|angles| !angles.anywhere));
    let round = |degrees: f64| (degrees / 30.0).ceil() * 30.0;
    let early = round(bounded().map(|angles| angles.earliest_crank_degrees).fold(30.0, f64::max));
    let late = -round(bounded().map(|angles| -angles.latest_crank_degrees).fold(30.0, f64::max));
    let x = |btdc: f64| LEFT + (early - btdc) / (early - late) * (RIGHT - LEFT);
    #[expect(clippy::cast_precision_loss, reason = "sixteen rows")]
    let height = TOP + ROW * sparks.rows.len() as f64 + 24.0;
    let statements: Vec<&str> = sparks.rows.iter().map(|row| row.statement.as_str()).collect();
    let description = format!("{}.", statements.join(". "));
    let mut picture = Picture::new("sparks", "Every spark's range", &description, [480.0, height]);
    let bottom = height - 24.0;
    let step = if early - late > 240.0 { 60.0 } else { 30.0 };
    let mut tick = (early / step).floor() * step;
    while tick >= late {
        let zero = tick.abs() < 1e-9;
        picture.line([x(tick), TOP - 6.0], [x(tick), bottom], if zero { "tdc" } else { "grid" });
        let words = if zero { "TDC".to_owned() } else { fixed(tick.abs(), 0) };
        picture.words([x(tick), TOP - 12.0], "middle", &words);
        tick -= step;
    }
    let mut y = TOP + ROW / 2.0;
    for row in &sparks.rows {
        picture.words([LEFT - 8.0, y + 4.0], "end", cause_of(row));
        let class = if row.ordinary { "range ordinary" } else { "range odd" };
        match &row.angles {
            None => picture.words([x(0.0) + 6.0, y + 4.0], "start", "no spark"),
            Some(angles) if angles.anywhere => {
                picture.line([LEFT, y], [RIGHT, y], "range anywhere");
            }
            Some(angles) => {
                picture.line([x(angles.earliest_crank_degrees), y], [x(angles.latest_crank_degrees), y], class);
            }
        }
        y += ROW;
    }
    picture.words([LEFT, height - 6.0], "start", "early, BTDC");
    picture.words([RIGHT, height - 6.0], "end", "late, ATDC");
    picture.into_text()
}
