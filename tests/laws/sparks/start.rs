//! One simulated start: a crank from rest, the starter, the engine that catches and runs, and at most one fault.

use crate::around::Around;
use bobweight::sparks::Cause;
use bobweight::{Flank, Phase, Timetable};
use bobweight_crank::{self as crank, Edge, Motion, Swing, pickup};
use bobweight_tests::firmware::{Dwelt, Happening, Timer};
use bobweight_tests::numbers::Numbers;
use bobweight_tests::plain::{Plain, depression, voltage};
use bobweight_tests::points::{bounced, with_closings};
use bobweight_tests::reluctor::pickup_of;

/// What goes wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    Nothing,
    LostEdge,
    FalseEdge,
    Burst,
    KeyOff,
    Reset,
    SensorStuck,
    Hold,
}

pub const FAULTS: [Fault; 8] = [
    Fault::Nothing,
    Fault::LostEdge,
    Fault::FalseEdge,
    Fault::Burst,
    Fault::KeyOff,
    Fault::Reset,
    Fault::SensorStuck,
    Fault::Hold,
];

/// How long a burst of false edges lasts, seconds.
const BURST: f64 = 0.05;

/// What moves the crank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Moved {
    FromRest,
    Starter,
    Catching,
    Steady,
    Up,
    Down,
}

/// A spark as the crank and the coil had it.
#[derive(Clone, Debug)]
pub struct Seen {
    /// Crank angle, degrees.
    pub angle: f64,
    /// Joules.
    pub energy: f64,
    /// By which causes it can have come.
    pub causes: Vec<Cause>,
    /// For a failure's message.
    pub story: String,
}

/// An end of a range more often than its middle: the extremes are what is looked for.
fn biased(numbers: &mut Numbers, low: f64, high: f64) -> f64 {
    match numbers.next_share() {
        share if share < 0.3 => low,
        share if share < 0.6 => high,
        _ => numbers.between(low, high),
    }
}

/// The crank's motion with what moves it, each from a time on.
struct Course {
    motion: Motion,
    moved: Vec<(f64, Moved)>,
    /// When the starter lets go.
    caught: f64,
}

impl Course {
    fn new(plain: &Plain, around: &Around, numbers: &mut Numbers) -> Self {
        let a = plain.acceleration;
        let mean = biased(numbers, 60.0, around.starter_rpm);
        let slowest_btdc = numbers.between(-20.0, 40.0);
        let ratio = biased(numbers, 1.0, around.swing);
        let swing = Swing { pulses: u32::from(plain.pulses), mean_rpm: mean, ratio, slowest_btdc };
        let at = numbers.between(0.0, 720.0);
        let mut motion = Motion::starting(at, 0.0).hold(0.05);
        let mut moved = vec![(0.0, Moved::FromRest)];
        let slowest = mean / ratio.sqrt();
        motion = motion.ramp_to(slowest, biased(numbers, 400.0, 2000.0).min(a));
        moved.push((motion.end_time(), Moved::Starter));
        let compressions = (1.0 + numbers.next_share() * 8.0).floor();
        motion = swing.append_to(motion, plain.spacing() * compressions + numbers.between(0.0, plain.spacing()));
        moved.push((motion.end_time(), Moved::Catching));
        let caught = motion.end_time();
        let top = plain.no_spark_above * 1.03;
        let target = biased(numbers, plain.running_from + 50.0, top);
        let target = target.max(motion.end_speed() + 1.0);
        motion = motion.ramp_to(target, biased(numbers, 0.3 * a, a));
        let caught_speed = motion.end_speed();
        let mut speed = caught_speed;
        for _ in 0..(1.0 + numbers.next_share() * 4.0).floor() as usize {
            moved.push((motion.end_time(), Moved::Steady));
            motion = motion.hold(biased(numbers, 1.0, 8.0) * plain.period(speed));
            let low = if numbers.next_share() < 0.2 { 0.0 } else { plain.cranking_below };
            let next = biased(numbers, low, top);
            let rate = biased(numbers, 0.1 * a, a);
            // Not for longer than the crank takes some dozen pulses.
            let most = 14.0 * plain.period(speed.max(300.0)) * rate;
            let next = next.clamp((speed - most).max(0.0), speed + most);
            if (next - speed).abs() > 1.0 {
                moved.push((motion.end_time(), if next > speed { Moved::Up } else { Moved::Down }));
                motion = motion.ramp_to(next, rate);
            }
            speed = next;
            if speed < 1.0 {
                break;
            }
        }
        if speed > 1.0 {
            moved.push((motion.end_time(), Moved::Steady));
            motion = motion.hold(3.0 * plain.period(speed));
            moved.push((motion.end_time(), Moved::Down));
            motion = motion.ramp_to(0.0, biased(numbers, 0.3 * a, a));
        }
        moved.push((motion.end_time(), Moved::Down));
        motion = motion.hold(0.2);
        Self { motion, moved, caught }
    }

    /// Whatever moved the crank between two times.
    fn moved_between(&self, from: f64, to: f64) -> impl Iterator<Item = Moved> + '_ {
        let ends = self.moved.iter().skip(1).map(|(start, _)| *start).chain([f64::INFINITY]);
        self.moved
            .iter()
            .zip(ends)
            .filter(move |((start, _), end)| *start <= to && from < *end)
            .map(|((_, moved), _)| *moved)
    }
}

/// What was known when a dwell was ordered: the phase, the period in seconds, and how many timing edges ago the engine was cranking.
type Known = (Phase, f64, usize);

/// The pin, and what was known as each dwell was ordered.
struct Pin<'a> {
    timer: Timer<'a>,
    plain: &'a Plain,
    table: &'a Timetable,
    /// Phase, period and edges since cranking of the order that waits or runs.
    order: Option<Known>,
    since_cranking: usize,
    taken: usize,
    dwells: Vec<(Dwelt, Known)>,
}

impl<'a> Pin<'a> {
    fn new(plain: &'a Plain, table: &'a Timetable) -> Self {
        Self {
            timer: Timer::new(plain, table, 0),
            plain,
            table,
            order: None,
            since_cranking: 0,
            taken: 0,
            dwells: Vec::new(),
        }
    }

    /// Books the dwells that are over, by the phase and the period of their order.
    fn book(&mut self) {
        let now = self.known(self.timer.sequencer.phase());
        for dwell in &self.timer.dwells[self.taken..] {
            self.dwells.push((*dwell, self.order.take().unwrap_or(now)));
        }
        self.taken = self.timer.dwells.len();
    }

    fn known(&self, phase: Phase) -> Known {
        (phase, f64::from(self.timer.sequencer.period().unwrap_or(0)) / self.plain.tick_rate, self.since_cranking)
    }

    fn edge(&mut self, at: u64, flank: Flank, is_true: bool) {
        self.timer.run_to(at);
        self.book();
        let answers = self.timer.answers.len();
        let before = self.timer.sequencer.phase();
        self.timer.happen(at, Happening::Edge { flank, handled_after: 0 });
        if flank == Flank::Timing && is_true {
            let cranks = matches!(self.timer.sequencer.phase(), Phase::Cranking | Phase::Stopped);
            self.since_cranking = if cranks { 0 } else { self.since_cranking + 1 };
        }
        for place in answers..self.timer.answers.len() {
            match self.timer.answers[place].1 {
                bobweight::Answer::Order { .. } => self.order = Some(self.known(self.timer.sequencer.phase())),
                bobweight::Answer::MoveOff { .. } => self.order = Some(self.known(before)),
                bobweight::Answer::Cancel => self.order = None,
                bobweight::Answer::Nothing => {}
            }
        }
        self.book();
    }

    fn cut(&mut self, at: u64, anew: bool) {
        self.timer.run_to(at);
        self.book();
        if let Some(dwell) = self.timer.cut(at) {
            let now = self.known(self.timer.sequencer.phase());
            self.dwells.push((dwell, self.order.take().unwrap_or(now)));
        }
        self.order = None;
        self.taken = 0;
        if anew {
            self.timer = Timer::started_at(self.plain, self.table, 0, at);
        }
    }
}

/// The slowest speed whose wave a reluctor's conditioner hears, crank rpm: below the slowest place of every compression.
const THRESHOLDS: [f64; 2] = [10.0, 34.0];

/// The edges of a course with its fault, and from when on the fault is; `None` where the crank makes no edge.
fn edges_of(plain: &Plain, course: &Course, fault: Fault, numbers: &mut Numbers) -> Option<(Vec<Edge>, f64)> {
    let mut wheel = plain.crank_pickup();
    wheel.uneven = (0..plain.pulses).map(|_| biased(numbers, -plain.spread, plain.spread)).collect();
    let end = course.motion.end_time();
    let is_reluctor = plain.moving_flank.is_some();
    let mut edges = if is_reluctor {
        let threshold = biased(numbers, THRESHOLDS[0], THRESHOLDS[1]);
        crank::Reluctor { uneven: wheel.uneven.clone(), ..pickup_of(plain, threshold) }.edges(&course.motion, end)
    } else {
        wheel.edges(&course.motion, end)
    };
    // While the starter turns an engine, a false flank makes all that a reluctor's second flank is there for: it is looked for there, and most of
    // all just after a moving flank.
    let aimed = is_reluctor && fault == Fault::FalseEdge && numbers.next_share() < 0.7;
    let places = if aimed { edges.iter().filter(|edge| edge.time < course.caught).count() } else { edges.len() };
    let place = (numbers.next_share() * places as f64) as usize;
    let near = edges.get(place).copied()?;
    let next = |places: usize| edges.get(place + places).map_or(near.time + 0.02, |edge| edge.time);
    let fault_at = if aimed && near.flank == crank::Flank::Second {
        near.time + (next(1) - near.time) * numbers.between(0.0, 0.4)
    } else {
        biased(numbers, near.time + 1e-6, next(2))
    };
    let upset = if is_reluctor { upset_reluctor } else { upset };
    let fault_at = upset(&mut edges, fault, place, fault_at, numbers);
    if plain.bounce > 0.0 {
        edges = bounced(plain, &with_closings(plain, &wheel, &course.motion, &edges), numbers, 3);
    }
    Some((edges, fault_at))
}

/// Plays one start and returns its sparks.
pub fn play(plain: &Plain, table: &Timetable, around: &Around, fault: Fault, numbers: &mut Numbers) -> Vec<Seen> {
    let course = Course::new(plain, around, numbers);
    let is_reluctor = plain.moving_flank.is_some();
    let Some((edges, fault_at)) = edges_of(plain, &course, fault, numbers) else { return Vec::new() };
    // A rhythm that noise has left is given up only after as long as the engine would take to another.
    let fault_over = if fault == Fault::Burst { fault_at + BURST + 0.5 } else { fault_at };
    let fault_until = edges
        .iter()
        .filter(|edge| edge.time > fault_over && edge.flank == crank::Flank::Timing && edge.pulse.is_some())
        .nth(7)
        .map_or(f64::INFINITY, |edge| edge.time);
    let cranking_volts = biased(numbers, around.cranking_volts[0], around.cranking_volts[1]);
    let running_volts = biased(numbers, around.running_volts[0], around.running_volts[1]);
    let kelvin = biased(numbers, -40.0, 100.0);
    let vacuum = numbers.one_of(&[None, Some(0.0), Some(100.0)]);
    let mut pin = Pin::new(plain, table);
    let tick = |seconds: f64| (seconds * plain.tick_rate).floor() as u64;
    let held = fault == Fault::Hold;
    let mut power = true;
    let mut cut_done = !matches!(fault, Fault::KeyOff | Fault::Reset);
    let set_up = |pin: &mut Pin<'_>| pin.timer.sequencer.hold(held);
    set_up(&mut pin);
    for edge in &edges {
        if !cut_done && edge.time > fault_at {
            cut_done = true;
            pin.cut(tick(fault_at), fault == Fault::Reset);
            set_up(&mut pin);
            power = fault == Fault::Reset;
        }
        if !power {
            break;
        }
        // The battery as the ignition measures it before each edge.
        let volts = if edge.time < course.caught { cranking_volts } else { running_volts };
        pin.timer.sequencer.battery(voltage(volts));
        let flank = if edge.flank == crank::Flank::Timing { Flank::Timing } else { Flank::Second };
        pin.edge(tick(edge.time), flank, edge.pulse.is_some());
        let sample = if fault == Fault::SensorStuck && edge.time > fault_at { Some(100.0) } else { vacuum };
        pin.timer.sequencer.depression(sample.map(depression), false, pin.timer.now() as u32);
    }
    if power {
        pin.timer.run_to(tick(course.motion.end_time()));
        pin.book();
    }
    let mut last_off = f64::NEG_INFINITY;
    let mut seen = |(dwell, (phase, period, since_cranking)): &(Dwelt, Known)| {
        let (on, off) = (dwell.on as f64 / plain.tick_rate, dwell.off as f64 / plain.tick_rate);
        let cut = matches!(fault, Fault::KeyOff | Fault::Reset) && tick(fault_at) == dwell.off;
        // What is lost at once does not lag.
        let at = if cut { off } else { off + plain.lag };
        // The supply of each part of the dwell: the starter may let go in it.
        let ballast = if on < course.caught && around.bypassed { 0.0 } else { around.ballast };
        let coil = crank::Coil { ballast, ..around.coil() };
        let volts = if on < course.caught { cranking_volts } else { running_volts };
        let energy = coil.energy(volts, off - on, kelvin);
        // Of a reluctor the crossing lies a pulse further back that times a spark.
        let looked_back = if is_reluctor { 3.6 } else { 2.6 };
        let moved: Vec<Moved> = course.moved_between((off - looked_back * period - 0.001).min(on), at).collect();
        let mut causes = ordinary(*phase, &moved, held, *since_cranking < 6);
        if is_reluctor && *phase != Phase::Cranking && *since_cranking < 3 {
            // The last spark of cranking is made at the crossing that ends it, and leaves less room to the next dwell.
            causes.extend([Cause::Catching, Cause::SpeedRising]);
        }
        // Uneven pulses near the top speed look like too high a speed.
        let near_top = plain.period(1.0) / period > plain.spark_again_below * 0.97;
        let after_none = on - std::mem::replace(&mut last_off, off) > 1.2 * period;
        if (after_none || near_top) && *phase != Phase::Cranking {
            // The first after pulses without a spark begins with its edge.
            causes.extend([Cause::SpeedRising, Cause::SpeedFalling]);
        }
        #[allow(clippy::float_cmp)] // One of the two was taken as it is.
        let low = cranking_volts == around.cranking_volts[0];
        if causes == [Cause::Cranking] && low {
            causes = vec![Cause::BatteryLow];
        }
        // While an engine gathers speed, a rhythm of two pulses that a fault has left can last until it is as fast as the true one asks.
        let off_beat = *period > 1.5 * plain.period(course.motion.speed_at(at).max(1.0));
        let faulty = fault != Fault::Nothing
            && fault != Fault::Hold
            && at + 2.0 / plain.tick_rate >= fault_at
            && (off <= fault_until || off_beat);
        if faulty {
            let anew = is_reluctor && fault == Fault::Reset && !cut;
            let of_fault = if anew { &[Cause::AfterStop] } else { of_fault(fault, *phase) };
            causes = of_fault.iter().copied().chain(causes).collect();
            let by_starter = moved.iter().all(|moved| matches!(moved, Moved::FromRest | Moved::Starter));
            if is_reluctor && fault == Fault::FalseEdge && !by_starter {
                // An engine that dies may be cranking by its period.
                causes.push(Cause::FalseEdge);
            }
            // The pulse without a spark ends, and the next dwell begins with its edge. Not of a reluctor that the starter alone turns: its
            // crossing makes each spark.
            if !(is_reluctor && by_starter && *phase == Phase::Cranking) {
                causes.extend([Cause::SpeedRising, Cause::SpeedFalling]);
            }
            if matches!(fault, Fault::Reset | Fault::Burst) {
                causes.push(Cause::AfterStop);
            }
        }
        let story = format!(
            "{phase:?} {moved:?} {since_cranking} edges since cranking, {fault:?} at {fault_at:.5} s, spark at {at:.5} s, on {on:.5}, period {period:.5}, {:.0} crank rpm, {volts} V, {kelvin} K, m {}",
            course.motion.speed_at(at),
            plain.pulses
        );
        Seen { angle: course.motion.angle_at(at), energy, causes, story }
    };
    pin.dwells.iter().map(&mut seen).collect()
}

/// Upsets the edges, and says from when on.
fn upset(edges: &mut Vec<Edge>, fault: Fault, place: usize, at: f64, numbers: &mut Numbers) -> f64 {
    match fault {
        Fault::LostEdge => {
            let lost = edges.iter().skip(place).position(|edge| edge.flank == crank::Flank::Timing);
            if let Some(lost) = lost {
                return pickup::lose(edges, place + lost).time;
            }
        }
        Fault::FalseEdge => {
            // A spike has two flanks.
            pickup::add_false(edges, crank::Flank::Timing, at);
            pickup::add_false(edges, crank::Flank::Second, at + 20e-6);
        }
        Fault::Burst => {
            for _ in 0..(2.0 + numbers.next_share() * 12.0) as usize {
                let time = at + numbers.between(0.0, BURST);
                pickup::add_false(edges, crank::Flank::Timing, time);
                pickup::add_false(edges, crank::Flank::Second, time + 20e-6);
            }
        }
        _ => {}
    }
    at
}

/// The same of a reluctor's flanks: either of a pulse is lost or both; a false one comes alone or with the other kind 20 us after it.
fn upset_reluctor(edges: &mut Vec<Edge>, fault: Fault, place: usize, at: f64, numbers: &mut Numbers) -> f64 {
    let both = [crank::Flank::Second, crank::Flank::Timing];
    match fault {
        Fault::LostEdge => {
            let Some(pulse) = edges.get(place).and_then(|edge| edge.pulse) else { return at };
            let kept = numbers.one_of(&[None, Some(both[0]), Some(both[1])]);
            let is_lost = |edge: &Edge| edge.pulse == Some(pulse) && Some(edge.flank) != kept;
            let first = edges.iter().find(|edge| is_lost(edge)).map_or(at, |edge| edge.time);
            edges.retain(|edge| !is_lost(edge));
            return first;
        }
        Fault::FalseEdge => add_spike(edges, at, numbers),
        Fault::Burst => {
            for _ in 0..(2.0 + numbers.next_share() * 12.0) as usize {
                let time = at + numbers.between(0.0, BURST);
                add_spike(edges, time, numbers);
            }
        }
        _ => {}
    }
    at
}

/// One false flank, or two.
fn add_spike(edges: &mut Vec<Edge>, at: f64, numbers: &mut Numbers) {
    let (moving, crossing) = (crank::Flank::Second, crank::Flank::Timing);
    let (first, second) = if numbers.next_share() < 0.5 { (moving, crossing) } else { (crossing, moving) };
    pickup::add_false(edges, first, at);
    if numbers.next_share() < 0.5 {
        pickup::add_false(edges, second, at + 20e-6);
    }
}

/// The causes of a spark without any fault.
fn ordinary(phase: Phase, moved: &[Moved], held: bool, just_cranking: bool) -> Vec<Cause> {
    let any = |what: Moved| moved.contains(&what);
    let only = |what: Moved| moved.iter().all(|moved| *moved == what);
    let starting =
        any(Moved::FromRest) || any(Moved::Starter) || any(Moved::Catching) || (any(Moved::Up) && just_cranking);
    if phase == Phase::Held || (held && phase == Phase::Overspeed) {
        return if starting { vec![Cause::Held, Cause::Catching] } else { vec![Cause::Held] };
    }
    if phase == Phase::Cranking {
        if only(Moved::Starter) {
            return vec![Cause::Cranking];
        }
        if starting || any(Moved::Up) {
            let after_stop = any(Moved::FromRest);
            let mut causes = vec![if after_stop { Cause::AfterStop } else { Cause::Catching }];
            if any(Moved::Down) {
                // It died before it ran: a spark of an engine that falls as much as of one that caught.
                causes.push(Cause::SpeedFalling);
            }
            return causes;
        }
        return vec![Cause::SpeedFalling, Cause::Catching];
    }
    if only(Moved::Steady) {
        return vec![Cause::Running];
    }
    let mut causes = Vec::new();
    if any(Moved::Down) {
        causes.push(Cause::SpeedFalling);
    }
    if any(Moved::Up) || starting {
        causes.push(Cause::SpeedRising);
    }
    if starting {
        causes.push(Cause::Catching);
    }
    causes
}

fn of_fault(fault: Fault, phase: Phase) -> &'static [Cause] {
    match fault {
        Fault::Nothing | Fault::Hold => &[],
        Fault::LostEdge => &[Cause::LostEdge],
        Fault::FalseEdge if phase == Phase::Cranking => &[Cause::FalseEdgeCranking],
        Fault::FalseEdge => &[Cause::FalseEdge, Cause::FalseEdgeCranking],
        Fault::Burst => &[Cause::Burst],
        Fault::KeyOff => &[Cause::KeyOff],
        Fault::Reset => &[Cause::Reset],
        Fault::SensorStuck => &[Cause::SensorStuck],
    }
}
