//! The pickup on ICP1: edges by input capture, kept until the main loop takes them.

use crate::clock;
use crate::pins::{PICKUP, PICKUP_IN};
use crate::register::{Quiet, Shared, TCCR1B, TIMSK1};
use bobweight::Flank;

const ICES1: u8 = 1 << 6;
/// A level must last four cycles.
const NOISE_CANCELLER: u8 = 1 << 7;
const ICF1: u8 = 1 << 5;
const ICIE1: u8 = 1 << 5;

/// How many edges can wait for the main loop.
pub const ROOM: usize = 4;

/// An edge and its time.
#[derive(Clone, Copy)]
pub struct Edge {
    /// Which flank.
    pub flank: Flank,
    /// When, in ticks.
    pub at: u32,
}

struct Pickup {
    timing_flank_rises: bool,
    second_flank: bool,
    waiting: [Edge; ROOM],
    first: usize,
    count: usize,
    latest: u32,
    turns: bool,
}

static EDGES: Shared<Pickup> = Shared::new(Pickup {
    timing_flank_rises: false,
    second_flank: false,
    waiting: [Edge { flank: Flank::Timing, at: 0 }; ROOM],
    first: 0,
    count: 0,
    latest: 0,
    turns: false,
});

/// Waits for the timing flank. A level that is there already is no edge.
pub fn start(timing_flank_rises: bool, second_flank: bool, quiet: Quiet) {
    EDGES.with(quiet, |pickup| {
        pickup.timing_flank_rises = timing_flank_rises;
        pickup.second_flank = second_flank;
    });
    TCCR1B.set(NOISE_CANCELLER | if timing_flank_rises { ICES1 } else { 0 });
    clock::clear_flags(ICF1);
    TIMSK1.set(ICIE1);
}

/// The capture interrupt.
pub fn captured(quiet: Quiet) {
    let at = clock::captured(quiet);
    EDGES.with(quiet, |pickup| {
        pickup.latest = at;
        pickup.turns = true;
        let rose = TCCR1B.read() & ICES1 != 0;
        let flank = if rose == pickup.timing_flank_rises { Flank::Timing } else { Flank::Second };
        if pickup.second_flank {
            wait_for_other_flank(rose);
        }
        let at_end = pickup.first.wrapping_add(pickup.count) % ROOM;
        if let Some(edge) = pickup.waiting.get_mut(at_end) {
            *edge = Edge { flank, at };
            pickup.count += 1;
        }
        if pickup.count >= ROOM {
            // Edges so dense are noise. The main loop comes first, or the watchdog would.
            TIMSK1.clear(ICIE1);
        }
    });
}

fn wait_for_other_flank(rose: bool) {
    let switch = |rising: bool| {
        if rising {
            TCCR1B.set(ICES1);
        } else {
            TCCR1B.clear(ICES1);
        }
        // The switch itself can look like an edge.
        clock::clear_flags(ICF1);
    };
    switch(!rose);
    let is_high = PICKUP_IN.read() & PICKUP != 0;
    if is_high != rose {
        // The level is back already: that flank has passed unseen, and the next one is as before.
        switch(rose);
    }
}

/// The oldest edge that waits.
pub fn next(quiet: Quiet) -> Option<Edge> {
    EDGES.with(quiet, |pickup| {
        if pickup.count == 0 {
            return None;
        }
        let edge = pickup.waiting.get(pickup.first).copied();
        pickup.first = (pickup.first + 1) % ROOM;
        pickup.count -= 1;
        if pickup.count == 0 && TIMSK1.read() & ICIE1 == 0 {
            clock::clear_flags(ICF1);
            TIMSK1.set(ICIE1);
        }
        edge
    })
}

/// Whether an edge waits.
pub fn has_edge(quiet: Quiet) -> bool {
    EDGES.with(quiet, |pickup| pickup.count > 0)
}

/// Whether an edge has come within the last second. To be asked more often than every half hour, when the clock has gone around.
#[cfg(feature = "atmega1284p")]
pub fn turns(quiet: Quiet) -> bool {
    const SECOND: u32 = 2_000_000;
    let now = clock::now(quiet);
    EDGES.with(quiet, |pickup| {
        pickup.turns = pickup.turns && now.wrapping_sub(pickup.latest) <= SECOND;
        pickup.turns
    })
}
