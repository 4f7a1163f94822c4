//! The curve as it grows, in letters.

use super::Shaft;
use crate::distributor::fit::FitResult;
use crate::distributor::readings::{Hose, Reading, SpeedWas};
use crate::words::number::whole;
use std::fmt::Write as _;

const COLUMNS: usize = 64;
const ROWS: usize = 16;

/// The readings with the hose off, and the curve through them where there is one: `+` rising, `x` falling, `o` steady.
pub fn plot(readings: &[Reading], fitted: Option<&FitResult>, shaft: Shaft) -> String {
    let off: Vec<&Reading> = readings.iter().filter(|reading| reading.hose == Hose::Off).collect();
    let range = |of: fn(&Reading) -> f64| {
        off.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), reading| {
            (low.min(of(reading)), high.max(of(reading)))
        })
    };
    let (left, right) = range(|reading| reading.crank_rpm);
    let (bottom, top) = range(|reading| reading.crank_degrees);
    if off.len() < 2 || right - left < 1.0 {
        return String::new();
    }
    let (bottom, top) = (bottom.floor(), top.ceil().max(bottom.floor() + 4.0));
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small grid"
    )]
    let cell = |crank_rpm: f64, degrees: f64| {
        let column = (crank_rpm - left) / (right - left) * (COLUMNS - 1) as f64;
        let row = (top - degrees) / (top - bottom) * (ROWS - 1) as f64;
        ((row.round().max(0.0) as usize).min(ROWS - 1), (column.round().max(0.0) as usize).min(COLUMNS - 1))
    };
    let mut grid = vec![vec![' '; COLUMNS]; ROWS];
    if let Some(fitted) = fitted {
        for column in 0..COLUMNS {
            #[expect(clippy::cast_precision_loss, reason = "a small grid")]
            let crank_rpm = left + (right - left) * column as f64 / (COLUMNS - 1) as f64;
            let (row, column) = cell(crank_rpm, fitted.found.at(crank_rpm));
            grid[row][column] = '.';
        }
    }
    for reading in &off {
        let (row, column) = cell(reading.crank_rpm, reading.crank_degrees);
        grid[row][column] = match reading.speed_was {
            SpeedWas::Rising => '+',
            SpeedWas::Falling => 'x',
            SpeedWas::Steady => 'o',
        };
    }
    let what = match shaft {
        Shaft::Crank => "crank degrees BTDC",
        Shaft::Distributor => "distributor degrees",
    };
    let mut text = format!("{what}, hose off (+ rising, x falling, o steady)\n");
    for (at, row) in grid.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "a small grid")]
        let degrees = shaft.of_crank(top - (top - bottom) * at as f64 / (ROWS - 1) as f64);
        let line: String = row.iter().collect();
        let figure = if at % 5 == 0 { format!("{degrees:>5.1}") } else { " ".repeat(5) };
        let _ = writeln!(text, "{figure} |{}", line.trim_end());
    }
    let (left, right) = (whole(shaft.of_crank(left)), format!("{} {}", whole(shaft.of_crank(right)), shaft.rpm()));
    let gap = COLUMNS.saturating_sub(left.len() + right.len());
    let _ = writeln!(text, "      +{}\n       {left}{}{right}", "-".repeat(COLUMNS), " ".repeat(gap));
    text
}
