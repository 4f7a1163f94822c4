//! A chip's timer: a wrapping `u32` of ticks, seen from true time.

/// Ticks of a timer against true seconds.
#[derive(Clone, Copy, Debug)]
pub struct Timer {
    /// True ticks a second, Hz. A clock that runs 0.5 % fast at 2 MHz has 2 010 000.
    pub rate: f64,
    /// The timer's reading at 0 s, in ticks; its fraction is the phase of the tick.
    pub phase: f64,
}

const WRAP: f64 = 4_294_967_296.0;

impl Timer {
    /// A timer that reads 0 at 0 s.
    pub fn new(rate: f64) -> Self {
        assert!(rate > 0.0 && rate.is_finite());
        Self { rate, phase: 0.0 }
    }

    /// The same timer with another reading at 0 s.
    #[must_use]
    pub fn with_phase(self, ticks: f64) -> Self {
        Self { phase: ticks, ..self }
    }

    /// What the timer reads at a time: whole ticks begun, modulo 2^32.
    pub fn ticks(&self, time: f64) -> u32 {
        (time * self.rate + self.phase).floor().rem_euclid(WRAP) as u32
    }

    /// When the timer reaches this reading, in seconds: of all wraps the one nearest to `near`.
    pub fn seconds(&self, ticks: u32, near: f64) -> f64 {
        let there = near * self.rate + self.phase;
        let wraps = ((there - f64::from(ticks)) / WRAP).round();
        (f64::from(ticks) + wraps * WRAP - self.phase) / self.rate
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: arithmetic; 2^32 ticks of 125 MHz are 34.359738368 s.
    #[test]
    fn ticks_truncate_and_wrap() {
        let timer = Timer::new(125e6);
        assert_eq!(timer.ticks(0.0), 0);
        assert_eq!(timer.ticks(15.9e-9), 1);
        assert_eq!(timer.ticks(34.359_738_367_9), u32::MAX);
        assert_eq!(timer.ticks(34.359_738_369), 0);
        assert_eq!(Timer::new(1000.0).with_phase(-1.5).ticks(0.0), u32::MAX - 1);
        assert_eq!(Timer::new(1000.0).with_phase(0.75).ticks(0.000_3), 1);
    }

    #[test]
    fn seconds_are_the_start_of_the_tick_over_any_wrap() {
        for rate in [1e3, 1e6, 2e6, 16e6, 125e6] {
            let timer = Timer::new(rate).with_phase(4_294_967_000.25);
            for time in [0.0, 0.001, 1.0, 40.123, 5000.7] {
                let back = timer.seconds(timer.ticks(time), time + 10.0 / rate);
                assert!(back <= time + 1e-9 && time - back < 1.0 / rate + 1e-9, "{rate} Hz, {time} s: {back} s");
            }
        }
    }
}
