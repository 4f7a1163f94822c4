//! Where a model is asked for its advance.

use super::curves::{advances_between, depressions, speeds};
use crate::advance::{AdvanceModel, Phase};
use crate::quantity::{Advance, CrankSpeed, Depression};
use proptest::prelude::*;
use proptest::sample::Index;

/// All that an advance depends on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// What the engine does.
    pub phase: Phase,
    /// How fast it turns.
    pub speed: CrankSpeed,
    /// How far the manifold's pressure lies below the atmosphere; `None` for a failed or absent sensor.
    pub depression: Option<Depression>,
    /// Whether the throttle is closed.
    pub throttle_closed: bool,
    /// What a trim input asks for.
    pub trim: Advance,
}

/// A place that is settled once there is a model: half of them beside its breakpoints.
#[derive(Clone, Copy, Debug)]
pub struct PlaceChoice {
    anywhere: Place,
    speed: Option<(Index, i8)>,
    depression: Option<(Index, i8)>,
}

impl PlaceChoice {
    /// The place in this model.
    #[must_use]
    pub fn of(&self, model: &AdvanceModel) -> Place {
        let settings = model.settings();
        let beside = |bits: u32, off: i8| bits.saturating_add_signed(i32::from(off));
        let mut place = self.anywhere;
        if let Some((index, off)) = self.speed {
            let (speed, _) = settings.centrifugal.breakpoint(index.index(settings.centrifugal.count()));
            place.speed = CrankSpeed::saturating_from_bits(beside(speed.bits(), off));
        }
        if let (Some((index, off)), Some(vacuum)) = (self.depression, &settings.vacuum) {
            let (depression, _) = vacuum.curve.breakpoint(index.index(vacuum.curve.count()));
            place.depression = Some(Depression::saturating_from_bits(beside(depression.bits(), off)));
        }
        place
    }
}

/// Choices of places.
pub fn place_choices() -> impl Strategy<Value = PlaceChoice> + Clone {
    let phase = prop_oneof![
        6 => Just(Phase::Running),
        1 => Just(Phase::Held),
        1 => Just(Phase::Cranking),
        1 => Just(Phase::Stopped),
        1 => Just(Phase::Overspeed),
    ];
    let beside = || proptest::option::of((any::<Index>(), prop_oneof![Just(0i8), Just(-1), Just(1)]));
    (
        phase,
        speeds(),
        proptest::option::of(depressions()),
        any::<bool>(),
        beside(),
        beside(),
        advances_between(-15..=15),
    )
        .prop_map(|(phase, speed, depression, throttle_closed, beside_speed, beside_depression, trim)| {
            PlaceChoice {
                anywhere: Place { phase, speed, depression, throttle_closed, trim },
                speed: beside_speed,
                depression: beside_depression,
            }
        })
}
