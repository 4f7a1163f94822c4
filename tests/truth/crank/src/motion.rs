//! Where the crank is at any time, and when it is at any angle.
//!
//! A motion starts at 0 s and is built of pieces. Inside, a piece turns one way only or stands still, so each angle is
//! reached at most once in a piece and its time has a closed form.

mod by_angle;

use crate::DEGREES_PER_SECOND_PER_RPM;
use by_angle::ByAngle;

/// The motion of a crank. Angles are absolute crank degrees and grow without end while the crank turns forward;
/// times are seconds from the start; speeds are crank rpm, negative backwards.
///
/// Queries before 0 s panic. After the last piece the crank keeps the speed that it has there.
#[derive(Clone)]
pub struct Motion {
    pieces: Vec<Piece>,
    tail: Piece,
}

/// The crank going past an angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passage {
    /// Seconds from the start.
    pub time: f64,
    /// Which angle of the row it was: `offset + index * spacing`.
    pub index: i64,
    /// Whether the crank turned forward.
    pub forward: bool,
}

#[derive(Clone)]
struct Piece {
    start: f64,
    end: f64,
    from: f64,
    to: f64,
    law: Law,
}

#[derive(Clone)]
enum Law {
    /// Degrees per second at the start of the piece, and degrees per second squared.
    Uniform {
        speed: f64,
        acceleration: f64,
    },
    ByAngle(ByAngle),
}

impl Motion {
    /// A crank that at 0 s is at `angle` degrees and turns at `crank_rpm`; alone, it turns steadily for ever.
    pub fn starting(angle: f64, crank_rpm: f64) -> Self {
        assert!(angle.is_finite() && crank_rpm.is_finite());
        Self { pieces: Vec::new(), tail: Piece::steady(0.0, angle, crank_rpm * DEGREES_PER_SECOND_PER_RPM) }
    }

    /// A crank that turns at a steady speed from 0 degrees.
    pub fn steady(crank_rpm: f64) -> Self {
        Self::starting(0.0, crank_rpm)
    }

    /// Keeps the speed for some seconds.
    #[must_use]
    pub fn hold(self, seconds: f64) -> Self {
        self.accelerate(0.0, seconds)
    }

    /// Changes the speed by `rpm_per_second` for some seconds; the speed may pass zero and the crank turn back.
    #[must_use]
    pub fn accelerate(mut self, rpm_per_second: f64, seconds: f64) -> Self {
        assert!(seconds >= 0.0 && seconds.is_finite() && rpm_per_second.is_finite());
        let acceleration = rpm_per_second * DEGREES_PER_SECOND_PER_RPM;
        let speed = self.tail.speed(self.tail.start);
        let standstill = -speed / acceleration;
        if acceleration != 0.0 && 0.0 < standstill && standstill < seconds {
            self.push_uniform(speed, acceleration, standstill);
            // Exactly zero: a rounding rest would make a piece that turns both ways.
            self.push_uniform(0.0, acceleration, seconds - standstill);
        } else {
            self.push_uniform(speed, acceleration, seconds);
        }
        self
    }

    /// Goes to `crank_rpm` at `rpm_per_second`, whose sign does not matter but which is not zero.
    #[must_use]
    pub fn ramp_to(self, crank_rpm: f64, rpm_per_second: f64) -> Self {
        assert!(rpm_per_second != 0.0, "a ramp needs an acceleration");
        let change = crank_rpm - self.end_speed();
        self.accelerate(rpm_per_second.abs() * change.signum(), change.abs() / rpm_per_second.abs())
    }

    /// Opens the throttle for some seconds and closes it for as long: the speed rises and comes back.
    #[must_use]
    pub fn blip(self, rpm_per_second: f64, seconds: f64) -> Self {
        self.accelerate(rpm_per_second, seconds).accelerate(-rpm_per_second, seconds)
    }

    /// Slows at `rpm_per_second` (positive) to a standstill, is pushed back at the same rate up to `back_rpm`
    /// (positive), and comes to rest: an engine that does not get over its compression.
    #[must_use]
    pub fn stop_and_reverse(self, rpm_per_second: f64, back_rpm: f64) -> Self {
        self.ramp_to(0.0, rpm_per_second).ramp_to(-back_rpm, rpm_per_second).ramp_to(0.0, rpm_per_second)
    }

    /// Turns `degrees` forward at a speed that depends on the angle alone: `crank_rpm(angle)`, positive and continuous.
    /// The speed may jump where this piece begins or ends.
    #[must_use]
    pub fn by_angle(mut self, degrees: f64, crank_rpm: impl Fn(f64) -> f64 + Send + Sync + 'static) -> Self {
        assert!(degrees > 0.0 && degrees.is_finite());
        let (start, from) = (self.tail.start, self.tail.from);
        let table = ByAngle::new(from, degrees, crank_rpm);
        let (end, to) = (start + table.duration(), from + degrees);
        let last_speed = table.speed(to);
        self.pieces.push(Piece { start, end, from, to, law: Law::ByAngle(table) });
        self.tail = Piece::steady(end, to, last_speed);
        self
    }

    /// When the last piece ends and the steady tail begins, in seconds.
    pub fn end_time(&self) -> f64 {
        self.tail.start
    }

    /// The speed after the last piece, crank rpm.
    pub fn end_speed(&self) -> f64 {
        self.tail.speed(self.tail.start) / DEGREES_PER_SECOND_PER_RPM
    }

    /// The angle at a time, crank degrees.
    pub fn angle_at(&self, time: f64) -> f64 {
        self.piece_at(time).angle(time)
    }

    /// The speed at a time, crank rpm; where it jumps, the speed after the jump.
    pub fn speed_at(&self, time: f64) -> f64 {
        self.piece_at(time).speed(time) / DEGREES_PER_SECOND_PER_RPM
    }

    /// The first time at or after `after` when the crank is at `angle`, either way round; `None` if it never is.
    ///
    /// Right to better than 1e-9 s where the crank turns at 1 rpm or more. At a standstill time hardly depends on
    /// angle, so nothing can be exact there.
    pub fn time_of_angle(&self, angle: f64, after: f64) -> Option<f64> {
        self.pieces_from(after).filter_map(|piece| piece.time(angle)).find(|time| *time >= after)
    }

    /// Every passage of the angles `offset + k * spacing`, k any whole number, after 0 s and up to `until`, in order of time.
    /// An angle on which the crank stands at 0 s is not passed.
    pub fn passages(&self, offset: f64, spacing: f64, until: f64) -> Vec<Passage> {
        assert!(spacing > 0.0 && until.is_finite());
        let mut passages = Vec::new();
        for piece in self.pieces_from(0.0).take_while(|piece| piece.start <= until) {
            let last = piece.angle(until.min(piece.end));
            let (low, high) = (piece.from.min(last), piece.from.max(last));
            let forward = last >= piece.from;
            // A cautious range of k; `passed` then decides, so that a join of two pieces counts once.
            let first = ((low - offset) / spacing).floor() as i64 - 1;
            let end = ((high - offset) / spacing).ceil() as i64 + 1;
            let mut here: Vec<Passage> = (first..=end)
                .filter_map(|index| {
                    let angle = offset + index as f64 * spacing;
                    let passed =
                        if forward { piece.from < angle && angle <= last } else { last <= angle && angle < piece.from };
                    let time = if passed {
                        piece.time(angle)?
                    } else {
                        return None;
                    };
                    Some(Passage { time, index, forward })
                })
                .collect();
            if !forward {
                here.reverse();
            }
            passages.append(&mut here);
        }
        passages
    }

    fn push_uniform(&mut self, speed: f64, acceleration: f64, seconds: f64) {
        let (start, from) = (self.tail.start, self.tail.from);
        let law = Law::Uniform { speed, acceleration };
        let mut piece = Piece { start, end: start + seconds, from, to: from, law };
        piece.to = piece.angle(piece.end);
        self.tail = Piece::steady(piece.end, piece.to, piece.speed(piece.end));
        self.pieces.push(piece);
    }

    fn pieces_from(&self, time: f64) -> impl Iterator<Item = &Piece> {
        assert!(time >= 0.0, "a motion begins at 0 s; it was asked for {time} s");
        let first = self.pieces.partition_point(|piece| piece.end <= time);
        self.pieces[first..].iter().chain(std::iter::once(&self.tail))
    }

    fn piece_at(&self, time: f64) -> &Piece {
        self.pieces_from(time).next().expect("the tail never ends")
    }
}

impl Piece {
    /// Goes on for ever; `speed` in degrees per second.
    fn steady(start: f64, from: f64, speed: f64) -> Self {
        let to = if speed == 0.0 { from } else { f64::INFINITY.copysign(speed) };
        Self { start, end: f64::INFINITY, from, to, law: Law::Uniform { speed, acceleration: 0.0 } }
    }

    fn angle(&self, time: f64) -> f64 {
        let elapsed = time - self.start;
        match &self.law {
            Law::Uniform { speed, acceleration } => self.from + elapsed * (speed + acceleration * elapsed / 2.0),
            Law::ByAngle(table) => table.angle(elapsed),
        }
    }

    /// Degrees per second.
    fn speed(&self, time: f64) -> f64 {
        let elapsed = time - self.start;
        match &self.law {
            Law::Uniform { speed, acceleration } => speed + acceleration * elapsed,
            Law::ByAngle(table) => table.speed(table.angle(elapsed)),
        }
    }

    /// When this piece is at `angle`, if it is.
    fn time(&self, angle: f64) -> Option<f64> {
        if !(self.from.min(self.to)..=self.from.max(self.to)).contains(&angle) {
            return None;
        }
        match &self.law {
            Law::Uniform { speed, acceleration } => {
                let travel = angle - self.from;
                if travel == 0.0 {
                    return Some(self.start);
                }
                // Speed at the angle from v^2 = v0^2 + 2 a s; then the time is travel over the mean speed. Both speeds have
                // the sign of the travel, so nothing cancels.
                let speed_there = (speed * speed + 2.0 * acceleration * travel).max(0.0).sqrt().copysign(travel);
                Some((self.start + 2.0 * travel / (speed + speed_there)).min(self.end))
            }
            Law::ByAngle(table) => Some(self.start + table.elapsed(angle)),
        }
    }
}

#[cfg(test)]
mod tests;
