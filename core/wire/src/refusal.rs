//! Why a board did not do what a message asked.

use core::fmt;

use serde::{Deserialize, Serialize};

/// Why a board did not do what a message asked. Displayed in the host's terms: what is wrong and what to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Refusal {
    /// No pattern has been set since power-up.
    NoPattern,
    /// The pattern may change only at standstill.
    Turning,
    /// The crank stands still.
    NotTurning,
    /// The crank is not cranking.
    NotCranking,
    /// Pulses in two turns out of range.
    Pulses,
    /// A flank's angle out of range.
    FlankAngle,
    /// The two flanks are too near each other.
    FlanksTooNear,
    /// A speed out of range.
    Speed,
    /// Flanks would follow each other faster than this board can make them.
    TooFast,
    /// A rate of change out of range.
    Rate,
    /// A speed ratio out of range.
    Ratio,
    /// A count of zero.
    Count,
    /// A depression out of range.
    Depression,
    /// An upset that would cross a flank of its own or of a neighbouring pulse.
    Upset,
    /// A stopping place or way back out of range.
    Halt,
    /// A change of motion already waits for its flank.
    MotionWaits,
    /// An upset already waits for its pulse.
    UpsetWaits,
    /// This board has no such output.
    NoSuchOutput,
    /// This board does not know what to do with that message: it has another role.
    OtherRole,
}

impl Refusal {
    /// The reason in words.
    pub const fn text(self) -> &'static str {
        match self {
            Self::NoPattern => "the pickup's pattern is not set; set it before the crank turns",
            Self::Turning => "the pickup's pattern can change only while the crank stands still; stop first",
            Self::NotTurning => "the crank stands still; set a speed first",
            Self::NotCranking => "the crank can stop or kick back only out of cranking; start cranking first",
            Self::Pulses => "pulses in two crank turns must be 1 to 12",
            Self::FlankAngle => "a flank must lie between -360 and 720 crank degrees BTDC",
            Self::FlanksTooNear => "the two flanks of the pickup must lie at least one crank degree apart",
            Self::Speed => "a speed must lie between 20 and 20 000 crank rpm, the mean of cranking not above 2 000",
            Self::TooFast => {
                "the flanks would follow each other faster than the board can make them; its greeting states the shortest interval between two flanks and the shortest pulses"
            }
            Self::Rate => "a change of speed must lie between 1 and 60 000 crank rpm per second",
            Self::Ratio => "greatest over least speed must lie between 1 and 8",
            Self::Count => "a run needs at least one spark or one cycle",
            Self::Depression => "depression must lie between 0 and 110 kPa",
            Self::Upset => "the upset would cross a flank of its own pulse or of a neighbour; choose a smaller one",
            Self::Halt => {
                "the crank must stop 1 crank degree to one pulse after a timing flank and go back one pulse at most"
            }
            Self::MotionWaits => "a change of motion still waits for its timing flank; wait for its event first",
            Self::UpsetWaits => "an upset still waits for its pulse; wait for its event first",
            Self::NoSuchOutput => "the board has no output for that",
            Self::OtherRole => "the board has another role and cannot do that; is it the right serial port?",
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text())
    }
}

impl core::error::Error for Refusal {}
