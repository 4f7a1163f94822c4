//! Streams of edges: steady, uneven, lost, false, in every order.

use crate::pickup::Flank;
use proptest::collection::vec;
use proptest::prelude::*;
use std::vec::Vec;

/// An edge of a stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StreamEdge {
    /// Which flank of its pulse.
    pub flank: Flank,
    /// When it comes, in wrapping ticks.
    pub at: u32,
    /// How many ticks later it is handled.
    pub handled_after: u32,
}

/// Up to so many edges about a period in ticks: even ones, halves, doubles, bursts and stops. Shrinks to few, even edges of the
/// timing flank from tick 0, handled at once.
pub fn edge_streams(period: u32, most: usize) -> impl Strategy<Value = Vec<StreamEdge>> + Clone {
    // In 1/256 of the period.
    let gap = prop_oneof![
        6 => Just(256u64),
        3 => proptest::sample::select(&[128u64, 512][..]),
        3 => 51..=512u64,
        1 => 0..=12u64,
        1 => 512..=10_240u64,
    ];
    let flank = prop_oneof![3 => Just(Flank::Timing), 1 => Just(Flank::Second)];
    let handled_after = prop_oneof![8 => 0..=period / 64, 1 => 0..=period];
    (prop_oneof![Just(0u32), any::<u32>()], vec((gap, flank, handled_after), 0..=most)).prop_map(
        move |(starts, edges)| {
            let mut at = starts;
            let edges = edges.into_iter().map(|(gap, flank, handled_after)| {
                at = at.wrapping_add((u64::from(period) * gap / 256) as u32);
                StreamEdge { flank, at, handled_after }
            });
            edges.collect()
        },
    )
}
