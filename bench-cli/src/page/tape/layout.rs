//! A tape as shapes on pages: strips one below the other, each overlapping the next, with a mark where they join.
//!
//! Lengths are mm, from the left upper corner of a page, y downwards. Everything is filled black; a line is a thin bar.

use super::place::{Side, motion};
use super::{Carrier, Tape};
use crate::sheet::Rotation;
use crate::words::number::short;

/// Width and height of a page that lies on its side, mm: the length of Letter by the breadth of A4, so that it prints on
/// either without a change of size (ISO 216: A4 is 210 by 297 mm; Letter is 8.5 by 11 in, 215.9 by 279.4 mm).
pub const TAPE_PAPER_MM: [f64; 2] = [279.4, 210.0];

/// Printers leave so much white, mm. Common practice, no source.
const MARGIN: f64 = 12.0;
/// Longest strip of tape.
const STRIP: f64 = TAPE_PAPER_MM[0] - 2.0 * MARGIN;
/// What a strip repeats of the one before.
const OVERLAP: f64 = 12.0;
/// The head of a page holds title, check bar and arrow.
const HEAD: f64 = 44.0;
const STRIP_PITCH: f64 = 26.0;
/// Width of the tape itself.
const TAPE_WIDTH: f64 = 14.0;
const LINE: f64 = 0.2;
/// Height of the numerals where they have room, mm. What is read off a moving scale from 0.71 m in poor light is 5 to 8 mm high. Source:
/// MIL-STD-1472 on the height of characters by luminance (from memory).
const NUMERAL: f64 = 5.0;
/// Height of Helvetica's numerals in heights of its type, and the breadth of each. Source: Adobe's font metrics (from memory).
const NUMERAL_IN_TYPE: [f64; 2] = [0.703, 0.556];
/// A numeral keeps so much of its breadth free to its neighbours. Common practice, no source.
const NUMERAL_ROOM: f64 = 1.15;
/// So far a tape is cut beyond its last mark, for the numeral that stands there, mm.
const END: f64 = 5.0;
/// The base line of the numerals above the edge that the pointer reads.
const NUMERAL_ABOVE: f64 = 5.6;
const CHECK_BAR: f64 = 100.0;

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A bar: left, top, width, height.
    Bar([f64; 4]),
    /// A polygon.
    Polygon(Vec<[f64; 2]>),
    /// A line of text on its base line.
    Text {
        /// Left end of the base line, or its middle.
        at: [f64; 2],
        /// Height of the type, mm.
        size: f64,
        /// Whether `at` is the middle.
        centred: bool,
        /// The text, printable ASCII.
        text: String,
    },
}

/// One page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Page {
    /// What stands on it.
    pub shapes: Vec<Shape>,
}

/// The whole drawing; there is at least one page.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Its title.
    pub title: String,
    /// Its pages.
    pub pages: Vec<Page>,
}

impl Drawing {
    /// The drawing of a tape.
    pub fn of(tape: &Tape) -> Self {
        let strips = Strip::all(tape);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a handful of strips")]
        let on_a_page = ((TAPE_PAPER_MM[1] - MARGIN - HEAD) / STRIP_PITCH).floor() as usize;
        let pages: Vec<&[Strip]> = strips.chunks(on_a_page).collect();
        let count = pages.len();
        let page = |(index, strips): (usize, &[Strip])| {
            let mut page = Page::default();
            page.head(tape, index + 1, count);
            let mut top = HEAD + 6.0;
            for strip in strips {
                page.strip(tape, strip, top);
                top += STRIP_PITCH;
            }
            page
        };
        Self { title: title(tape), pages: pages.into_iter().enumerate().map(page).collect() }
    }
}

/// What every title begins with.
pub const TITLE: &str = "Degree tape";

fn title(tape: &Tape) -> String {
    let on = match tape.carrier {
        Carrier::Pulley => "on a pulley",
        Carrier::Plate => "on a plate that stands still",
    };
    format!("{TITLE}, crank degrees, {on}, diameter {} mm", short(tape.diameter_mm, 3))
}

/// A stretch of the tape, in mm along it from its left end.
#[derive(Clone, Copy, Debug)]
struct Strip {
    from: f64,
    to: f64,
    /// Where it joins the strip before and the one after, with the letter of the join.
    joins: [Option<(f64, char)>; 2],
}

impl Strip {
    fn all(tape: &Tape) -> Vec<Self> {
        let length = tape.length_mm(f64::from(tape.after + tape.before));
        let mut strips = Vec::new();
        let mut from = 0.0;
        let mut before = None;
        for letter in 'A'.. {
            let to = (from + STRIP).min(length);
            let after = (to < length).then_some((to - OVERLAP / 2.0, letter));
            strips.push(Self { from, to, joins: [before, after] });
            if after.is_none() {
                break;
            }
            before = after;
            from = to - OVERLAP;
        }
        strips
    }
}

/// The numerals of a tape: rather fewer than small.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Numerals {
    /// Crank degrees from one to the next.
    pub(super) step: i32,
    /// Height of their type, mm.
    pub(super) size: f64,
}

impl Numerals {
    pub(super) fn of(tape: &Tape) -> Self {
        let [height, breadth] = NUMERAL_IN_TYPE;
        let full = NUMERAL / height;
        let digits = if tape.before.max(tape.after) >= 100 { 3.0 } else { 2.0 };
        let room = |step: i32| tape.length_mm(f64::from(step)) / (digits * breadth * NUMERAL_ROOM);
        let step = [10, 20, 30].into_iter().find(|&step| room(step) >= full).unwrap_or(30);
        Self { step, size: room(step).min(full) }
    }
}

impl Page {
    fn bar(&mut self, left: f64, top: f64, width: f64, height: f64) {
        self.shapes.push(Shape::Bar([left, top, width, height]));
    }

    /// An upright line whose middle is at `x`.
    fn upright(&mut self, x: f64, top: f64, height: f64, thickness: f64) {
        self.bar(x - thickness / 2.0, top, thickness, height);
    }

    fn text(&mut self, at: [f64; 2], size: f64, centred: bool, text: impl Into<String>) {
        self.shapes.push(Shape::Text { at, size, centred, text: text.into() });
    }

    fn head(&mut self, tape: &Tape, page: usize, pages: usize) {
        let [left, top] = [MARGIN, MARGIN];
        self.text([left, top + 3.0], 4.5, false, format!("{}, page {page} of {pages}", title(tape)));
        self.text(
            [left, top + 8.5],
            3.2,
            false,
            "Print at actual size (100 %), never fitted to the page. Check: the bar below is 100 mm long, or the page is of no use.",
        );
        let y = top + 18.0;
        self.bar(left, y, CHECK_BAR, 0.4);
        // The ends of the bar are its outer edges.
        self.bar(left, y - 3.0, LINE, 6.0);
        self.bar(left + CHECK_BAR - LINE, y - 3.0, LINE, 6.0);
        self.text([left + CHECK_BAR / 2.0, y - 1.2], 3.2, true, "100 mm");
        self.arrow(tape.rotation, left + 150.0, y);
        let turns = match tape.rotation {
            Rotation::Clockwise => "clockwise",
            Rotation::Anticlockwise => "anticlockwise",
        };
        self.text(
            [left + 128.0, y - 4.0],
            3.2,
            false,
            format!("The pulley turns this way: {turns}, seen from the pulley end"),
        );
        self.text(
            [left, y + 9.0],
            3.2,
            false,
            "Cut along the long edges. Where there are several strips, lay each join mark on the one with the same letter.",
        );
    }

    fn arrow(&mut self, rotation: Rotation, middle: f64, y: f64) {
        let sign = motion(rotation).sign();
        self.bar(middle - 20.0, y - 0.4, 40.0, 0.8);
        let tip = middle + sign * 24.0;
        let barb = middle + sign * 18.0;
        self.shapes.push(Shape::Polygon(vec![[tip, y], [barb, y - 2.0], [barb, y + 2.0]]));
    }

    fn strip(&mut self, tape: &Tape, strip: &Strip, top: f64) {
        let x_of = |along: f64| MARGIN + along - strip.from;
        let (width, bottom) = (strip.to - strip.from, top + TAPE_WIDTH);
        // The edges go on as far as half of a numeral at either end.
        for edge in [top, bottom] {
            self.bar(MARGIN - END, edge - LINE / 2.0, width + 2.0 * END, LINE);
        }
        // The degree at the left end, and which way they run.
        let side = tape.side_of_before();
        let left_end = match side {
            Side::Right => -tape.after,
            Side::Left => tape.before,
        };
        for offset in 0..=tape.after + tape.before {
            let degree = left_end + if side == Side::Right { offset } else { -offset };
            let along = tape.length_mm(f64::from(offset));
            if degree % tape.step() == 0 && (strip.from..=strip.to).contains(&along) {
                self.degree(tape, degree, x_of(along), bottom);
            }
        }
        // Clear of the join marks at the ends.
        self.text([MARGIN + OVERLAP, bottom + 3.2], 2.6, false, "pulley end");
        for (along, letter) in strip.joins.into_iter().flatten() {
            let x = x_of(along);
            self.upright(x, top - 4.0, 3.5, LINE);
            self.upright(x, bottom + 0.5, 3.5, LINE);
            self.text([x, top - 4.5], 3.2, true, format!("join {letter}"));
        }
    }

    /// A mark from the edge that the pointer reads, with its number where it has one.
    fn degree(&mut self, tape: &Tape, degree: i32, x: f64, bottom: f64) {
        let (height, thickness) = match degree {
            0 => (TAPE_WIDTH, 0.4),
            _ if degree % 10 == 0 => (NUMERAL_ABOVE - 0.4, 0.4),
            _ if degree % 5 == 0 => (4.2, LINE),
            _ => (3.0, LINE),
        };
        self.upright(x, bottom - height, height, thickness);
        let Numerals { step, size } = Numerals::of(tape);
        let above = bottom - NUMERAL_ABOVE - NUMERAL - 0.8;
        // Narrow enough not to touch its neighbours.
        let small = (0.3 * tape.length_mm(f64::from(step))).min(1.8);
        if degree == 0 {
            // Beside the mark: it goes through the whole width.
            self.text([x + 0.5, bottom - NUMERAL_ABOVE], size, false, "0");
            self.text([x + 0.8, above], small, false, "TDC");
        } else if degree % step == 0 {
            self.text([x, bottom - NUMERAL_ABOVE], size, true, degree.abs().to_string());
            self.text([x, above], small, true, if degree > 0 { "BTDC" } else { "ATDC" });
        }
    }
}
