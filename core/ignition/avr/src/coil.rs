//! The coil on OC1A, active high: on and off come from the compare unit, at their tick, whatever the program does then.
//!
//! **Turning a charged coil off is a spark.** So an off time is known before a dwell begins, and the compare unit is armed to
//! clear the pin before anything else is done in a dwell. Of the two moments one is armed at a time:
//!
//! 1. waiting: the unit sets the pin at `on`;
//! 2. at that match the interrupt arms it to clear the pin at `off`;
//! 3. after each write, the counter is read once more: a moment that has passed is made up for at once. An off time written two
//!    ticks too late would hold the coil on for a whole wrap, 32.8 ms, and the shortest watchdog takes 16.
//!
//! The port's bit stays low, so disconnecting the unit turns the coil off. The gate's pull-down does it where the pin floats.

use crate::clock;
use crate::pins::{COIL, COIL_DIRECTION, COIL_OUT, TACHOMETER};
use crate::register::{OCR1A, PORTD, Quiet, Shared, TCCR1A, TCCR1C};
use bobweight::Answer;

const OCF1A: u8 = 1 << 1;
const SET_ON_MATCH: u8 = 0b11 << 6;
const CLEAR_ON_MATCH: u8 = 0b10 << 6;
const FORCE_MATCH: u8 = 1 << 7;

/// The pin moves one tick after the counter has reached the compare register (data sheet, timing diagrams of timer 1).
const MATCH_LAG: u32 = 1;
/// A compare register is written only for a moment further ahead than this: longer than it takes to write it.
const MARGIN: i32 = 40;
/// And nearer than this: within one wrap, and further than it is until the next look, half a wrap away.
const NEAR: i32 = 60_000;
/// Less dwell than 0.5 ms does not happen.
const SHORTEST_DWELL: i32 = 1_000;
/// A coil found on for so much longer than the largest dwell says that the program is not what was tested.
const LATE: i32 = 200;

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    Off,
    Waiting,
    /// The unit sets the pin at `on`.
    Armed,
    On,
    /// On, and the unit clears the pin at `off`.
    Ending,
    /// Disconnected until key-off.
    Fault,
}

struct Coil {
    state: State,
    on: u32,
    off: u32,
    largest: u32,
    finished: bool,
}

static DWELL: Shared<Coil> = Shared::new(Coil { state: State::Off, on: 0, off: 0, largest: 0, finished: false });

/// Drives the pin low, by the compare unit, whose own level is low after a reset.
pub fn start(largest_dwell: u32, quiet: Quiet) {
    DWELL.with(quiet, |coil| coil.largest = largest_dwell);
    TCCR1A.write(CLEAR_ON_MATCH);
    COIL_DIRECTION.set(COIL);
}

/// Drives the pin low without the compare unit, and takes no order any more.
pub fn fault(quiet: Quiet) {
    COIL_OUT.clear(COIL);
    TCCR1A.write(0);
    COIL_DIRECTION.set(COIL);
    DWELL.with(quiet, |coil| coil.state = State::Fault);
}

/// Whether the coil was turned off for good.
pub fn has_fault(quiet: Quiet) -> bool {
    DWELL.with(quiet, |coil| coil.state == State::Fault)
}

/// Whether a dwell has ended, or was left out, since this was last asked.
pub fn finished(quiet: Quiet) -> bool {
    DWELL.with(quiet, |coil| core::mem::replace(&mut coil.finished, false))
}

/// Whether there is something for [`finished`] to say.
pub fn is_finished(quiet: Quiet) -> bool {
    DWELL.with(quiet, |coil| coil.finished)
}

/// Does what is due. For the compare unit's interrupt, and every half wrap of the timer.
pub fn service(quiet: Quiet) {
    DWELL.with(quiet, |coil| coil.service(quiet));
}

/// Takes an order of the sequencer.
#[inline(never)]
pub fn take(answer: Answer, quiet: Quiet) {
    DWELL.with(quiet, |coil| {
        coil.service(quiet);
        match answer {
            Answer::Nothing => return,
            Answer::Order { on, off } => coil.order(on, off, quiet),
            Answer::MoveOff { off } => coil.move_off(off, quiet),
            Answer::Cancel => coil.cancel(quiet),
        }
        coil.service(quiet);
    });
}

/// How far a moment lies ahead; 0 or less where it has come.
fn ahead(moment: u32, quiet: Quiet) -> i32 {
    moment.wrapping_sub(clock::now(quiet)).cast_signed()
}

fn compare_at(moment: u32, quiet: Quiet) {
    let [low, high, ..] = moment.wrapping_sub(MATCH_LAG).to_le_bytes();
    OCR1A.write(u16::from_le_bytes([low, high]), quiet);
}

impl Coil {
    /// Not repeated in each of its callers: flash is short.
    #[inline(never)]
    fn service(&mut self, quiet: Quiet) {
        match self.state {
            State::Off | State::Fault => {}
            State::Waiting => self.arm(quiet),
            State::Armed => {
                if ahead(self.on, quiet) <= 0 {
                    self.begun(quiet);
                }
            }
            State::On => self.end(quiet),
            State::Ending => self.end_if_due(quiet),
        }
    }

    fn order(&mut self, on: u32, off: u32, quiet: Quiet) {
        if self.can_be_stopped(quiet) {
            self.on = on;
            self.off = off;
            self.state = State::Waiting;
        } else {
            // The order that this one replaces has begun in the meantime: what is left of it is when it ends.
            self.move_off(off, quiet);
        }
    }

    fn cancel(&mut self, quiet: Quiet) {
        if self.can_be_stopped(quiet) {
            self.state = State::Off;
        }
    }

    /// Whether no dwell runs, or is about to. One that waits is disarmed.
    fn can_be_stopped(&mut self, quiet: Quiet) -> bool {
        match self.state {
            State::Off | State::Waiting => true,
            // Nearer than that the pin could be set while it is disarmed, and the coil would stay on.
            State::Armed if ahead(self.on, quiet) > MARGIN => {
                TCCR1A.write(CLEAR_ON_MATCH);
                true
            }
            _ => false,
        }
    }

    fn move_off(&mut self, off: u32, quiet: Quiet) {
        self.off = off;
        match self.state {
            State::On | State::Ending => self.state = State::On,
            // Looked at anew: what is left of the dwell may be too short to begin it.
            State::Waiting | State::Armed => {
                if self.can_be_stopped(quiet) {
                    self.state = State::Waiting;
                }
            }
            State::Off | State::Fault => {}
        }
    }

    /// Arms the unit to set the pin, where `on` is near.
    fn arm(&mut self, quiet: Quiet) {
        let on = ahead(self.on, quiet);
        if on > NEAR {
            return;
        }
        if on < MARGIN {
            // On at once means as soon as the unit can do it; off stays where it is.
            self.on = clock::now(quiet).wrapping_add(MARGIN.cast_unsigned());
        }
        if self.off.wrapping_sub(self.on).cast_signed() < SHORTEST_DWELL {
            self.state = State::Off;
            self.finished = true;
            return;
        }
        // Still armed to clear: a match with the old time does nothing.
        compare_at(self.on, quiet);
        TCCR1A.write(SET_ON_MATCH);
        clock::clear_flags(OCF1A);
        self.state = State::Armed;
    }

    /// The pin is set, or will be within two ticks.
    fn begun(&mut self, quiet: Quiet) {
        while ahead(self.on, quiet) > -2 {}
        // The largest dwell first: whatever comes, the coil does not stay on for longer.
        let last = self.on.wrapping_add(self.largest);
        if self.off.wrapping_sub(last).cast_signed() > 0 {
            self.off = last;
        }
        self.state = State::On;
        self.end(quiet);
        PORTD.clear(TACHOMETER);
    }

    /// Arms the unit to clear the pin, where `off` is near. Until then a match sets it once more, which changes nothing.
    fn end(&mut self, quiet: Quiet) {
        let last = self.on.wrapping_add(self.largest);
        if self.off.wrapping_sub(last).cast_signed() > 0 {
            self.off = last;
        }
        if ahead(self.off, quiet) > NEAR {
            return;
        }
        compare_at(self.off, quiet);
        TCCR1A.write(CLEAR_ON_MATCH);
        self.state = State::Ending;
        self.end_if_due(quiet);
    }

    fn end_if_due(&mut self, quiet: Quiet) {
        let left = ahead(self.off, quiet);
        if left > 0 {
            return;
        }
        // The match has cleared the pin, or was missed.
        TCCR1C.write(FORCE_MATCH);
        PORTD.set(TACHOMETER);
        self.finished = true;
        self.state = State::Off;
        if self.on.wrapping_add(self.largest).wrapping_sub(clock::now(quiet)).cast_signed() < -LATE {
            COIL_OUT.clear(COIL);
            TCCR1A.write(0);
            self.state = State::Fault;
        }
    }
}
