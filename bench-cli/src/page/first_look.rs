//! A first look at a curve: figures, and a picture in letters.

use super::columns::{Columns, Lie};
use crate::curve::figures::conditions::depression_in_words;
use crate::curve::first_look::{FirstLook, Row};
use crate::words::grid::Grid;
use crate::words::number::{fixed, whole};
use crate::words::wrap::paragraph;

/// Speed, hose off, with all of the vacuum.
const TABLE: Columns = Columns { each: &[(8, Lie::Right, 2), (10, Lie::Right, 2), (14, Lie::Right, 2)] };

/// Figures and picture; and that nobody has said what the engine stands, where that is so.
pub fn render(look: &FirstLook, limits_are_known: bool) -> String {
    let mut text = String::from("In crank degrees before top dead centre, the engine running\n");
    let vacuum = if look.full_kpa().is_some() { "whole vacuum" } else { "" };
    text.push_str(&TABLE.lines(&[&["crank rpm", "hose off", vacuum]]));
    let rows = look.rows();
    for row in &rows {
        let whole_vacuum = row.whole_vacuum.map_or_else(String::new, |degrees| fixed(degrees, 1));
        text.push_str(&TABLE.lines(&[&[whole(row.crank_rpm), fixed(row.hose_off, 1), whole_vacuum]]));
    }
    if let Some(kpa) = look.full_kpa() {
        paragraph(&mut text, "  ", &format!("whole vacuum: {} and more", depression_in_words(kpa)));
    }
    text.push_str(&picture(look, &rows));
    if !limits_are_known {
        paragraph(&mut text, "", "No limit of the engine is known so far, so nothing is said of what it stands.");
    }
    text
}

fn picture(look: &FirstLook, rows: &[Row]) -> String {
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return String::new() };
    let right = last.crank_rpm + (last.crank_rpm - first.crank_rpm) * 0.2;
    let left = (first.crank_rpm - (last.crank_rpm - first.crank_rpm) * 0.2).max(31.0);
    let values = rows.iter().flat_map(|row| [Some(row.hose_off), row.whole_vacuum]).flatten();
    let [bottom, top] =
        values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| [low.min(value), high.max(value)]);
    let mut grid = Grid::over([left, right], [bottom, top]);
    if look.full_kpa().is_some() {
        grid.line('v', |crank_rpm| look.at(crank_rpm).whole_vacuum.unwrap_or(f64::NAN));
    }
    grid.line('.', |crank_rpm| look.at(crank_rpm).hose_off);
    let with = if look.full_kpa().is_some() { ", v with the whole vacuum" } else { "" };
    format!("\ncrank degrees BTDC (. hose off{with})\n{}", grid.in_words(|rpm| rpm, |degrees| degrees, "crank rpm"))
}
