//! What a driver notices of the program around it.

/// What did not keep the contract of the driver, since key-on. Times and counts stay at the greatest that they can say.
///
/// With every figure at nought, and [`worst_answer`](Self::worst_answer) and [`worst_match`](Self::worst_match) at most the timetable's latency, the sparks are where the
/// sequencer ordered them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct Watch {
    /// The longest time, in ticks, from an edge, or from the moment of a poll, until its order was in the timer.
    pub worst_answer: u16,
    /// Orders that took longer than the timetable's latency: the sequencer may have held a dwell for waiting that ran. Make the program
    /// faster, or state a greater latency.
    pub slow_answers: u8,
    /// The longest time, in ticks, from the beginning of a dwell until its end was armed.
    pub worst_match: u16,
    /// Dwells whose end was armed later than the timetable's latency, or after it was due: a spark may have come late. The match
    /// interrupt was held up.
    pub slow_matches: u8,
    /// Coil-offs that were found later than the timetable's latency after they were due: no match interrupt came, nor its call of
    /// [`service`](crate::CoilDriver::service).
    pub late_offs: u8,
    /// Edges that were taken later than the timetable's latency.
    pub late_edges: u8,
    /// Edges that found no room: the main loop came too seldom.
    pub lost_edges: u8,
    /// Coil-offs after which the sequencer was not polled before the next one: dwells that begin before their edge were not ordered.
    pub missed_polls: u8,
    /// An edge that came after now, or a now before the last one: the clock is not one clock.
    pub backwards: u8,
}

impl Watch {
    pub(crate) const NOTHING: Self = Self {
        worst_answer: 0,
        slow_answers: 0,
        worst_match: 0,
        slow_matches: 0,
        late_offs: 0,
        late_edges: 0,
        lost_edges: 0,
        missed_polls: 0,
        backwards: 0,
    };

    /// The first thing that is wrong, in words for a log; `None` where the contract was kept.
    #[must_use]
    pub const fn complaint(&self) -> Option<&'static str> {
        Some(match self {
            Self { backwards: 1.., .. } => "times run backwards: the edge's time and now are not of one clock",
            Self { lost_edges: 1.., .. } => "edges were lost: the main loop takes them too seldom",
            Self { missed_polls: 1.., .. } => "polls were missed: the sequencer is to be polled after every coil-off",
            Self { late_edges: 1.., .. } => "edges were taken late: the main loop is held up",
            Self { slow_answers: 1.., .. } => "orders came later than the stated latency: the main loop is held up",
            Self { slow_matches: 1.., .. } => "a dwell's end was armed late: the match interrupt is held up",
            Self { late_offs: 1.., .. } => "a coil-off was found late: the match interrupt does not come",
            _ => return None,
        })
    }

    pub(crate) fn answered(&mut self, after: u32, latency: u32) {
        longest(&mut self.worst_answer, after);
        if after > latency {
            count(&mut self.slow_answers);
        }
    }

    pub(crate) fn matched(&mut self, after: u32, latency: u32) {
        longest(&mut self.worst_match, after);
        if after > latency {
            count(&mut self.slow_matches);
        }
    }
}

fn longest(worst: &mut u16, after: u32) {
    *worst = (*worst).max(u16::try_from(after).unwrap_or(u16::MAX));
}

pub(crate) fn count(counter: &mut u8) {
    *counter = counter.saturating_add(1);
}
