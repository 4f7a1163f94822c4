//! Speeds, depressions, advances and curves of them.

use crate::curve::{CentrifugalCurve, MOST_BREAKPOINTS, VacuumCurve};
use crate::quantity::{Advance, CrankSpeed, Depression};
use core::ops::RangeInclusive;
use proptest::collection::vec;
use proptest::prelude::*;
use std::vec::Vec;

/// Steps of a quantity: whole units, of which every fifth has a part of one, no further than the last whole unit.
fn steps(units: RangeInclusive<i32>, step: u32) -> impl Strategy<Value = i32> + Clone {
    let last = *units.end() * step as i32;
    let part = prop_oneof![4 => Just(0), 1 => 0..step as i32];
    // The part first: it shrinks to nothing before the units do, so that what is left is a whole number.
    (part, units).prop_map(move |(part, unit)| (unit * step as i32 + part).min(last))
}

/// Any speed, 0 to 20 000 crank rpm.
pub fn speeds() -> impl Strategy<Value = CrankSpeed> + Clone {
    speeds_between(0..=20_000)
}

/// Speeds between these whole crank rpm.
pub fn speeds_between(crank_rpm: RangeInclusive<u16>) -> impl Strategy<Value = CrankSpeed> + Clone {
    let units = i32::from(*crank_rpm.start())..=i32::from(*crank_rpm.end());
    steps(units, CrankSpeed::STEP).prop_map(|bits| CrankSpeed::saturating_from_bits(bits as u32))
}

/// Any depression, 0 to 110 kPa.
pub fn depressions() -> impl Strategy<Value = Depression> + Clone {
    steps(0..=110, Depression::STEP).prop_map(|bits| Depression::saturating_from_bits(bits as u32))
}

/// Any advance, 30 crank degrees after to 90 before top dead centre.
pub fn advances() -> impl Strategy<Value = Advance> + Clone {
    advances_between(-30..=90)
}

/// Advances between these whole crank degrees before top dead centre.
pub fn advances_between(crank_degrees: RangeInclusive<i8>) -> impl Strategy<Value = Advance> + Clone {
    let units = i32::from(*crank_degrees.start())..=i32::from(*crank_degrees.end());
    steps(units, Advance::STEP).prop_map(Advance::saturating_from_bits)
}

/// Any centrifugal curve: 2 to 16 breakpoints, anywhere, no steeper than one crank degree a crank rpm.
pub fn centrifugal_curves() -> impl Strategy<Value = CentrifugalCurve> + Clone {
    // Where the next breakpoint lies beyond the one before it. Fifteen times the longest stays inside the range.
    let next = (steps(1..=1_200, CrankSpeed::STEP), advances_between(-10..=50));
    let first = (speeds_between(0..=2_000), advances_between(-10..=10));
    (first, vec(next, 1..MOST_BREAKPOINTS)).prop_filter_map("breakpoints are no curve", |(first, rest)| {
        let mut breakpoints = Vec::from([first]);
        let (mut x, mut y) = (first.0.bits(), first.1.bits());
        for (run, advance) in rest {
            // One crank degree a crank rpm in their steps.
            let steepest = run * (Advance::STEP / CrankSpeed::STEP) as i32;
            x += run as u32;
            y = advance.bits().clamp(y - steepest, y + steepest);
            breakpoints.push((CrankSpeed::saturating_from_bits(x), Advance::saturating_from_bits(y)));
        }
        CentrifugalCurve::new(&breakpoints).ok()
    })
}

/// Any vacuum curve: 2 to 16 breakpoints, anywhere.
pub fn vacuum_curves() -> impl Strategy<Value = VacuumCurve> + Clone {
    let next = (steps(1..=6, Depression::STEP), advances_between(-10..=30));
    let first = (steps(0..=20, Depression::STEP), advances_between(-5..=5));
    (first, vec(next, 1..MOST_BREAKPOINTS)).prop_filter_map("breakpoints are no curve", |(first, rest)| {
        let mut x = first.0 as u32;
        let mut breakpoints = Vec::from([(Depression::saturating_from_bits(x), first.1)]);
        for (run, advance) in rest {
            x += run as u32;
            breakpoints.push((Depression::saturating_from_bits(x), advance));
        }
        VacuumCurve::new(&breakpoints).ok()
    })
}
