//! A curve drawn in letters: speed to the right, degrees upwards.

use super::number::whole;
use super::wrap::columns;
use std::fmt::Write as _;

/// As many as stand in a terminal of 80 columns; fewer in a narrower one.
const COLUMNS: usize = 64;
/// The figures of the degrees and the line beside them.
const SCALE: usize = 8;
const ROWS: usize = 16;

/// The picture.
pub struct Grid {
    x: [f64; 2],
    y: [f64; 2],
    cells: Vec<Vec<char>>,
}

impl Grid {
    /// An empty one over these ranges; the degrees go to whole ones, and over four at least. The first range must not be empty.
    pub fn over(x: [f64; 2], y: [f64; 2]) -> Self {
        let bottom = y[0].floor();
        let y = [bottom, y[1].ceil().max(bottom + 4.0)];
        Self { x, y, cells: vec![vec![' '; columns().saturating_sub(SCALE).clamp(SCALE, COLUMNS)]; ROWS] }
    }

    fn columns(&self) -> usize {
        self.cells.first().map_or(SCALE, Vec::len)
    }

    /// Puts a letter where a value lies; at the edge where it lies outside.
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small grid"
    )]
    pub fn mark(&mut self, x: f64, y: f64, letter: char) {
        let place = |share: f64, cells: usize| ((share * (cells - 1) as f64).round().max(0.0) as usize).min(cells - 1);
        let column = place((x - self.x[0]) / (self.x[1] - self.x[0]), self.columns());
        let row = place((self.y[1] - y) / (self.y[1] - self.y[0]), ROWS);
        self.cells[row][column] = letter;
    }

    /// Puts a letter into every column, as high as a curve is there.
    pub fn line(&mut self, letter: char, curve: impl Fn(f64) -> f64) {
        let columns = self.columns();
        for column in 0..columns {
            #[expect(clippy::cast_precision_loss, reason = "a small grid")]
            let x = self.x[0] + (self.x[1] - self.x[0]) * column as f64 / (columns - 1) as f64;
            self.mark(x, curve(x), letter);
        }
    }

    /// The picture with its scales, in the units that the reader has.
    pub fn in_words(&self, shown_x: impl Fn(f64) -> f64, shown_y: impl Fn(f64) -> f64, unit: &str) -> String {
        let mut text = String::new();
        for (at, row) in self.cells.iter().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "a small grid")]
            let y = shown_y(self.y[1] - (self.y[1] - self.y[0]) * at as f64 / (ROWS - 1) as f64);
            let line: String = row.iter().collect();
            let figure = if at % 5 == 0 { format!("{y:>5.1}") } else { " ".repeat(5) };
            let _ = writeln!(text, "{figure} |{}", line.trim_end());
        }
        let (left, right) = (whole(shown_x(self.x[0])), format!("{} {unit}", whole(shown_x(self.x[1]))));
        let gap = self.columns().saturating_sub(left.len() + right.len());
        let _ = writeln!(text, "      +{}\n       {left}{}{right}", "-".repeat(self.columns()), " ".repeat(gap));
        text
    }
}
