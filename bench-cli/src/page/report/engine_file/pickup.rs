//! The pickup's flanks, and where the sparks lie to them.

use super::EngineFile;
use super::picture::Picture;
use crate::curve::figures::in_words;
use crate::curve::sparks::cause_of;
use crate::page::report::page::Html;
use crate::record::sparks::SparkResult;
use crate::sheet::{Flank, PickupKind, Sheet, SheetError};
use crate::words::number::fixed;
use crate::words::position::position;
use bobweight::sparks::Cause;

const WIDTH: f64 = 480.0;
const LEFT: f64 = 14.0;
const RIGHT: f64 = 466.0;
const HIGH: f64 = 78.0;
const LOW: f64 = 134.0;

/// The section.
pub fn section(html: &mut Html, file: &EngineFile) {
    html.heading(2, "The pickup's two flanks");
    let Some(sheet) = file.sheet else { return html.marked("missing", &file.no_sheet()) };
    let flanks = match Flanks::of(sheet) {
        Ok(flanks) => flanks,
        Err(error) => return html.marked("missing", &format!("Cannot be drawn yet: {}", in_words(&error))),
    };
    let sparks: Vec<&SparkResult> = [Cause::Running, Cause::Cranking]
        .iter()
        .filter_map(|cause| file.sparks()?.row(cause.key()))
        .filter(|row| row.angles.is_some_and(|angles| !angles.anywhere))
        .collect();
    let caption = format!(
        "One pulse as the ignition's input sees it, time running to the right: {}. Bars: where sparks come.",
        flanks.kind_in_words()
    );
    html.picture(&flanks.drawn(&sparks), &caption, |html| {
        html.table("The pickup's flanks", &["what", "crank degrees"], &flanks.rows(&sparks));
    });
    if sparks.is_empty() {
        html.marked(
            "missing",
            "Where the sparks lie is drawn once `bobweight check` can list every spark of this sheet.",
        );
    }
}

struct Flanks {
    kind: PickupKind,
    falling: bool,
    timing: f64,
    /// Where the other flank lies; for a coil between which angles, the earlier first.
    other: Option<[f64; 2]>,
}

impl Flanks {
    fn of(sheet: &Sheet) -> Result<Self, SheetError> {
        let pickup = &sheet.pickup;
        let fixed_flank = pickup.second_flank_angle_crank_degrees.value().map(|angle| [*angle, *angle]);
        Ok(Self {
            kind: *pickup.kind.get()?,
            falling: *pickup.flank.get()? == Flank::Falling,
            timing: *pickup.angle_crank_degrees.get()?,
            other: pickup.moving_flank_crank_degrees.value().copied().or(fixed_flank),
        })
    }

    fn kind_in_words(&self) -> &'static str {
        match self.kind {
            PickupKind::Vane => "a vane before a Hall sensor",
            PickupKind::Slot => "a slotted disc in a light barrier",
            PickupKind::Coil => "a coil past which a magnet moves, behind its conditioner",
            PickupKind::Points => "the old contacts, as a switch alone",
        }
    }

    fn timing_in_words(&self) -> String {
        let way = if self.falling { "falling" } else { "rising" };
        match self.kind {
            PickupKind::Coil => format!("zero crossing, {way}"),
            PickupKind::Points => format!("contacts open, {way}"),
            PickupKind::Vane | PickupKind::Slot => format!("timing flank, {way}"),
        }
    }

    fn other_in_words(&self) -> &'static str {
        match self.kind {
            PickupKind::Coil => "moving flank",
            PickupKind::Points => "contacts close",
            PickupKind::Vane | PickupKind::Slot => "second flank",
        }
    }

    fn rows(&self, sparks: &[&SparkResult]) -> Vec<Vec<String>> {
        let mut rows = vec![vec![self.timing_in_words(), position(self.timing)]];
        rows.push(vec![self.other_in_words().to_owned(), self.other_at()]);
        rows.extend(sparks.iter().filter_map(|spark| {
            let angles = spark.angles?;
            let [from, to] = [angles.earliest_crank_degrees, angles.latest_crank_degrees].map(position);
            Some(vec![format!("sparks, {}", cause_of(spark)), format!("{from} to {to}")])
        }));
        rows
    }

    fn other_at(&self) -> String {
        match self.other {
            None => "none in the sheet".to_owned(),
            Some([from, to]) if (from - to).abs() < 1e-9 => position(from),
            Some([from, to]) => format!("{} to {}", position(from), position(to)),
        }
    }

    fn drawn(&self, sparks: &[&SparkResult]) -> String {
        let angles: Vec<f64> = sparks
            .iter()
            .filter_map(|row| row.angles)
            .flat_map(|angles| [angles.earliest_crank_degrees, angles.latest_crank_degrees])
            .chain(self.other.into_iter().flatten())
            .chain([self.timing, 0.0])
            .collect();
        let early = angles.iter().copied().fold(10.0, f64::max) + 12.0;
        let late = angles.iter().copied().fold(-10.0, f64::min) - 12.0;
        let x = |btdc: f64| LEFT + (early - btdc) / (early - late) * (RIGHT - LEFT);
        #[expect(clippy::cast_precision_loss, reason = "two rows")]
        let height = 206.0 + 24.0 * sparks.len() as f64;
        let description = format!(
            "{} at {}; {}: {}.",
            self.timing_in_words(),
            position(self.timing),
            self.other_in_words(),
            self.other_at()
        );
        let mut picture = Picture::new("pickup", "The pickup's two flanks", &description, [WIDTH, height]);
        let axis = height - 34.0;
        let step = [5.0, 10.0, 20.0, 30.0, 60.0].into_iter().find(|step| (early - late) / step <= 10.0).unwrap_or(90.0);
        let mut tick = (early / step).floor() * step;
        while tick >= late {
            let zero = tick.abs() < 1e-9;
            picture.line([x(tick), 56.0], [x(tick), axis], if zero { "tdc" } else { "grid" });
            let words = if zero { "TDC".to_owned() } else { fixed(tick.abs(), 0) };
            picture.words([x(tick), axis + 14.0], "middle", &words);
            tick -= step;
        }
        picture.words([LEFT, height - 4.0], "start", "crank degrees BTDC");
        picture.words([RIGHT, height - 4.0], "end", "ATDC");
        self.signal(&mut picture, &x, [early, late]);
        let mut y = LOW + 32.0;
        for spark in sparks {
            let Some(angles) = spark.angles else { continue };
            let ends = [x(angles.earliest_crank_degrees), x(angles.latest_crank_degrees)];
            picture.line([ends[0], y], [ends[1].max(ends[0] + 2.0), y], "range ordinary");
            // Beside the bar, on the side that has more room.
            let words = format!("sparks, {}", cause_of(spark));
            if ends[0] - LEFT > RIGHT - ends[1] {
                picture.words([ends[0] - 6.0, y + 4.0], "end", &words);
            } else {
                picture.words([ends[1] + 6.0, y + 4.0], "start", &words);
            }
            y += 24.0;
        }
        picture.into_text()
    }

    /// The input's level over the pulse, with the names of its edges above it.
    fn signal(&self, picture: &mut Picture, x: &impl Fn(f64) -> f64, [early, late]: [f64; 2]) {
        let level = |high: bool| if high { HIGH } else { LOW };
        // Before the timing flank the input stands where that flank leaves.
        let (before, after) = (level(self.falling), level(!self.falling));
        match self.other {
            None => {
                picture.through(
                    &[
                        [x(early), before],
                        [x(self.timing), before],
                        [x(self.timing), after],
                        [x(self.timing - 12.0), after],
                    ],
                    "signal",
                );
            }
            Some([from, to]) if self.kind == PickupKind::Coil => {
                picture.rectangle([x(from), HIGH, x(to) - x(from), LOW - HIGH], "moves");
                let middle = f64::midpoint(from, to);
                let points = [
                    [x(early), after],
                    [x(middle), after],
                    [x(middle), before],
                    [x(self.timing), before],
                    [x(self.timing), after],
                    [x(late), after],
                ];
                picture.through(&points, "signal");
            }
            Some([other, _]) => {
                let points = [
                    [x(early), before],
                    [x(self.timing), before],
                    [x(self.timing), after],
                    [x(other), after],
                    [x(other), before],
                    [x(late), before],
                ];
                picture.through(&points, "signal");
            }
        }
        let mut edge = |at: f64, y: f64, words: &str| {
            let (from, anchor) = if at > WIDTH / 2.0 { (at + 4.0, "end") } else { (at - 4.0, "start") };
            picture.line([at, y + 4.0], [at, LOW], "edge");
            picture.words([from.clamp(LEFT, RIGHT), y], anchor, words);
        };
        edge(x(self.timing), 18.0, &format!("{}, {}", self.timing_in_words(), position(self.timing)));
        if let Some([from, to]) = self.other {
            let words = format!("{}, {}", self.other_in_words(), self.other_at());
            edge(x(f64::midpoint(from, to)), 42.0, &words);
        }
    }
}
