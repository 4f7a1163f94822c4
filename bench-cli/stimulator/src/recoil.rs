//! An engine that stops out of cranking, and perhaps kicks back.

use bobweight_wire::{EventKind, Halt};

use crate::motion::time;
use crate::order::{Flank, FlankOrder, Passage};
use crate::train::{Pulse, nearest_tick, signed};
use crate::units::{divide, place, root};

/// From a timing flank to standstill at one constant acceleration, first forwards, then backwards.
#[derive(Debug)]
pub(crate) struct Recoil {
    here: i32,
    /// Where the crank turns round, and where it stands in the end.
    turning_place: i32,
    end: i32,
    /// Speed at the timing flank, squared, over the distance to the turning place.
    rate: u64,
    backwards: bool,
}

impl Recoil {
    pub(crate) fn new(halt: Halt, squared: u64, here: i32) -> Self {
        let turning_place = place(halt.after);
        let (rate, _) = divide(squared, turning_place.abs_diff(here).max(1));
        Self { here, turning_place, end: turning_place - place(halt.back), rate, backwards: false }
    }

    /// The next flank, or the standstill in the end.
    #[inline(never)]
    pub(crate) fn next(&mut self, tick_rate: u32, pulse: &Pulse, at: &mut u64) -> Passage {
        let second = signed(pulse.second);
        let mut to = self.end;
        if !self.backwards && self.here < second && second < self.turning_place {
            to = second;
        } else {
            if !self.backwards {
                self.go(tick_rate, self.turning_place, at);
                self.backwards = true;
            }
            for flank in [second, 0, second - signed(pulse.places.pulse)] {
                if flank < self.here && flank > to {
                    to = flank;
                }
            }
        }
        let forwards = !self.backwards;
        self.go(tick_rate, to, at);
        let (flank, kind) = if to == self.end && self.backwards {
            (None, Some(EventKind::Stopped))
        } else if forwards {
            (Some(pulse.idle_flank()), pulse.idle_event(EventKind::Second))
        } else if to == 0 {
            (Some(pulse.idle_flank()), pulse.idle_event(EventKind::StraySecond))
        } else {
            (Some(Flank::Timing), Some(EventKind::StrayTiming))
        };
        let order = FlankOrder { at: nearest_tick(*at), flank };
        Passage { order, kind, ramp_ended: false, motion: None, upset: None }
    }

    /// Moves to a place on the same side of the turning place.
    fn go(&mut self, tick_rate: u32, to: i32, at: &mut u64) {
        let speed = |at: i32| root(self.rate * u64::from(self.turning_place.abs_diff(at)));
        *at = at.wrapping_add(time(tick_rate, self.here.abs_diff(to), speed(self.here), speed(to)));
        self.here = to;
    }
}
