//! Stretches of steady speed in a trace, block by block, without keeping more than one block.
//!
//! A trace does not say what was commanded, so steadiness is read off the pickup: the time of a whole cycle, two crank turns,
//! is the same from flank to flank. Cycles and not pulses, since pulses may lie unevenly. A block of whole cycles is short
//! enough that its own mean speed is the speed of every spark in it; whoever measures it refuses one that wanders.

use super::{Edge, Line, PICOSECOND_S};
use crate::proof::measure::{Event, EventKind};
use std::collections::VecDeque;

/// Two cycles are of one speed where their times differ by no more than this share.
const SAME_CYCLE: f64 = 0.002;
/// Cycles after a change of speed that are not judged: the ignition's delay uses the last period alone.
const CYCLES_TO_SETTLE: usize = 2;
/// A pause after which a stretch has ended, however steady it was: 30 crank rpm with one pulse in two turns.
const LONGEST_CYCLE_PS: u64 = 4_000_000_000_000;
/// A coil that is switched more often than this in one pulse is no ignition's; more is not kept.
const MOST_EVENTS_A_PULSE: usize = 16;

/// The events of some whole cycles at one speed.
#[derive(Clone, Debug)]
pub struct Block {
    /// Flanks of the pickup and switchings of the coil, times in picoseconds.
    pub events: Vec<Event>,
    /// The timing flank at which it begins.
    pub from_ps: u64,
    /// The timing flank at which it ends.
    pub to_ps: u64,
    /// Which pulse of the two turns the first one is, counted from the trace's first, from 0.
    pub first_pulse: usize,
    /// Its mean speed, crank rpm.
    pub speed_crank_rpm: f64,
}

/// A stretch of steady speed has been left.
#[derive(Clone, Debug)]
pub struct SteadySpeed {
    /// Mean speed of its first block, crank rpm.
    pub speed_crank_rpm: f64,
    /// Whole blocks in it.
    pub blocks: usize,
    /// Its last cycles but one, two less than a block has: what the engine did last at this speed. The very last may be the
    /// beginning of a change that is too small to see yet.
    pub tail: Option<Block>,
}

/// What a listener has to tell.
#[derive(Clone, Debug)]
pub enum Heard {
    /// A block is whole. All blocks between two ends are of one stretch.
    Block(Block),
    /// The stretch has ended.
    Ended(SteadySpeed),
}

/// Listens to the edges of a trace.
#[derive(Debug)]
pub struct Listener {
    pulses: usize,
    cycles_in_block: usize,
    timing_rises: bool,
    /// The last timing flanks, a cycle and one.
    flanks: VecDeque<u64>,
    counted: usize,
    cycle_before: Option<u64>,
    stretch: Option<Stretch>,
    dwell_began: Option<u64>,
}

#[derive(Debug)]
struct Stretch {
    cycle_ps: u64,
    flanks: usize,
    block: Option<Open>,
    first: Option<f64>,
    blocks: usize,
    tail: Tail,
}

/// The last cycles of a stretch, with what happened in them.
#[derive(Debug, Default)]
struct Tail {
    flanks: VecDeque<u64>,
    events: VecDeque<Event>,
}

#[derive(Debug)]
struct Open {
    events: Vec<Event>,
    from_ps: u64,
    first_pulse: usize,
    flanks: usize,
}

impl Listener {
    /// A listener for a pickup of so many pulses in two crank turns, whose timing flank rises or falls, that makes blocks of so
    /// many whole cycles.
    pub fn new(pulses: usize, timing_rises: bool, cycles_in_block: usize) -> Self {
        Self {
            pulses: pulses.max(1),
            cycles_in_block: cycles_in_block.max(1),
            timing_rises,
            flanks: VecDeque::new(),
            counted: 0,
            cycle_before: None,
            stretch: None,
            dwell_began: None,
        }
    }

    /// Takes the next edge.
    pub fn hear(&mut self, edge: Edge) -> Option<Heard> {
        let kind = match (edge.line, edge.rises) {
            (Line::Pickup, rises) if rises == self.timing_rises => return self.timing_flank(edge.at_ps),
            (Line::Pickup, _) => EventKind::SecondFlank,
            (Line::Coil, true) => {
                self.dwell_began = Some(edge.at_ps);
                EventKind::CoilOn
            }
            (Line::Coil, false) => EventKind::CoilOff,
        };
        self.note(edge.at_ps, kind);
        None
    }

    /// Ends the trace.
    pub fn end(&mut self) -> Option<Heard> {
        self.ended(0)
    }

    /// Ends the stretch; so many of the flanks that were counted came after it.
    fn ended(&mut self, after: usize) -> Option<Heard> {
        let flanks = self.tail_flanks();
        // Less whole cycles, so that nothing falls below zero.
        let first_pulse = self.counted.saturating_sub(1 + after) % self.pulses;
        let pulses = self.pulses;
        self.stretch.take().and_then(|stretch| stretch.ended(flanks, first_pulse, pulses))
    }

    /// Flanks in a tail, after its first.
    fn tail_flanks(&self) -> usize {
        self.pulses * self.cycles_in_block.saturating_sub(2).max(1)
    }

    fn note(&mut self, at_ps: u64, kind: EventKind) {
        let most = MOST_EVENTS_A_PULSE * self.pulses * self.cycles_in_block;
        let event = Event { at_ticks: at_ps, kind };
        let Some(stretch) = &mut self.stretch else { return };
        if stretch.tail.events.len() < most {
            stretch.tail.events.push_back(event);
        }
        if let Some(block) = &mut stretch.block
            && block.events.len() < most
        {
            block.events.push(event);
        }
    }

    fn timing_flank(&mut self, at_ps: u64) -> Option<Heard> {
        self.counted += 1;
        self.flanks.push_back(at_ps);
        if self.flanks.len() > self.pulses + 1 {
            self.flanks.pop_front();
        }
        let cycle = match (self.flanks.front(), self.flanks.len()) {
            (Some(first), length) if length > self.pulses => at_ps - first,
            _ => return None,
        };
        let before = self.cycle_before.replace(cycle);
        if self.stretch.as_ref().is_some_and(|stretch| !same(stretch.cycle_ps, cycle)) {
            return self.ended(1);
        }
        if self.stretch.is_none() && before.is_some_and(|before| same(before, cycle)) && cycle <= LONGEST_CYCLE_PS {
            self.stretch = Some(Stretch {
                cycle_ps: cycle,
                flanks: 0,
                block: None,
                first: None,
                blocks: 0,
                tail: Tail::default(),
            });
        }
        let whole = self.advance(at_ps, cycle);
        self.note(at_ps, EventKind::TimingFlank);
        let flanks = self.tail_flanks();
        if let Some(stretch) = &mut self.stretch {
            stretch.tail.move_on(at_ps, flanks + self.pulses);
        }
        whole.map(Heard::Block)
    }

    /// Counts a flank of the stretch; ends and begins blocks.
    fn advance(&mut self, at_ps: u64, cycle: u64) -> Option<Block> {
        let (pulses, counted) = (self.pulses, self.counted);
        let in_block = self.cycles_in_block * pulses;
        let dwell_began = self.dwell_began;
        let stretch = self.stretch.as_mut()?;
        stretch.flanks += 1;
        let mut whole = None;
        if let Some(block) = &mut stretch.block {
            block.flanks += 1;
            if block.flanks == in_block {
                whole = stretch.block.take().map(|open| open.close(at_ps, pulses));
            }
        }
        if let Some(block) = &whole {
            stretch.first.get_or_insert(block.speed_crank_rpm);
            stretch.blocks += 1;
        }
        if stretch.block.is_none() && stretch.flanks > CYCLES_TO_SETTLE * pulses {
            // Settled: from here on this cycle is the measure of the others.
            stretch.cycle_ps = if stretch.blocks == 0 { cycle } else { stretch.cycle_ps };
            // A dwell that began before the block ends in it.
            let began = dwell_began.map(|at_ticks| Event { at_ticks, kind: EventKind::CoilOn });
            let events = began.into_iter().collect();
            stretch.block = Some(Open { events, from_ps: at_ps, first_pulse: (counted - 1) % pulses, flanks: 0 });
        }
        whole
    }
}

impl Stretch {
    fn ended(self, flanks: usize, first_pulse: usize, pulses: usize) -> Option<Heard> {
        let speed_crank_rpm = self.first?;
        let tail = self.tail.close(flanks, first_pulse, pulses);
        Some(Heard::Ended(SteadySpeed { speed_crank_rpm, blocks: self.blocks, tail }))
    }
}

impl Tail {
    fn move_on(&mut self, flank_ps: u64, flanks: usize) {
        self.flanks.push_back(flank_ps);
        if self.flanks.len() > flanks + 1 {
            self.flanks.pop_front();
        }
        let from = self.flanks.front().copied().unwrap_or(0);
        // A dwell that began before it is of no use to a tail: its spark has no dwell, that is all.
        while self.events.front().is_some_and(|event| event.at_ticks < from) {
            self.events.pop_front();
        }
    }

    fn close(self, flanks: usize, first_pulse: usize, pulses: usize) -> Option<Block> {
        if self.flanks.len() <= flanks + pulses {
            return None;
        }
        let (from_ps, to_ps) = (*self.flanks.front()?, *self.flanks.get(flanks)?);
        let events = self.events.into_iter().filter(|event| event.at_ticks <= to_ps).collect();
        Some(Open { events, from_ps, first_pulse, flanks }.block(to_ps, pulses))
    }
}

impl Open {
    fn close(mut self, at_ps: u64, pulses: usize) -> Block {
        self.events.push(Event { at_ticks: at_ps, kind: EventKind::TimingFlank });
        self.block(at_ps, pulses)
    }

    #[expect(clippy::cast_precision_loss, reason = "a block lasts seconds: far below 2^52 ps")]
    fn block(self, at_ps: u64, pulses: usize) -> Block {
        let seconds = (at_ps - self.from_ps) as f64 * PICOSECOND_S;
        let turns = 2.0 * self.flanks as f64 / pulses as f64;
        Block {
            events: self.events,
            from_ps: self.from_ps,
            to_ps: at_ps,
            first_pulse: self.first_pulse,
            speed_crank_rpm: 60.0 * turns / seconds,
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "a cycle lasts seconds: far below 2^52 ps")]
fn same(one: u64, other: u64) -> bool {
    let (one, other) = (one as f64, other as f64);
    (one - other).abs() <= SAME_CYCLE * one
}
