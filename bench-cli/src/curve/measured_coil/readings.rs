//! What was read at a coil, and what follows of it without knowing anything else.
//!
//! A steady current knows resistance alone: however many volts and ohms are read, no inductance is in them. An alternating one of a
//! known frequency has it: of three alternating voltages, across a known resistance, across the coil and across both in series, the
//! first gives the current, and the cosine of the angle between the others parts the coil's volts into those in step with the
//! current and those across it (the method of three voltmeters, any electrical-engineering text).

use std::f64::consts::TAU;

/// A figure as a meter showed it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Read {
    /// The figure.
    pub value: f64,
    /// The true one lies no further from it than this, by the meter's own statement; nothing where that is not known.
    pub within: Option<f64>,
}

/// Three alternating voltages, of a coil in series with a resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alternating {
    /// Hertz of the mains.
    pub mains_hz: Read,
    /// Ohms of the resistance in series.
    pub series_ohm: Read,
    /// Volts across it.
    pub across_series: Read,
    /// Volts across the coil.
    pub across_coil: Read,
    /// Volts across both.
    pub across_both: Read,
}

/// Where the inductance comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Inductance {
    /// The coil's data, henries.
    Given(f64),
    /// Three voltages.
    Measured(Alternating),
}

/// Everything that was read at a coil; nothing of it is needed for all the rest.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CoilReadings {
    /// Ohms across the primary winding, cold.
    pub resistance: Option<Read>,
    /// Ohms with the meter's tips together.
    pub leads: Option<Read>,
    /// The coil's temperature then, degrees Celsius.
    pub cold_c: Option<f64>,
    /// Volts of the battery while current flows and the engine stands.
    pub supply: Option<Read>,
    /// Volts across the primary winding meanwhile.
    pub across_coil: Option<Read>,
    /// Volts across what switches, contacts or a wire; part of the ballast's where nobody read them.
    pub across_switch: Option<Read>,
    /// Ohms of ballast and wiring, where they are known.
    pub given_ballast_ohm: Option<f64>,
    /// Ohms of the winding by a sheet that parts them from its ballast; they count where nobody read them.
    pub winding_by_sheet_ohm: Option<f64>,
    /// Ohms across the primary winding after the current has flowed for a while.
    pub hot: Option<Read>,
    /// Seconds that it had flowed.
    pub after_s: Option<f64>,
    /// Ohms after twice that time.
    pub hotter: Option<Read>,
    /// The inductance.
    pub inductance: Option<Inductance>,
}

impl CoilReadings {
    /// Ohms of the primary winding, cold.
    pub fn coil_ohm(&self) -> Option<f64> {
        self.without_leads(self.resistance).or(self.winding_by_sheet_ohm)
    }

    /// A reading of the ohmmeter without its leads.
    fn without_leads(&self, read: Option<Read>) -> Option<f64> {
        Some(read?.value - self.leads?.value)
    }

    /// Amperes that flowed while the engine stood.
    pub fn standing_a(&self) -> Option<f64> {
        Some(self.across_coil?.value / self.coil_ohm()?)
    }

    /// Ohms of everything in the loop but the winding and the switch: ballast and wiring.
    pub fn rest_ohm(&self) -> Option<f64> {
        let measured = || {
            let switch = self.across_switch.map_or(0.0, |read| read.value);
            Some((self.supply?.value - self.across_coil?.value - switch) / self.standing_a()?)
        };
        self.given_ballast_ohm.or_else(measured)
    }

    /// Henries.
    pub fn inductance_h(&self) -> Option<f64> {
        match self.inductance? {
            Inductance::Given(henries) => Some(henries),
            Inductance::Measured(read) => Some(read.reactance_ohm() / (TAU * read.mains_hz.value)),
        }
    }

    /// Ohms that alternating current meets in the coil: those of the copper and those of the iron's losses.
    pub fn alternating_ohm(&self) -> Option<f64> {
        match self.inductance? {
            Inductance::Given(_) => None,
            Inductance::Measured(read) => Some(read.impedance_ohm() * read.cosine()),
        }
    }

    /// Ohms of the winding after each time by the clock, in seconds.
    pub fn hot_ohm(&self) -> [Option<(f64, f64)>; 2] {
        let at = |read, times: f64| Some((self.without_leads(read)?, self.after_s? * times));
        [at(self.hot, 1.0), at(self.hotter, 2.0)]
    }

    /// By how much something that is worked out of these readings may be out: each reading moved by what its meter allows, taken as
    /// equally likely anywhere within it, the shares added as squares, and twice the root of them, which holds the true figure in
    /// some 95 of 100 cases (JCGM 100:2008, 4.3.7, 5.1.2 and 6.2). Nothing where a meter's accuracy is not known, and of what hangs
    /// on no reading.
    pub fn give_or_take(&self, figure: impl Fn(&Self) -> Option<f64>) -> Option<f64> {
        let mut squares = None;
        for at in 0..Self::READINGS {
            let moved = |by: f64| {
                let mut readings = *self;
                let read = readings.reading(at)?;
                read.value += by;
                figure(&readings)
            };
            let mut here = *self;
            let Some(read) = here.reading(at).copied() else { continue };
            // What does not hang on a reading need not know how exact it is.
            let step = read.value.abs().max(1.0) * 1e-6;
            let slope = (moved(step)? - moved(-step)?) / (2.0 * step);
            if slope.abs() > 1e-12 {
                squares = Some(squares.unwrap_or(0.0) + (slope * read.within?).powi(2) / 3.0);
            }
        }
        squares.map(|squares: f64| 2.0 * squares.sqrt())
    }

    /// How many readings there can be.
    const READINGS: usize = 12;

    fn reading(&mut self, at: usize) -> Option<&mut Read> {
        let alternating = match &mut self.inductance {
            Some(Inductance::Measured(read)) => Some(read),
            _ => None,
        };
        match at {
            0 => self.resistance.as_mut(),
            1 => self.leads.as_mut(),
            2 => self.supply.as_mut(),
            3 => self.across_coil.as_mut(),
            4 => self.across_switch.as_mut(),
            5 => self.hot.as_mut(),
            6 => self.hotter.as_mut(),
            7 => alternating.map(|read| &mut read.mains_hz),
            8 => alternating.map(|read| &mut read.series_ohm),
            9 => alternating.map(|read| &mut read.across_series),
            10 => alternating.map(|read| &mut read.across_coil),
            11 => alternating.map(|read| &mut read.across_both),
            _ => None,
        }
    }
}

impl Alternating {
    fn current_a(&self) -> f64 {
        self.across_series.value / self.series_ohm.value
    }

    fn impedance_ohm(&self) -> f64 {
        self.across_coil.value / self.current_a()
    }

    /// Of the angle between the volts across the coil and the current.
    pub fn cosine(&self) -> f64 {
        let [series, coil, both] = [self.across_series, self.across_coil, self.across_both].map(|read| read.value);
        (both.powi(2) - series.powi(2) - coil.powi(2)) / (2.0 * series * coil)
    }

    fn reactance_ohm(&self) -> f64 {
        self.impedance_ohm() * (1.0 - self.cosine().powi(2)).max(0.0).sqrt()
    }
}
