//! The curve as it grows, in letters.

use super::Shaft;
use crate::distributor::fit::FitResult;
use crate::distributor::readings::{Hose, Reading, SpeedWas};
use crate::words::grid::Grid;

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
    let mut grid = Grid::over([left, right], [bottom, top]);
    if let Some(fitted) = fitted {
        grid.line('.', |crank_rpm| fitted.found.at(crank_rpm));
    }
    for reading in &off {
        let mark = match reading.speed_was {
            SpeedWas::Rising => '+',
            SpeedWas::Falling => 'x',
            SpeedWas::Steady => 'o',
        };
        grid.mark(reading.crank_rpm, reading.crank_degrees, mark);
    }
    let what = match shaft {
        Shaft::Crank => "crank degrees BTDC",
        Shaft::Distributor => "distributor degrees",
    };
    let text = grid.in_words(|crank_rpm| shaft.of_crank(crank_rpm), |degrees| shaft.of_crank(degrees), shaft.rpm());
    format!("{what}, hose off (+ rising, x falling, o steady)\n{text}")
}
