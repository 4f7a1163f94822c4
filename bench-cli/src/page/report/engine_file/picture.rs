//! A drawing that is no chart: lines, arcs and words on a plane whose y runs down.

use crate::page::svg::{Svg, number};

/// A drawing as it grows.
#[derive(Debug)]
pub struct Picture {
    svg: Svg,
}

impl Picture {
    /// An empty one. The identifier is unlike any other of the page; title and description are read out.
    pub fn new(id: &str, title: &str, description: &str, [width, height]: [f64; 2]) -> Self {
        let mut svg = Svg::default();
        let (title_id, description_id) = (format!("{id}-title"), format!("{id}-description"));
        svg.open(
            "svg",
            &[
                ("xmlns", "http://www.w3.org/2000/svg"),
                ("viewBox", &format!("0 0 {} {}", number(width), number(height))),
                ("role", "img"),
                ("aria-labelledby", &format!("{title_id} {description_id}")),
            ],
        );
        svg.text_element("title", &[("id", &title_id)], title);
        svg.text_element("desc", &[("id", &description_id)], description);
        Self { svg }
    }

    /// A straight line.
    pub fn line(&mut self, [x1, y1]: [f64; 2], [x2, y2]: [f64; 2], class: &str) {
        let ends = [x1, y1, x2, y2].map(number);
        self.svg
            .empty("line", &[("x1", &ends[0]), ("y1", &ends[1]), ("x2", &ends[2]), ("y2", &ends[3]), ("class", class)]);
    }

    /// A line through points.
    pub fn through(&mut self, points: &[[f64; 2]], class: &str) {
        self.svg.empty("polyline", &[("points", &joined(points)), ("class", class)]);
    }

    /// What points enclose.
    pub fn polygon(&mut self, points: &[[f64; 2]], class: &str) {
        self.svg.empty("polygon", &[("points", &joined(points)), ("class", class)]);
    }

    /// A rectangle: left, top, width, height.
    pub fn rectangle(&mut self, sides: [f64; 4], class: &str) {
        let sides = sides.map(number);
        self.svg.empty(
            "rect",
            &[("x", &sides[0]), ("y", &sides[1]), ("width", &sides[2]), ("height", &sides[3]), ("class", class)],
        );
    }

    /// A circle.
    pub fn circle(&mut self, [x, y]: [f64; 2], radius: f64, class: &str) {
        let numbers = [x, y, radius].map(number);
        self.svg.empty("circle", &[("cx", &numbers[0]), ("cy", &numbers[1]), ("r", &numbers[2]), ("class", class)]);
    }

    /// A part of a circle's rim between two bearings; a whole turn is the whole rim.
    pub fn arc(&mut self, centre: [f64; 2], radius: f64, [from, to]: [f64; 2], class: &str) {
        let (from, to) = (from.min(to), from.max(to).min(from.min(to) + 360.0));
        // Chords of two degrees are no more than 0.02 of a unit off on any rim that is drawn here.
        let steps = ((to - from) / 2.0).ceil().max(1.0);
        let mut points = Vec::new();
        let mut step = 0.0;
        while step <= steps {
            points.push(at_bearing(centre, radius, from + (to - from) * step / steps));
            step += 1.0;
        }
        self.through(&points, class);
    }

    /// An arrow along a rim from one bearing to another, its head at the second.
    pub fn arrow(&mut self, centre: [f64; 2], radius: f64, [from, to]: [f64; 2], class: &str) {
        self.arc(centre, radius, [from, to], class);
        let back = if to > from { to - 7.0 } else { to + 7.0 };
        let head = [
            at_bearing(centre, radius, to),
            at_bearing(centre, radius - 5.0, back),
            at_bearing(centre, radius + 5.0, back),
        ];
        self.polygon(&head, "ink");
    }

    /// Words: `anchor` is what SVG calls it, `start`, `middle` or `end`.
    pub fn words(&mut self, [x, y]: [f64; 2], anchor: &str, words: &str) {
        self.words_of(words, [x, y], anchor, "");
    }

    /// Words of a class of the style sheet.
    pub fn words_of(&mut self, words: &str, [x, y]: [f64; 2], anchor: &str, class: &str) {
        let place = [x, y].map(number);
        let mut attributes = vec![("x", place[0].as_str()), ("y", &place[1]), ("text-anchor", anchor)];
        if !class.is_empty() {
            attributes.push(("class", class));
        }
        self.svg.text_element("text", &attributes, words);
    }

    /// The whole element.
    pub fn into_text(mut self) -> String {
        self.svg.close("svg");
        self.svg.into_text()
    }
}

/// A point at a bearing from a centre: degrees from straight up, with the hands of a clock.
pub fn at_bearing([x, y]: [f64; 2], radius: f64, bearing: f64) -> [f64; 2] {
    let (sine, cosine) = bearing.to_radians().sin_cos();
    [x + radius * sine, y - radius * cosine]
}

fn joined(points: &[[f64; 2]]) -> String {
    points.iter().map(|[x, y]| format!("{},{}", number(*x), number(*y))).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the definition of a bearing.
    #[test]
    fn bearings_run_with_the_clock_from_straight_up() {
        for (bearing, wanted) in [(0.0, [10.0, 5.0]), (90.0, [15.0, 10.0]), (180.0, [10.0, 15.0]), (-90.0, [5.0, 10.0])]
        {
            let [x, y] = at_bearing([10.0, 10.0], 5.0, bearing);
            let [wx, wy]: [f64; 2] = wanted;
            assert!((x - wx).abs() < 1e-9 && (y - wy).abs() < 1e-9, "{bearing}: {x}, {y}");
        }
    }
}
