//! A chart as inline SVG: axes, lines, bars and marks, told apart by shape and dash and never by colour alone.

use crate::page::svg::{Svg, number};
use crate::words::number::fixed;

/// The size of a chart and the room that it leaves for what stands around its lines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    width: f64,
    /// Without the key.
    height: f64,
    /// Room for the figures of the axes: left, right, top, bottom.
    room: [f64; 4],
    /// Rows of the key below the chart.
    key_rows: u8,
}

impl Frame {
    /// As wide as the page, with room for a word right of the last point.
    pub const WIDE: Self = Self { width: 720.0, height: 340.0, room: [58.0, 74.0, 14.0, 46.0], key_rows: 0 };

    /// Half as wide, so that its letters can be read on a phone; its words stand in a key below it.
    pub const fn narrow(key_rows: u8) -> Self {
        Self { width: 480.0, height: 330.0, room: [52.0, 16.0, 14.0, 48.0], key_rows }
    }

    /// The same with room for a second axis above.
    pub const fn with_axis_above(mut self) -> Self {
        self.height += 30.0;
        self.room[2] += 30.0;
        self
    }
}

/// Height of a row of the key.
const KEY_ROW: f64 = 22.0;

/// An axis.
#[derive(Clone, Debug)]
pub struct Axis {
    /// What it counts, with its unit.
    pub label: String,
    /// From here.
    pub low: f64,
    /// To here.
    pub high: f64,
}

impl Axis {
    /// An axis that holds all of these, with a little room.
    pub fn over(label: &str, values: impl IntoIterator<Item = f64>) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values.into_iter().filter(|value| value.is_finite()) {
            low = low.min(value);
            high = high.max(value);
        }
        if low > high {
            (low, high) = (0.0, 1.0);
        }
        let room = ((high - low) * 0.06).max(1e-3 * high.abs().max(1.0));
        Self { label: label.to_owned(), low: low - room, high: high + room }
    }

    /// Round figures along it, at most eight.
    fn ticks(&self) -> (f64, Vec<f64>) {
        let rough = (self.high - self.low) / 7.0;
        let power = 10.0_f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0].map(|of| of * power).into_iter().find(|&step| step >= rough).unwrap_or(rough);
        let mut tick = (self.low / step).ceil() * step;
        let mut ticks = Vec::new();
        while tick <= self.high + step * 1e-6 {
            ticks.push(tick);
            tick += step;
        }
        (step, ticks)
    }
}

/// A mark.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Mark {
    /// A triangle on its base: speed was rising.
    Rising,
    /// A triangle on its tip: speed was falling.
    Falling,
    /// A square.
    Square,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Stroke {
    /// Whole.
    Solid,
    /// Dashes.
    Dashed,
    /// Dots.
    Dotted,
}

impl Stroke {
    fn class(self) -> &'static str {
        match self {
            Self::Solid => "line",
            Self::Dashed => "line dashed",
            Self::Dotted => "line dotted",
        }
    }
}

/// A chart as it grows.
#[derive(Debug)]
pub struct Chart {
    svg: Svg,
    x: Axis,
    y: Axis,
    frame: Frame,
    keys: f64,
}

impl Chart {
    /// An empty chart. The identifier is unlike any other of the page; title and description are read out.
    pub fn new(frame: Frame, id: &str, title: &str, description: &str, x: Axis, y: Axis) -> Self {
        let mut chart = Self { svg: Svg::default(), x, y, frame, keys: 0.0 };
        let height = frame.height + KEY_ROW * f64::from(frame.key_rows);
        let (title_id, description_id) = (format!("{id}-title"), format!("{id}-description"));
        let svg = &mut chart.svg;
        svg.open(
            "svg",
            &[
                ("xmlns", "http://www.w3.org/2000/svg"),
                ("viewBox", &format!("0 0 {} {height}", frame.width)),
                ("role", "img"),
                ("aria-labelledby", &format!("{title_id} {description_id}")),
            ],
        );
        svg.text_element("title", &[("id", &title_id)], title);
        svg.text_element("desc", &[("id", &description_id)], description);
        chart.axes();
        chart
    }

    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let Frame { width, height, room: [left, right, top, bottom], .. } = self.frame;
        let across = (x - self.x.low) / (self.x.high - self.x.low);
        let up = (y - self.y.low) / (self.y.high - self.y.low);
        [left + across * (width - left - right), height - bottom - up * (height - top - bottom)]
    }

    fn axes(&mut self) {
        let Frame { width, height, room: [left, right, top, bottom], .. } = self.frame;
        let (x, y) = (self.x.clone(), self.y.clone());
        let (step, ticks) = x.ticks();
        for tick in ticks {
            let [at, _] = self.place([tick, y.low]);
            self.straight([at, height - bottom], [at, top], "grid");
            self.text([at, height - bottom + 16.0], "middle", &tick_text(tick, step));
        }
        let (step, ticks) = y.ticks();
        for tick in ticks {
            let [_, at] = self.place([x.low, tick]);
            let zero = if tick.abs() < step * 1e-6 { "zero" } else { "grid" };
            self.straight([left, at], [width - right, at], zero);
            self.text([left - 6.0, at + 4.0], "end", &tick_text(tick, step));
        }
        self.straight([left, height - bottom], [width - right, height - bottom], "axis");
        self.straight([left, height - bottom], [left, top], "axis");
        self.text([f64::midpoint(left, width - right), height - 8.0], "middle", &x.label);
        let (at_x, at_y) = (number(14.0), number(f64::midpoint(top, height - bottom)));
        self.svg.text_element(
            "text",
            &[
                ("x", &at_x),
                ("y", &at_y),
                ("text-anchor", "middle"),
                ("transform", &format!("rotate(-90 {at_x} {at_y})")),
            ],
            &y.label,
        );
    }

    fn straight(&mut self, [x1, y1]: [f64; 2], [x2, y2]: [f64; 2], class: &str) {
        let ends = [x1, y1, x2, y2].map(number);
        self.svg
            .empty("line", &[("x1", &ends[0]), ("y1", &ends[1]), ("x2", &ends[2]), ("y2", &ends[3]), ("class", class)]);
    }

    fn text(&mut self, [x, y]: [f64; 2], anchor: &str, text: &str) {
        self.svg.text_element("text", &[("x", &number(x)), ("y", &number(y)), ("text-anchor", anchor)], text);
    }

    /// A line through points.
    pub fn line(&mut self, points: &[[f64; 2]], stroke: Stroke) {
        self.line_of(points, stroke.class());
    }

    /// A line through points, of a class of the style sheet.
    pub fn line_of(&mut self, points: &[[f64; 2]], class: &str) {
        let points = self.places(points);
        self.svg.empty("polyline", &[("points", &points), ("class", class)]);
    }

    /// What lies between two lines, each from left to right.
    pub fn band(&mut self, below: &[[f64; 2]], above: &[[f64; 2]], class: &str) {
        let around: Vec<[f64; 2]> = below.iter().chain(above.iter().rev()).copied().collect();
        let points = self.places(&around);
        self.svg.empty("polygon", &[("points", &points), ("class", class)]);
    }

    fn places(&self, points: &[[f64; 2]]) -> String {
        let place = |&point: &[f64; 2]| {
            let [x, y] = self.place(point);
            format!("{},{}", number(x), number(y))
        };
        points.iter().map(place).collect::<Vec<_>>().join(" ")
    }

    /// A second axis above the chart: the same figures in another unit, of which one holds so many of the first.
    pub fn axis_above(&mut self, label: &str, holds: f64) {
        let Frame { width, room: [left, right, top, _], .. } = self.frame;
        let (step, ticks) = Axis { label: String::new(), low: self.x.low / holds, high: self.x.high / holds }.ticks();
        for tick in ticks {
            let [at, _] = self.place([tick * holds, self.y.low]);
            self.straight([at, top - 5.0], [at, top], "axis");
            self.text([at, top - 8.0], "middle", &tick_text(tick, step));
        }
        self.straight([left, top], [width - right, top], "axis");
        self.text([f64::midpoint(left, width - right), 14.0], "middle", label);
    }

    fn next_key(&mut self, words: &str) -> f64 {
        let y = self.frame.height + KEY_ROW * (self.keys + 0.5);
        self.keys += 1.0;
        self.text([54.0, y + 4.0], "start", words);
        y
    }

    /// A row of the key: what a line of this class is.
    pub fn key_of_line(&mut self, class: &str, words: &str) {
        let y = self.next_key(words);
        self.straight([8.0, y], [44.0, y], class);
    }

    /// A row of the key: what a band of this class is.
    pub fn key_of_band(&mut self, class: &str, words: &str) {
        let y = self.next_key(words);
        let [top, height] = [y - 6.0, 12.0].map(number);
        self.svg.empty("rect", &[("x", "8"), ("y", &top), ("width", "36"), ("height", &height), ("class", class)]);
    }

    /// A row of the key: what these marks are.
    pub fn key_of_marks(&mut self, marks: &[(Mark, bool)], words: &str) {
        let y = self.next_key(words);
        let mut x = 14.0;
        for (mark, hollow) in marks {
            self.draw_mark([x, y], *mark, *hollow);
            x += 13.0;
        }
    }

    /// A mark at a point, hollow or full, with a bar of this half-length.
    pub fn mark(&mut self, point: [f64; 2], half_bar: f64, mark: Mark, hollow: bool) {
        let [x, y] = self.place(point);
        if half_bar > 0.0 {
            let [_, above] = self.place([point[0], point[1] + half_bar]);
            let [_, below] = self.place([point[0], point[1] - half_bar]);
            self.straight([x, above], [x, below], "bar");
            for end in [above, below] {
                self.straight([x - 3.0, end], [x + 3.0, end], "bar");
            }
        }
        self.draw_mark([x, y], mark, hollow);
    }

    fn draw_mark(&mut self, [x, y]: [f64; 2], mark: Mark, hollow: bool) {
        let corners = match mark {
            Mark::Rising => [[0.0, -5.0], [4.6, 3.4], [-4.6, 3.4]].to_vec(),
            Mark::Falling => [[0.0, 5.0], [4.6, -3.4], [-4.6, -3.4]].to_vec(),
            Mark::Square => [[-3.6, -3.6], [3.6, -3.6], [3.6, 3.6], [-3.6, 3.6]].to_vec(),
        };
        let corners: Vec<String> =
            corners.iter().map(|[dx, dy]| format!("{},{}", number(x + dx), number(y + dy))).collect();
        let class = if hollow { "mark hollow" } else { "mark" };
        self.svg.empty("polygon", &[("points", &corners.join(" ")), ("class", class)]);
    }

    /// Words right of the chart, at the height of a point.
    pub fn label(&mut self, point: [f64; 2], words: &str) {
        let [_, y] = self.place(point);
        self.text([self.frame.width - self.frame.room[1] + 6.0, y + 4.0], "start", words);
    }

    /// Words above a point.
    pub fn note(&mut self, point: [f64; 2], words: &str) {
        let [x, y] = self.place(point);
        let anchor = if x > self.frame.width - 60.0 { "end" } else { "middle" };
        self.text([x, y - 8.0], anchor, words);
    }

    /// The whole element.
    pub fn into_text(mut self) -> String {
        self.svg.close("svg");
        self.svg.into_text()
    }
}

fn tick_text(tick: f64, step: f64) -> String {
    let places = if step >= 1.0 {
        0
    } else if step >= 0.1 {
        1
    } else if step >= 0.01 {
        2
    } else {
        3
    };
    fixed(tick, places)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let axis = Axis::over("crank rpm", [650.0, 4600.0]);
        let (step, ticks) = axis.ticks();
        assert!((step - 1000.0).abs() < 1e-9, "{step}");
        assert_eq!(ticks.iter().map(|tick| tick.round()).collect::<Vec<_>>(), [1000.0, 2000.0, 3000.0, 4000.0]);
        assert_eq!(tick_text(-0.0, 0.5), "0.0");
    }

    #[test]
    fn one_value_and_none_give_an_axis_all_the_same() {
        for axis in [Axis::over("", [3.0, 3.0]), Axis::over("", []), Axis::over("", [f64::NAN])] {
            assert!(axis.low < axis.high && axis.ticks().1.len() < 20, "{axis:?}");
        }
    }
}
