//! Whole models, pickups and dwells.

use super::curves::{advances_between, centrifugal_curves, vacuum_curves};
use crate::advance::{AdvanceModel, AdvanceSettings, PhaseSpeeds, Vacuum, VacuumSource};
use crate::curve::DwellCurve;
use crate::dwell::{Dwell, DwellSettings};
use crate::limits::Limits;
use crate::pickup::{MOST_PULSES, MovingFlank, Pickup, PickupSettings};
use crate::quantity::{Acceleration, Advance, AdvanceRate, CrankAngle, CrankSpeed, Duration, Duty, Voltage};
use crate::trim::Trim;
use proptest::prelude::*;

fn vacuums() -> impl Strategy<Value = Vacuum> + Clone {
    let source = prop_oneof![Just(VacuumSource::Manifold), Just(VacuumSource::Ported)];
    (vacuum_curves(), source, 1..=720i32).prop_map(|(curve, source, rate)| Vacuum {
        curve,
        source,
        greatest_rate: AdvanceRate::saturating_from_bits(rate * AdvanceRate::STEP as i32),
    })
}

fn trims() -> impl Strategy<Value = Trim> + Clone {
    prop_oneof![
        2 => Just(Trim::NONE),
        1 => (0..=Trim::MOST_TENTHS, 0..=Trim::MOST_TENTHS)
            .prop_filter_map("no trim", |(later, earlier)| Trim::from_tenths(later, earlier).ok()),
    ]
}

fn phase_speeds() -> impl Strategy<Value = PhaseSpeeds> + Clone {
    let rpm = |rpm: u32| CrankSpeed::saturating_from_bits(rpm * CrankSpeed::STEP);
    (100..=600u32, 1..=200u32, 100..=12_000u32, 1..=500u32).prop_map(move |(below, gap, range, again)| PhaseSpeeds {
        cranking_below: rpm(below),
        running_from: rpm(below + gap),
        spark_again_below: rpm(below + gap + range),
        no_spark_above: rpm(below + gap + range + again),
    })
}

/// Any model of a plausible engine. Its limits lie from 5 crank degrees inside its worst corners to 10 outside them, often
/// exactly there; about a third of the models keep them all.
pub fn models() -> impl Strategy<Value = AdvanceModel> + Clone {
    let slack = || prop_oneof![1 => Just(0), 3 => -5 * Advance::STEP as i32..10 * Advance::STEP as i32];
    let advances = [advances_between(-10..=20), advances_between(-10..=20), advances_between(-10..=20)];
    (
        advances,
        centrifugal_curves(),
        proptest::option::of(vacuums()),
        phase_speeds(),
        [slack(), slack(), slack(), slack()],
        trims(),
    )
        .prop_filter_map(
            "limits that cross",
            |([initial, cranking, held], centrifugal, vacuum, speeds, slack, trim)| {
                let any = Limits {
                    greatest: Advance::MAX,
                    greatest_without_vacuum: Advance::MAX,
                    greatest_cranking: Advance::MAX,
                    least: Advance::MIN,
                };
                let settings = AdvanceSettings { initial, cranking, held, centrifugal, vacuum, limits: any, speeds };
                let worst = AdvanceModel::new(settings)
                    .ok()?
                    .with_trim(trim)
                    .judge()
                    .0
                    .map(|judgement| judgement.worst.sum.bits());
                let greatest = |i: usize| Advance::saturating_from_bits(worst[i] + slack[i]);
                let (greatest_of_all, without_vacuum) = (greatest(0), greatest(1));
                let least = Advance::saturating_from_bits(worst[3] - slack[3]).min(greatest_of_all).min(without_vacuum);
                let limits = Limits {
                    greatest: greatest_of_all,
                    greatest_without_vacuum: without_vacuum,
                    greatest_cranking: greatest(2),
                    least,
                };
                AdvanceModel::new(AdvanceSettings { limits, ..settings }).ok().map(|model| model.with_trim(trim))
            },
        )
}

/// A pickup's other flank, in thousandths of a pulse.
#[derive(Clone, Copy, Debug)]
enum Other {
    None,
    /// After the timing flank.
    Second(i64),
    /// The latest before the crossing, and how much sooner the earliest is.
    Moving(i64, i64),
}

/// Any pickup: 1 to 12 pulses, its flank anywhere in the first pulse before top dead centre; alone, with a second flank, or a
/// reluctor's crossing.
pub fn pickups() -> impl Strategy<Value = Pickup> + Clone {
    // Shares of a pulse in thousandths.
    (
        1..=MOST_PULSES,
        0..=1000i64,
        prop_oneof![
            Just(Other::None),
            (1..1000i64).prop_map(Other::Second),
            (1..=250i64, 0..=250i64).prop_map(|(latest, more)| Other::Moving(latest, more)),
        ],
        prop_oneof![2 => Just(0), 1 => 0..=500u32],
        100..=20_000u32,
        0..=125i64,
        prop_oneof![3 => Just(0), 1 => 0..=2_000u32],
    )
        .prop_filter_map("no pickup", |(pulses, angle, other, lag, acceleration, spread, bounce)| {
            let pulse = 720 * i64::from(CrankAngle::STEP) / i64::from(pulses);
            let share = |thousandths: i64| CrankAngle::saturating_from_bits((pulse * thousandths / 1000) as i32);
            let angle = share(angle);
            let before = |thousandths: i64| CrankAngle::saturating_from_bits(angle.bits() + share(thousandths).bits());
            Pickup::new(PickupSettings {
                pulses_in_two_turns: pulses,
                angle,
                second_flank_angle: match other {
                    Other::Second(after) => Some(before(-after)),
                    _ => None,
                },
                moving_flank: match other {
                    Other::Moving(latest, more) => {
                        Some(MovingFlank { earliest: before(latest + more), latest: before(latest) })
                    }
                    _ => None,
                },
                bounce: Duration::from_micros(bounce).ok()?,
                lag: Duration::from_micros(lag).ok()?,
                greatest_acceleration: Acceleration::from_bits(acceleration).ok()?,
                pulse_spread: share(spread),
            })
            .ok()
        })
}

/// Any dwell of an ordinary coil: falling with the battery's voltage, 0.5 to 12 ms.
pub fn dwells() -> impl Strategy<Value = Dwell> + Clone {
    (500..=4_000u32, 0..=8_000u32, 0..=5_000u32, 300..=900u32, 0..=1_500u32).prop_filter_map(
        "no dwell",
        |(least, more, spare, duty_thousandths, burn)| {
            let micros = |micros: u32| Duration::from_micros(micros).ok();
            let volts = |volts: u16| Voltage::saturating_from_bits(volts * Voltage::STEP as u16);
            Dwell::new(DwellSettings {
                curve: DwellCurve::new(&[(volts(8), micros(least + more)?), (volts(16), micros(least)?)]).ok()?,
                largest: micros(least + more + spare)?,
                largest_duty: Duty::saturating_from_bits(Duty::STEP / 1000 * duty_thousandths),
                burn_time: micros(burn)?,
            })
            .ok()
        },
    )
}
