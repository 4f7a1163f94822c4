//! Every public function of the crates that a chip links. Written by public_functions.py; do not edit.

use crate::link;

/// Links them all.
pub fn link_all() {
    link(<bobweight::Curve<bobweight::quantity::CrankSpeed, bobweight::quantity::Advance>>::at as fn(_, _) -> _);
    link(
        <bobweight::Curve<bobweight::quantity::CrankSpeed, bobweight::quantity::Advance>>::breakpoint as fn(_, _) -> _,
    );
    link(<bobweight::Curve<bobweight::quantity::CrankSpeed, bobweight::quantity::Advance>>::count as fn(_) -> _);
    link(<bobweight::Curve<bobweight::quantity::CrankSpeed, bobweight::quantity::Advance>>::new as fn(_) -> _);
    link(<bobweight::Curve<bobweight::quantity::CrankSpeed, bobweight::quantity::Advance>>::range as fn(_) -> _);
    link(<bobweight::Curve<bobweight::quantity::Depression, bobweight::quantity::Advance>>::at as fn(_, _) -> _);
    link(
        <bobweight::Curve<bobweight::quantity::Depression, bobweight::quantity::Advance>>::breakpoint as fn(_, _) -> _,
    );
    link(<bobweight::Curve<bobweight::quantity::Depression, bobweight::quantity::Advance>>::count as fn(_) -> _);
    link(<bobweight::Curve<bobweight::quantity::Depression, bobweight::quantity::Advance>>::new as fn(_) -> _);
    link(<bobweight::Curve<bobweight::quantity::Depression, bobweight::quantity::Advance>>::range as fn(_) -> _);
    link(<bobweight::Curve<bobweight::quantity::Voltage, bobweight::quantity::Duration>>::at as fn(_, _) -> _);
    link(<bobweight::Curve<bobweight::quantity::Voltage, bobweight::quantity::Duration>>::breakpoint as fn(_, _) -> _);
    link(<bobweight::Curve<bobweight::quantity::Voltage, bobweight::quantity::Duration>>::count as fn(_) -> _);
    link(<bobweight::Curve<bobweight::quantity::Voltage, bobweight::quantity::Duration>>::new as fn(_) -> _);
    link(<bobweight::Curve<bobweight::quantity::Voltage, bobweight::quantity::Duration>>::range as fn(_) -> _);
    link(bobweight::AdvanceModel::advance as fn(_, _, _, _, _) -> _);
    link(bobweight::AdvanceModel::clamp_of as fn(_, _) -> _);
    link(bobweight::AdvanceModel::judge as fn(_) -> _);
    link(bobweight::AdvanceModel::new as fn(_) -> _);
    link(bobweight::AdvanceModel::settings as fn(_) -> _);
    link(bobweight::AdvanceModel::vacuum_advance as fn(_, _, _) -> _);
    link(bobweight::CurveError::message as fn(_) -> _);
    link(bobweight::Dwell::new as fn(_) -> _);
    link(bobweight::Dwell::settings as fn(_) -> _);
    link(bobweight::DwellError::message as fn(_) -> _);
    link(bobweight::Judgement::holds as fn(_) -> _);
    link(bobweight::Judgements::hold as fn(_) -> _);
    link(bobweight::ModelError::message as fn(_) -> _);
    link(bobweight::Pickup::new as fn(_) -> _);
    link(bobweight::Pickup::settings as fn(_) -> _);
    link(bobweight::PickupError::message as fn(_) -> _);
    link(bobweight::quantity::Acceleration::bits as fn(_) -> _);
    link(bobweight::quantity::Acceleration::from_bits as fn(_) -> _);
    link(bobweight::quantity::Acceleration::get as fn(_) -> _);
    link(bobweight::quantity::Acceleration::new as fn(_) -> _);
    link(bobweight::quantity::Acceleration::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::Advance::angle as fn(_) -> _);
    link(bobweight::quantity::Advance::bits as fn(_) -> _);
    link(bobweight::quantity::Advance::from_bits as fn(_) -> _);
    link(bobweight::quantity::Advance::get as fn(_) -> _);
    link(bobweight::quantity::Advance::new as fn(_) -> _);
    link(bobweight::quantity::Advance::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::AdvanceRate::bits as fn(_) -> _);
    link(bobweight::quantity::AdvanceRate::from_bits as fn(_) -> _);
    link(bobweight::quantity::AdvanceRate::get as fn(_) -> _);
    link(bobweight::quantity::AdvanceRate::new as fn(_) -> _);
    link(bobweight::quantity::AdvanceRate::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::CrankAngle::bits as fn(_) -> _);
    link(bobweight::quantity::CrankAngle::from_bits as fn(_) -> _);
    link(bobweight::quantity::CrankAngle::get as fn(_) -> _);
    link(bobweight::quantity::CrankAngle::new as fn(_) -> _);
    link(bobweight::quantity::CrankAngle::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::CrankSpeed::bits as fn(_) -> _);
    link(bobweight::quantity::CrankSpeed::from_bits as fn(_) -> _);
    link(bobweight::quantity::CrankSpeed::get as fn(_) -> _);
    link(bobweight::quantity::CrankSpeed::new as fn(_) -> _);
    link(bobweight::quantity::CrankSpeed::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::Depression::bits as fn(_) -> _);
    link(bobweight::quantity::Depression::from_bits as fn(_) -> _);
    link(bobweight::quantity::Depression::get as fn(_) -> _);
    link(bobweight::quantity::Depression::new as fn(_) -> _);
    link(bobweight::quantity::Depression::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::Duration::bits as fn(_) -> _);
    link(bobweight::quantity::Duration::from_bits as fn(_) -> _);
    link(bobweight::quantity::Duration::from_micros as fn(_) -> _);
    link(bobweight::quantity::Duration::get as fn(_) -> _);
    link(bobweight::quantity::Duration::new as fn(_) -> _);
    link(bobweight::quantity::Duration::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::Duty::bits as fn(_) -> _);
    link(bobweight::quantity::Duty::from_bits as fn(_) -> _);
    link(bobweight::quantity::Duty::get as fn(_) -> _);
    link(bobweight::quantity::Duty::new as fn(_) -> _);
    link(bobweight::quantity::Duty::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::OutOfRange::message as fn(_) -> _);
    link(bobweight::quantity::TickRate::bits as fn(_) -> _);
    link(bobweight::quantity::TickRate::from_bits as fn(_) -> _);
    link(bobweight::quantity::TickRate::get as fn(_) -> _);
    link(bobweight::quantity::TickRate::new as fn(_) -> _);
    link(bobweight::quantity::TickRate::saturating_from_bits as fn(_) -> _);
    link(bobweight::quantity::Voltage::bits as fn(_) -> _);
    link(bobweight::quantity::Voltage::from_bits as fn(_) -> _);
    link(bobweight::quantity::Voltage::get as fn(_) -> _);
    link(bobweight::quantity::Voltage::new as fn(_) -> _);
    link(bobweight::quantity::Voltage::saturating_from_bits as fn(_) -> _);
}
