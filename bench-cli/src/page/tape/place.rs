//! What a tape is laid on, and so to which side its degrees run.

use crate::sheet::Rotation;

/// What a tape is laid on.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Carrier {
    /// The pulley, which turns past a pointer that stands still.
    Pulley,
    /// A plate that stands still, past which a notch turns.
    Plate,
}

/// A side of the tape, its edge `pulley end` below.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// +1 to the right, -1 to the left.
    pub fn sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }

    fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

/// Which way the rim moves at the top of the pulley, seen from the pulley end.
pub(super) fn motion(rotation: Rotation) -> Side {
    match rotation {
        Rotation::Clockwise => Side::Right,
        Rotation::Anticlockwise => Side::Left,
    }
}

impl Carrier {
    /// Where the degrees before top dead centre lie.
    ///
    /// What passes a pointer before top dead centre was ahead of the mark, in the direction of rotation; a notch that turns
    /// comes to a plate's top dead centre from behind it.
    pub(crate) fn side_of_before(self, rotation: Rotation) -> Side {
        match self {
            Self::Pulley => motion(rotation),
            Self::Plate => motion(rotation).other(),
        }
    }
}
