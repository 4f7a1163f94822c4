//! What the built-in bench asks of an ignition.

pub use bobweight_stimulator::CoilEdge;
use bobweight_wire::Intake;

/// The next switching of a coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Switch {
    /// On or off.
    pub edge: CoilEdge,
    /// When, in ticks of the ignition's own clock, wrapping; a tick that is past means now.
    pub at: u32,
}

/// An ignition on the built-in bench. All times are ticks of its own clock, wrapping.
pub trait IgnitionUnderTest {
    /// Ticks in a second by its own reckoning.
    fn tick_rate(&self) -> f64;

    /// The pickup's timing flank came at `at` and is handled at `now`.
    fn timing_flank(&mut self, at: u32, now: u32);

    /// The pickup's second flank came at `at` and is handled at `now`.
    fn second_flank(&mut self, at: u32, now: u32);

    /// The sensors' reading, many times a second.
    fn intake(&mut self, intake: Intake, now: u32);

    /// Time passes: after every switching off, and many times a second in between.
    fn poll(&mut self, now: u32);

    /// What its coil does next. Every other call may change it.
    fn next_switch(&self) -> Option<Switch>;

    /// The coil has done so.
    fn switched(&mut self);
}
