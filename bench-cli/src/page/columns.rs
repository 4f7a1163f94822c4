//! Tables of fixed columns, so that rows can be printed as they come. Where a terminal is too narrow for a row, the last of its
//! cells stand in a second line below the first, those of the heading likewise.

use crate::words::wrap::columns;

/// How a cell lies in its column.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Lie {
    /// Words.
    Left,
    /// Figures.
    Right,
}

/// A table: the width and lie of each column, with so many blanks before each.
#[derive(Clone, Copy, Debug)]
pub struct Columns<'a> {
    /// Width, lie, blanks before.
    pub each: &'a [(usize, Lie, usize)],
}

/// Blanks before a second line.
const INDENT: usize = 4;

impl Columns<'_> {
    /// Lines that belong together, such as those of a heading, ended by line feeds: first what stands in the first line of a row,
    /// then what stands below it.
    pub fn lines<S: AsRef<str>>(&self, lines: &[&[S]]) -> String {
        let mut text = String::new();
        for (line, (from, to)) in self.parts().into_iter().enumerate() {
            for cells in lines {
                let mut printed = " ".repeat(if line == 0 { 0 } else { INDENT });
                for (cell, (width, lie, blanks)) in cells[from..to].iter().zip(&self.each[from..to]) {
                    let cell = cell.as_ref();
                    let room = width.saturating_sub(cell.chars().count());
                    let (before, after) = if *lie == Lie::Right { (room, 0) } else { (0, room) };
                    printed.push_str(&" ".repeat(blanks + before));
                    printed.push_str(cell);
                    printed.push_str(&" ".repeat(after));
                }
                let printed = printed.trim_end();
                // What is empty in one line of a heading is no line where it stands alone.
                if line == 0 || !printed.is_empty() {
                    text.push_str(printed);
                    text.push('\n');
                }
            }
        }
        text
    }

    /// From which column to which each line of a row goes.
    fn parts(&self) -> Vec<(usize, usize)> {
        let mut parts = vec![(0, 0)];
        let mut used = 0;
        for (at, (width, _, blanks)) in self.each.iter().enumerate() {
            if used + blanks + width > columns() && used > INDENT {
                parts.push((at, at));
                used = INDENT;
            }
            used += blanks + width;
            if let Some(last) = parts.last_mut() {
                last.1 = at + 1;
            }
        }
        parts
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::wrap::within;

    const THREE: Columns = Columns { each: &[(30, Lie::Left, 0), (15, Lie::Right, 1), (12, Lie::Right, 1)] };

    #[test]
    fn a_row_too_long_for_the_terminal_goes_on_below_and_its_heading_with_it() {
        let heading: [&[&str]; 2] = [&["name", "speed", "verdict"], &["", "crank rpm", ""]];
        let wide = THREE.lines(&heading);
        assert_eq!(wide.lines().count(), 2, "{wide}");
        let (narrow, row) = within(50, || (THREE.lines(&heading), THREE.lines(&[&["a", "3 300", "pass"]])));
        assert_eq!(narrow.lines().next_back().map(str::trim_start), Some("verdict"), "{narrow}");
        assert_eq!(narrow.lines().count(), 3, "{narrow}");
        assert_eq!(row, format!("{:<30} {:>15}\n{:>17}\n", "a", "3 300", "pass"));
    }
}
