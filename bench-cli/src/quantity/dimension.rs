//! What can be written, with its units.

use crate::quantity::units::{KPA_PER_INHG, KPA_PER_MBAR, KPA_PER_MMHG, KPA_PER_PSI};

/// Crank turns, or crank degrees, for one of the distributor.
const CRANK_PER_DISTRIBUTOR: f64 = 2.0;

/// What a text measures: its units with the factor to the unit used inside, and the forms that a person may write.
#[derive(Debug, PartialEq)]
pub struct Dimension {
    /// The name that messages use, with its article.
    pub name: &'static str,
    /// One way to write it.
    pub example: &'static str,
    pub(super) units: &'static [(&'static str, f64)],
    pub(super) below_zero: bool,
}

/// Crank rpm.
pub const SPEED: Dimension = Dimension {
    name: "a speed",
    example: "650 crank rpm",
    units: &[("crank rpm", 1.0), ("distributor rpm", CRANK_PER_DISTRIBUTOR)],
    below_zero: false,
};

/// Crank degrees of advance, or between two positions. `BTDC` may be added.
pub const ANGLE: Dimension = Dimension {
    name: "an angle",
    example: "8 crank degrees",
    units: &[
        ("crank degrees", 1.0),
        ("crank degrees BTDC", 1.0),
        ("distributor degrees", CRANK_PER_DISTRIBUTOR),
        ("distributor degrees BTDC", CRANK_PER_DISTRIBUTOR),
    ],
    below_zero: true,
};

/// A position of the crank, crank degrees before top dead centre; `ATDC` is negative inside.
pub const POSITION: Dimension = Dimension {
    name: "a position of the crank",
    example: "60 crank degrees BTDC",
    units: &[
        ("crank degrees BTDC", 1.0),
        ("crank degrees ATDC", -1.0),
        ("distributor degrees BTDC", CRANK_PER_DISTRIBUTOR),
        ("distributor degrees ATDC", -CRANK_PER_DISTRIBUTOR),
    ],
    below_zero: false,
};

/// Crank rpm a second.
pub const ACCELERATION: Dimension = Dimension {
    name: "an acceleration",
    example: "6000 crank rpm per s",
    units: &[("crank rpm per s", 1.0), ("distributor rpm per s", CRANK_PER_DISTRIBUTOR)],
    below_zero: false,
};

/// Crank degrees a second.
pub const ANGLE_RATE: Dimension = Dimension {
    name: "a rate of advance",
    example: "30 crank degrees per s",
    units: &[("crank degrees per s", 1.0), ("distributor degrees per s", CRANK_PER_DISTRIBUTOR)],
    below_zero: false,
};

/// Seconds.
pub const TIME: Dimension = Dimension {
    name: "a time",
    example: "100 us",
    units: &[("ms", 1e-3), ("us", 1e-6), ("ns", 1e-9), ("s", 1.0)],
    below_zero: false,
};

/// A fraction of one, written in per cent.
pub const SHARE: Dimension = Dimension { name: "a share", example: "0.5 %", units: &[("%", 1e-2)], below_zero: false };

/// Volts.
pub const VOLTAGE: Dimension =
    Dimension { name: "a voltage", example: "4.7 V", units: &[("V", 1.0), ("mV", 1e-3)], below_zero: false };

/// Amperes.
pub const CURRENT: Dimension =
    Dimension { name: "a current", example: "5 A", units: &[("A", 1.0), ("mA", 1e-3)], below_zero: false };

/// Joules.
pub const ENERGY: Dimension =
    Dimension { name: "an energy", example: "30 mJ", units: &[("mJ", 1e-3), ("J", 1.0)], below_zero: false };

/// Ohms.
pub const RESISTANCE: Dimension =
    Dimension { name: "a resistance", example: "1.2 ohm", units: &[("ohm", 1.0)], below_zero: false };

/// Henries.
pub const INDUCTANCE: Dimension =
    Dimension { name: "an inductance", example: "6 mH", units: &[("mH", 1e-3), ("H", 1.0)], below_zero: false };

/// Seconds by a clock: how long somebody waited.
pub const WAIT: Dimension = Dimension {
    name: "a time by the clock",
    example: "10 min",
    units: &[("min", 60.0), ("s", 1.0), ("h", 3600.0)],
    below_zero: false,
};

/// Degrees Celsius.
pub const TEMPERATURE: Dimension =
    Dimension { name: "a temperature", example: "20 C", units: &[("C", 1.0), ("°C", 1.0)], below_zero: true };

/// Hertz.
pub const FREQUENCY: Dimension =
    Dimension { name: "a frequency", example: "50 Hz", units: &[("Hz", 1.0)], below_zero: false };

/// Millimetres. The inch is 25.4 mm (NIST SP 811, appendix B.8, exact).
pub const LENGTH: Dimension = Dimension {
    name: "a length",
    example: "152 mm",
    units: &[("mm", 1.0), ("cm", 10.0), ("in", 25.4)],
    below_zero: false,
};

/// Litres. The inch is 25.4 mm (NIST SP 811, appendix B.8, exact), so a cubic inch is 16.387064 cm3.
pub const DISPLACEMENT: Dimension = Dimension {
    name: "a displacement",
    example: "2.2 l",
    units: &[("l", 1.0), ("cm3", 1e-3), ("cubic in", 16.387_064e-3)],
    below_zero: false,
};

/// How many times less room is left at top dead centre than at the bottom: `8.2 to 1`.
pub const COMPRESSION: Dimension =
    Dimension { name: "a compression ratio", example: "8.2 to 1", units: &[("to 1", 1.0)], below_zero: false };

/// How many times one thing is another: `3 to 1`.
pub const RATIO: Dimension =
    Dimension { name: "a ratio", example: "3 to 1", units: &[("to 1", 1.0)], below_zero: false };

/// Watts.
pub const POWER: Dimension = Dimension { name: "a power", example: "20 W", units: &[("W", 1.0)], below_zero: false };

/// How well a fuel withstands pinking, by the research method. The motor method gives other numbers for the same fuel, so that
/// a bare number would say nothing.
pub const OCTANE: Dimension =
    Dimension { name: "an octane number", example: "95 RON", units: &[("RON", 1.0)], below_zero: false };

/// Metres above the sea.
pub const HEIGHT: Dimension = Dimension { name: "a height", example: "600 m", units: &[("m", 1.0)], below_zero: true };

/// Kilopascals between two pressures, so that neither depression nor absolute is said.
pub const PRESSURE_STEP: Dimension = Dimension {
    name: "a difference of pressures",
    example: "2.5 kPa",
    units: &[
        ("kPa", 1.0),
        ("inHg", KPA_PER_INHG),
        ("mmHg", KPA_PER_MMHG),
        ("mbar", KPA_PER_MBAR),
        ("psi", KPA_PER_PSI),
    ],
    below_zero: false,
};

/// Kilopascals below the atmosphere, or above nothing; see [`super::Pressure`].
pub(super) const PRESSURE: Dimension = Dimension {
    name: "a depression",
    example: "47 kPa depression",
    units: &[
        ("kPa", 1.0),
        ("inHg", KPA_PER_INHG),
        ("mmHg", KPA_PER_MMHG),
        ("mbar", KPA_PER_MBAR),
        ("psi", KPA_PER_PSI),
        // An inch of what: only ever asked back about.
        ("in", KPA_PER_INHG),
    ],
    below_zero: false,
};

impl Dimension {
    /// A unit that a table's column may have.
    pub(crate) fn column_example(&self) -> &'static str {
        self.units.first().map_or("", |(name, _)| name)
    }

    /// Every way to write the unit, for messages.
    pub(super) fn unit_list(&self) -> String {
        if *self == PRESSURE {
            return "kPa, inHg, mmHg, mbar or psi, each followed by depression or absolute".to_owned();
        }
        let names: Vec<&str> = self.units.iter().map(|(name, _)| *name).collect();
        match names.as_slice() {
            [one] => (*one).to_owned(),
            [most @ .., last] => format!("{} or {last}", most.join(", ")),
            [] => String::new(),
        }
    }
}
