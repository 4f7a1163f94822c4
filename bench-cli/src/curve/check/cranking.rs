//! The earliest and the latest spark while cranking.
//!
//! With a second flank a spark comes after it, whatever the crank does, and with a reluctor after its zero crossing. With one flank alone it is timed from the timing flank by the
//! period before, and a starter drags the crank over each compression three times slower than between them: the spark comes as
//! early as that makes it. `greatest_cranking` is held to this spark, since it is the one that kicks back.

use crate::curve::sparks::swing;
use crate::quantity::of_core::{angle_degrees, crank_degrees};
use crate::record::check::CrankingSparks;
use crate::record::sparks::{SparkAngles, SparksResult};
use crate::sheet::{PickupKind, Settings, Sheet, driven};
use crate::words::number::whole;
use crate::words::position::side;
use bobweight::AdvanceModel;
use bobweight::quantity::Swing;
use bobweight::sparks::{Cause, turned_while_cranking};

/// Cranking sparks that are timed by the timing flank alone: crank degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByTimingFlank {
    /// What the curve orders, before top dead centre.
    pub wanted: f64,
    /// From the flank to there.
    pub way: f64,
    /// The earliest spark, before top dead centre.
    pub earliest: f64,
    /// The latest, likewise; negative after top dead centre.
    pub latest: f64,
    /// From one pulse to the next.
    pulse: f64,
    /// How the starter's speed swings.
    swing: Swing,
    /// Whether the pickup is a coil, which has no second flank that holds its angle.
    is_coil: bool,
    /// The greatest advance that the same flank has to come before, running and held.
    greatest_running: f64,
}

impl ByTimingFlank {
    /// Nothing where cranking sparks come by a second flank or a zero crossing, while the sheet does not say where the flank stands and how many
    /// pulses there are, and of an engine whose ignition is not driven: that one cranks by rules of its own.
    pub fn of(sheet: &Sheet, model: &AdvanceModel) -> Option<Self> {
        driven(sheet).ok()?;
        let pickup = &sheet.pickup;
        if pickup.second_flank_angle_crank_degrees.value().is_some()
            || pickup.moving_flank_crank_degrees.value().is_some()
        {
            return None;
        }
        let pulse = 720.0 / f64::from(*pickup.pulses_in_two_turns.value()?);
        let wanted = crank_degrees(model.settings().cranking);
        let way = pickup.angle_crank_degrees.value()? - wanted;
        let swing = swing(sheet);
        let (early, late) = by_swing(way / pulse, swing);
        let [greatest, ..] = model.judge().0;
        let greatest_running = angle_degrees(greatest.worst.sum);
        Some(Self {
            wanted,
            way,
            earliest: wanted + early * pulse,
            latest: wanted - late * pulse,
            pulse,
            swing,
            is_coil: pickup.kind.value() == Some(&PickupKind::Coil),
            greatest_running,
        })
    }

    /// How far from the cranking advance the flank may stand, at most, so that no spark comes before `greatest`: crank degrees.
    fn way_that_keeps(&self, greatest: f64) -> f64 {
        let (mut low, mut high) = (0.0, self.way.max(0.0));
        // What comes early grows with the way.
        for _ in 0..40 {
            let middle = f64::midpoint(low, high);
            let within = self.wanted + by_swing(middle / self.pulse, self.swing).0 * self.pulse <= greatest;
            if within { low = middle } else { high = middle }
        }
        low
    }

    /// Why the earliest spark is not the one that is ordered.
    pub(super) fn in_words(&self) -> String {
        format!(
            "the earliest spark there: it is timed from a flank {:.1} crank degrees away, and {:.1} are ordered",
            self.way, self.wanted
        )
    }

    /// What a person who holds a starting handle has to know, and what mends it.
    fn warning(&self, greatest: f64) -> String {
        let mend = if self.earliest <= greatest {
            String::new()
        } else {
            let near = self.way_that_keeps(greatest);
            // The flank has to come before every spark of the running engine, too.
            let nearer = if self.wanted + near > self.greatest_running {
                format!(", or place its flank within {near:.1} crank degrees of it")
            } else {
                String::new()
            };
            let by_flank = if self.is_coil {
                "set the zero crossing to the cranking advance and write where the other flank lies as `moving_flank`, or take a vane with a \
                 second flank there"
            } else {
                "give the pickup a second flank at the cranking advance"
            };
            format!(": {by_flank}{nearer}")
        };
        format!(
            "cranking sparks are timed from a flank {:.1} crank degrees away, and can come at {} where {:.1} are wanted. An engine \
             that kicks back breaks wrists: no starting handle, ever, with this pickup{mend}",
            self.way,
            position(self.earliest),
            self.wanted
        )
    }
}

/// The sparks of the starter, out of the list.
pub(super) fn sparks(
    sheet: &Sheet,
    settings: &Settings,
    list: Option<&SparksResult>,
    warnings: &mut Vec<String>,
) -> Option<CrankingSparks> {
    let model = settings.model.settings();
    let by_timing_flank = ByTimingFlank::of(sheet, &settings.model);
    if let Some(sparks) = &by_timing_flank {
        warnings.push(sparks.warning(crank_degrees(model.limits.greatest_cranking)));
    }
    let angles = list?.row(Cause::Cranking.key())?.angles?;
    let moving_flank = settings.pickup.settings().moving_flank;
    let (earliest, latest) = (position(angles.earliest_crank_degrees), position(angles.latest_crank_degrees));
    let fastest = angles.latest_at_crank_rpm;
    let statement = if let Some(moving) = moving_flank {
        let by_flank = moving.earliest.bits() <= model.limits.greatest_cranking.bits();
        by_crossing(by_flank, &angles)
    } else if by_timing_flank.is_none() {
        format!(
            "sparks come between {earliest}, at the second flank (the edge of the pickup's signal at which a cranking dwell begins) with \
             the spread of its pulses, and {latest}, after the longest dwell at {} crank rpm, the fastest moment of the starter",
            whole(fastest)
        )
    } else {
        format!(
            "timed from the timing flank: while the starter's speed swings in each pulse, sparks come from {earliest} at the earliest to \
             {latest} at the latest"
        )
    };
    Some(CrankingSparks {
        by_second_flank: by_timing_flank.is_none() && moving_flank.is_none(),
        by_zero_crossing: moving_flank.is_some(),
        earliest_crank_degrees: angles.earliest_crank_degrees,
        latest_crank_degrees: angles.latest_crank_degrees,
        fastest_crank_rpm: fastest,
        statement,
    })
}

/// A reluctor's cranking sparks: where their dwell begins, and between which angles they come.
fn by_crossing(dwell_by_flank: bool, angles: &SparkAngles) -> String {
    let begins = if dwell_by_flank {
        "where the last pulse was whole their dwell begins by the moving flank and is over at the crossing, else it begins there"
    } else {
        "their dwell begins at the crossing, since the moving flank can lie before the greatest cranking advance"
    };
    let come = if angles.anywhere {
        "the list of sparks says no angles of them".to_owned()
    } else {
        format!(
            "they come between {} and {}",
            position(angles.earliest_crank_degrees),
            position(angles.latest_crank_degrees)
        )
    };
    format!("made by the zero crossing, which holds its angle: {begins}; {come}")
}

/// Where the crank stands at a spark so many seconds after a second flank: dwell begins at the flank and the spark comes one dwell
/// later, so it is late by what the crank turns meanwhile, 6 N t. The pickup's lag is not made up for there.
pub fn after_second_flank(flank_crank_degrees: f64, crank_rpm: f64, dwell_and_lag_s: f64) -> f64 {
    flank_crank_degrees - 6.0 * crank_rpm * dwell_and_lag_s
}

/// By how much a spark comes early, and late, at worst: shares of a pulse, for a delay of the share `f` of a pulse's mean time.
fn by_swing(f: f64, swing: Swing) -> (f64, f64) {
    const ONE: f64 = 4_294_967_296.0;
    // A delay is shorter than a pulse, and longer than none.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the cast saturates, and f is a share")]
    let time = (f.clamp(0.0, 1.0) * ONE) as u32;
    #[expect(clippy::cast_precision_loss, reason = "shares of 2^32 are exact")]
    let [least, most] = turned_while_cranking(time, swing).map(|share| share as f64 / ONE);
    (f - least, most - f)
}

fn position(crank_degrees: f64) -> String {
    format!("{:.1} crank degrees {}", crank_degrees.abs(), side(crank_degrees))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The closed form against the swing gone through in small steps. Source: the definition of a speed.
    #[test]
    fn the_swing_is_as_early_and_as_late_as_small_steps_make_it() {
        const STEPS: usize = 20_000;
        const USUAL: Swing = bobweight::must!(Swing::from_bits(3 << 8));
        for f in [0.01, 52.0 / 720.0, 0.2, 52.0 / 180.0, 0.374] {
            // Speed by angle in turns of x, and the time of each step.
            let speed = |turn: f64| 2.0 - (turn * std::f64::consts::TAU).cos();
            #[allow(clippy::cast_precision_loss)]
            let step = |i: usize| 1.0 / STEPS as f64 / speed((i as f64 + 0.5) / STEPS as f64);
            let whole: f64 = (0..STEPS).map(step).sum();
            let swept = |from: usize| {
                let (mut time, mut i) = (0.0, from);
                while time < f * whole {
                    time += step(i % STEPS);
                    i += 1;
                }
                #[allow(clippy::cast_precision_loss)]
                let share = (i - from) as f64 / STEPS as f64;
                share
            };
            let all: Vec<f64> = (0..STEPS).step_by(50).map(swept).collect();
            let (least, most) = all.iter().fold((1.0_f64, 0.0_f64), |(a, b), &x| (a.min(x), b.max(x)));
            let (early, late) = by_swing(f, USUAL);
            assert!((f - least - early).abs() < 2e-4, "{f}: {early} early, {} by steps", f - least);
            assert!((most - f - late).abs() < 2e-4, "{f}: {late} late, {} by steps", most - f);
        }
    }
}
