//! Piecewise linear curves with flat ends: 2 to 16 breakpoints, strictly rising in x.

use crate::divide::share;
use crate::quantity::{Advance, CrankSpeed, Depression, Duration, Pressure, SensorVoltage, Voltage};
use core::fmt;
use core::marker::PhantomData;

/// The most breakpoints that a curve can have.
pub const MOST_BREAKPOINTS: usize = 16;

/// Why breakpoints do not make a curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum CurveError {
    /// Fewer than 2 or more than 16 breakpoints: this many.
    Count(usize),
    /// This breakpoint, counted from 0, does not lie to the right of the one before it.
    NotRising(usize),
    /// The curve rises or falls by more than one crank degree a crank rpm before this breakpoint, counted from 0.
    TooSteep(usize),
}

impl CurveError {
    /// What is wrong, for the message of a compile error.
    pub const fn message(&self) -> &'static str {
        match self {
            Self::Count(_) => "a curve has 2 to 16 breakpoints",
            Self::NotRising(_) => "a curve's breakpoints rise strictly in x",
            Self::TooSteep(_) => "a centrifugal curve changes by at most one crank degree a crank rpm",
        }
    }
}

impl fmt::Display for CurveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Count(n) => write!(f, "a curve has 2 to 16 breakpoints, not {n}"),
            Self::NotRising(i) => {
                write!(f, "breakpoint {} does not lie to the right of the one before it", i + 1)
            }
            Self::TooSteep(i) => {
                write!(f, "the curve changes by more than one crank degree a crank rpm before breakpoint {}", i + 1)
            }
        }
    }
}

impl core::error::Error for CurveError {}

/// Raw breakpoints. What the numbers mean is the business of [`Curve`] and of the timetable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(crate) struct Breakpoints {
    x: [u32; MOST_BREAKPOINTS],
    y: [i32; MOST_BREAKPOINTS],
    count: u8,
}

impl Breakpoints {
    const EMPTY: Self = Self { x: [0; MOST_BREAKPOINTS], y: [0; MOST_BREAKPOINTS], count: 0 };

    /// Adds a breakpoint at the right end.
    const fn push(mut self, x: u32, y: i32) -> Result<Self, CurveError> {
        let i = self.count as usize;
        if i >= MOST_BREAKPOINTS {
            return Err(CurveError::Count(i + 1));
        }
        if i > 0 && x <= self.x[i - 1] {
            return Err(CurveError::NotRising(i));
        }
        self.x[i] = x;
        self.y[i] = y;
        self.count += 1;
        Ok(self)
    }

    /// How many breakpoints there are, 2 to 16.
    pub(crate) const fn count(&self) -> usize {
        // The bound is known to hold; saying it again lets the compiler drop every bounds check after it.
        let count = self.count as usize;
        if count > MOST_BREAKPOINTS { MOST_BREAKPOINTS } else { count }
    }

    /// Breakpoint `i`; the last one beyond the end.
    pub(crate) const fn get(&self, i: usize) -> (u32, i32) {
        let last = self.count().saturating_sub(1);
        let i = if i > last { last } else { i };
        (self.x[i], self.y[i])
    }

    /// The least and the greatest y of any x.
    pub(crate) const fn range(&self) -> (i32, i32) {
        let (_, first) = self.get(0);
        let (mut least, mut greatest) = (first, first);
        let mut i = 1;
        while i < self.count() {
            let (_, y) = self.get(i);
            if y < least {
                least = y;
            }
            if y > greatest {
                greatest = y;
            }
            i += 1;
        }
        (least, greatest)
    }

    /// y at x: linear between breakpoints, rounded to the nearest step, flat beyond the ends.
    pub(crate) const fn at(&self, x: u32) -> i32 {
        let (x_first, y_first) = self.get(0);
        if x <= x_first {
            return y_first;
        }
        let mut i = 1;
        while i < self.count() {
            let (x1, y1) = self.get(i);
            if x <= x1 {
                let (x0, y0) = self.get(i - 1);
                return y0.wrapping_add(share(y1.wrapping_sub(y0), x - x0, x1 - x0));
            }
            i += 1;
        }
        self.get(MOST_BREAKPOINTS).1
    }

    /// The same x with every y replaced: from nanoseconds to a firmware's ticks.
    pub(crate) const fn in_ticks(mut self, rate: crate::quantity::TickRate) -> Self {
        let mut i = 0;
        while i < self.count() {
            let time = Duration::saturating_from_bits(self.y[i] as u32);
            self.y[i] = time.ticks(rate) as i32;
            i += 1;
        }
        self
    }
}

/// A curve of Y over X, linear between breakpoints and flat beyond them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Curve<X, Y> {
    raw: Breakpoints,
    quantities: PhantomData<(X, Y)>,
}

/// Centrifugal advance over the crank's speed.
pub type CentrifugalCurve = Curve<CrankSpeed, Advance>;
/// Vacuum advance over depression.
pub type VacuumCurve = Curve<Depression, Advance>;
/// Dwell over the battery's voltage.
pub type DwellCurve = Curve<Voltage, Duration>;
/// What a sensor measures over its output.
pub type SensorCurve = Curve<SensorVoltage, Pressure>;

macro_rules! curve {
    ($x:ty, $x_bits:ty, $y:ty, $y_bits:ty) => {
        impl Curve<$x, $y> {
            /// A curve of these breakpoints, from the left.
            ///
            /// # Errors
            /// [`CurveError`] when there are not 2 to 16 or they do not rise strictly in x; a centrifugal curve also when it
            /// is steeper than one crank degree a crank rpm.
            pub const fn new(breakpoints: &[($x, $y)]) -> Result<Self, CurveError> {
                if breakpoints.len() < 2 || breakpoints.len() > MOST_BREAKPOINTS {
                    return Err(CurveError::Count(breakpoints.len()));
                }
                let mut raw = Breakpoints::EMPTY;
                let mut i = 0;
                while i < breakpoints.len() {
                    let (x, y) = breakpoints[i];
                    raw = match raw.push(x.bits() as u32, y.bits() as i32) {
                        Ok(raw) => raw,
                        Err(error) => return Err(error),
                    };
                    i += 1;
                }
                Self { raw, quantities: PhantomData }.checked()
            }

            /// Y at x: linear between breakpoints and rounded to the nearest step; flat beyond the ends.
            #[must_use]
            pub const fn at(&self, x: $x) -> $y {
                <$y>::saturating_from_bits(self.raw.at(x.bits() as u32) as $y_bits)
            }

            /// How many breakpoints there are: 2 to 16.
            #[must_use]
            pub const fn count(&self) -> usize {
                self.raw.count()
            }

            /// Breakpoint `i`, counted from 0 at the left; the last one beyond the end.
            #[must_use]
            pub const fn breakpoint(&self, i: usize) -> ($x, $y) {
                let (x, y) = self.raw.get(i);
                (<$x>::saturating_from_bits(x as $x_bits), <$y>::saturating_from_bits(y as $y_bits))
            }

            /// The least and the greatest y of any x.
            #[must_use]
            pub const fn range(&self) -> ($y, $y) {
                let (least, greatest) = self.raw.range();
                (<$y>::saturating_from_bits(least as $y_bits), <$y>::saturating_from_bits(greatest as $y_bits))
            }
        }
    };
}
curve!(CrankSpeed, u32, Advance, i32);
curve!(Depression, u32, Advance, i32);
curve!(Voltage, u16, Duration, u32);
curve!(SensorVoltage, u32, Pressure, u32);

impl CentrifugalCurve {
    /// The law of the slope: an edge's period must fix the advance far better than a degree.
    const fn checked(self) -> Result<Self, CurveError> {
        let mut i = 1;
        while i < self.raw.count() {
            let ((x0, y0), (x1, y1)) = (self.raw.get(i - 1), self.raw.get(i));
            let rise = (y1 as i64 - y0 as i64).unsigned_abs() * CrankSpeed::STEP as u64;
            if rise > (x1 - x0) as u64 * Advance::STEP as u64 {
                return Err(CurveError::TooSteep(i));
            }
            i += 1;
        }
        Ok(self)
    }
}

impl VacuumCurve {
    #[allow(clippy::unnecessary_wraps)] // One constructor serves four kinds of curve.
    const fn checked(self) -> Result<Self, CurveError> {
        Ok(self)
    }
}

impl SensorCurve {
    #[allow(clippy::unnecessary_wraps)] // One constructor serves four kinds of curve.
    const fn checked(self) -> Result<Self, CurveError> {
        Ok(self)
    }
}

impl DwellCurve {
    pub(crate) const fn raw(&self) -> &Breakpoints {
        &self.raw
    }

    #[allow(clippy::unnecessary_wraps)] // One constructor serves four kinds of curve.
    const fn checked(self) -> Result<Self, CurveError> {
        Ok(self)
    }
}
