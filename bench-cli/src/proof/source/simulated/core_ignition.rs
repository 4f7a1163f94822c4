//! The core's sequencer as an ignition on the built-in bench.

use bobweight::quantity::{Advance, CrankAngle, Depression, Duration, Voltage};
use bobweight::{
    AdvanceModel, Answer, CurveError, Dwell, DwellCurve, DwellError, Firmware, Flank, ModelError, MovingFlank, Pickup,
    PickupError, SHORTEST_DWELL, Sequencer, Timetable, TimetableError, VacuumCurve,
};
use bobweight_stimulator::CoilEdge;
use bobweight_wire::Intake;
use thiserror::Error;

use super::{IgnitionUnderTest, Imperfections, Switch};

/// The core's sequencer, with what a firmware would keep in its timer's compare registers.
#[derive(Debug)]
pub struct CoreIgnition<'t> {
    sequencer: Sequencer<'t>,
    tick_rate: f64,
    waiting: Option<(u32, u32)>,
    running_off: Option<u32>,
}

impl<'t> CoreIgnition<'t> {
    /// An ignition that has seen no edge.
    pub fn new(table: &'t Timetable, firmware: Firmware, battery: Voltage) -> Self {
        let mut sequencer = Sequencer::new(table);
        sequencer.battery(battery);
        Self { sequencer, tick_rate: f64::from(firmware.tick_rate.bits()), waiting: None, running_off: None }
    }

    /// The sequencer inside.
    pub fn sequencer(&self) -> &Sequencer<'t> {
        &self.sequencer
    }

    fn take(&mut self, answer: Answer) {
        match answer {
            Answer::Nothing => {}
            Answer::Order { on, off } => self.waiting = Some((on, off)),
            // A dwell counts as begun a little before its on time.
            Answer::MoveOff { off } => match (&mut self.running_off, &mut self.waiting) {
                (Some(running), _) => *running = off,
                (None, Some((_, waiting))) => *waiting = off,
                (None, None) => {}
            },
            Answer::Cancel => self.waiting = None,
        }
    }
}

impl IgnitionUnderTest for CoreIgnition<'_> {
    fn tick_rate(&self) -> f64 {
        self.tick_rate
    }

    fn timing_flank(&mut self, at: u32, now: u32) {
        let answer = self.sequencer.edge(Flank::Timing, at, now);
        self.take(answer);
    }

    fn second_flank(&mut self, at: u32, now: u32) {
        let answer = self.sequencer.edge(Flank::Second, at, now);
        self.take(answer);
    }

    fn intake(&mut self, intake: Intake, now: u32) {
        let steps = Depression::STEP / u32::from(bobweight_wire::Depression::PER_KPA);
        let depression = Depression::saturating_from_bits(u32::from(intake.depression.0) * steps);
        self.sequencer.depression(Some(depression), intake.throttle_closed, now);
    }

    fn poll(&mut self, now: u32) {
        let answer = self.sequencer.poll(now);
        self.take(answer);
    }

    fn next_switch(&self) -> Option<Switch> {
        match (self.running_off, self.waiting) {
            (Some(off), _) => Some(Switch { edge: CoilEdge::Off, at: off }),
            (None, Some((on, _))) => Some(Switch { edge: CoilEdge::On, at: on }),
            (None, None) => None,
        }
    }

    fn switched(&mut self) {
        if self.running_off.take().is_none() {
            self.running_off = self.waiting.take().map(|(_, off)| off);
        }
    }
}

/// What an ignition with imperfections in its own settings works from.
#[derive(Debug, Clone, Copy)]
pub struct ImperfectIgnition {
    /// The advance, with the vacuum unit's share.
    pub model: AdvanceModel,
    /// The pickup, where the ignition takes it to be.
    pub pickup: Pickup,
    /// The longest dwell that it gives.
    pub longest_dwell: Option<Duration>,
}

/// Why an imperfection makes no ignition.
#[derive(Debug, Clone, Copy, Error)]
pub enum ImperfectionError {
    /// The pickup's angle leaves its range.
    #[error("the imperfect pickup: {0}; choose a smaller error")]
    Pickup(PickupError),
    /// The vacuum curve leaves its range.
    #[error("the imperfect vacuum curve: {}; choose a share nearer to 100 %", .0.message())]
    Vacuum(CurveError),
    /// The dwell table is refused.
    #[error("the imperfect dwell: {}; choose a longer one", .0.message())]
    DwellCurve(CurveError),
    /// The dwell is refused.
    #[error("the imperfect dwell: {0}; choose a longer one")]
    Dwell(DwellError),
    /// The model is refused.
    #[error("the imperfect model: {0}; choose smaller imperfections")]
    Model(ModelError),
    /// No timetable can be made of it.
    #[error("the imperfect ignition: {0}; choose smaller imperfections")]
    Timetable(TimetableError),
}

impl ImperfectIgnition {
    /// Changes a model and a pickup by those imperfections that lie in the ignition's own settings.
    pub fn new(
        model: &AdvanceModel,
        pickup: &Pickup,
        imperfections: &Imperfections,
    ) -> Result<Self, ImperfectionError> {
        let mut advance = *model.settings();
        if let Some(vacuum) = &mut advance.vacuum {
            let share = |y: Advance| nearest(f64::from(y.bits()) * imperfections.vacuum_share);
            let breakpoints: Vec<_> = (0..vacuum.curve.count())
                .map(|i| vacuum.curve.breakpoint(i))
                .map(|(x, y)| (x, Advance::saturating_from_bits(share(y))))
                .collect();
            vacuum.curve = VacuumCurve::new(&breakpoints).map_err(ImperfectionError::Vacuum)?;
        }
        let mut place = *pickup.settings();
        // Whoever takes the flank to lie nearer to top dead centre than it does waits less, and sparks early.
        let early = nearest(imperfections.pickup_early_degrees * f64::from(CrankAngle::STEP));
        let nearer = |angle: CrankAngle| CrankAngle::saturating_from_bits(angle.bits() - early);
        place.angle = nearer(place.angle);
        if let Some(moving) = &mut place.moving_flank {
            // A reluctor's flanks move together, and its crossing is the cranking advance.
            *moving = MovingFlank { earliest: nearer(moving.earliest), latest: nearer(moving.latest) };
            advance.cranking = Advance::saturating_from_bits(place.angle.bits());
        }
        Ok(Self {
            model: AdvanceModel::new(advance).map_err(ImperfectionError::Model)?,
            pickup: Pickup::new(place).map_err(ImperfectionError::Pickup)?,
            longest_dwell: imperfections.longest_dwell_ms.map(longest_dwell),
        })
    }

    /// The timetable that this ignition runs by.
    pub fn timetable(&self, dwell: &Dwell, firmware: &Firmware) -> Result<Timetable, ImperfectionError> {
        let mut settings = *dwell.settings();
        if let Some(longest) = self.longest_dwell {
            let cut: Vec<_> = (0..settings.curve.count())
                .map(|i| settings.curve.breakpoint(i))
                .map(|(volts, dwell)| (volts, dwell.min(longest)))
                .collect();
            settings.curve = DwellCurve::new(&cut).map_err(ImperfectionError::DwellCurve)?;
        }
        let dwell = Dwell::new(settings).map_err(ImperfectionError::Dwell)?;
        Timetable::new(&self.model, &self.pickup, &dwell, firmware).map_err(ImperfectionError::Timetable)
    }
}

/// A dwell in milliseconds; the range of the imperfection lies within that of the quantity.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0.5 to 30 ms")]
fn longest_dwell(milliseconds: f64) -> Duration {
    Duration::from_micros((milliseconds * 1e3).round() as u32).unwrap_or(SHORTEST_DWELL)
}

/// The nearest whole number.
#[expect(clippy::cast_possible_truncation, reason = "a float beyond the range ends at its end")]
fn nearest(value: f64) -> i32 {
    value.round() as i32
}
