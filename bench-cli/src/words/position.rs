//! Where the crank stands, in words: crank degrees with the side of top dead centre in the place of a sign.

use super::number::{fixed, short};

/// To a tenth, where the unit is told beside it: `8.5 BTDC`.
pub fn position(crank_degrees: f64) -> String {
    format!("{} {}", fixed(crank_degrees.abs(), 1), side(crank_degrees))
}

/// With its unit: `8.5 crank degrees BTDC`, and `8 crank degrees BTDC`.
pub fn position_with_unit(crank_degrees: f64) -> String {
    format!("{} crank degrees {}", short(crank_degrees.abs(), 1), side(crank_degrees))
}

/// Before or after top dead centre.
pub fn side(crank_degrees: f64) -> &'static str {
    if crank_degrees < 0.0 { "ATDC" } else { "BTDC" }
}
