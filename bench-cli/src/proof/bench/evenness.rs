//! Whether the pickup's pulses come evenly in a trace, and where not, whether its teeth stand unevenly or the crank turns unevenly.
//!
//! Only a trace can tell: the stimulator's own pulses are even. Time from one timing flank to the next alone does not tell the two apart.
//! The second flank does: a vane is as wide on a slow part of the turn as on a fast one, so the time that it takes goes with the speed
//! there, and not with where its neighbours stand.

use crate::proof::measure::EventKind;
use crate::proof::source::trace::Block;
use crate::proof::verdict::{Finding, Setting};
use crate::record::bench::FindingKind;

/// A departure counts as found at so many standard uncertainties.
const FOUND: f64 = 4.0;
/// Where the vanes' times depart by so much of what the distances do, or more, the crank turns unevenly.
const FOLLOWS: f64 = 0.5;
/// So little or less, and the teeth stand unevenly.
const FOLLOWS_NOT: f64 = 0.25;

/// What the sparks show is measured by the same flanks.
const NOTHING_SAID: &str = "What the sparks show may come of it: drive it by a heavier wheel, or at a higher speed, before anything is said of \
                            the ignition";

#[derive(Clone, Copy, Debug, Default)]
struct Mean {
    count: f64,
    sum: f64,
    squares: f64,
}

impl Mean {
    fn add(&mut self, value: f64) {
        self.count += 1.0;
        self.sum += value;
        self.squares += value * value;
    }

    fn value(&self) -> f64 {
        self.sum / self.count
    }

    /// Standard uncertainty of the mean (JCGM 100:2008, 4.2.3).
    fn uncertainty(&self) -> f64 {
        let variance = (self.squares - self.sum * self.sum / self.count).max(0.0) / (self.count - 1.0).max(1.0);
        (variance / self.count).sqrt()
    }
}

/// One pulse of the two turns.
#[derive(Clone, Copy, Debug, Default)]
struct Place {
    /// From its timing flank to the next, as a share of the mean distance.
    distance: Mean,
    /// From its timing flank to its second flank, likewise.
    vane: Mean,
}

/// Distances between flanks at steady speed.
#[derive(Debug)]
pub(super) struct Evenness {
    places: Vec<Place>,
}

impl Evenness {
    /// For so many pulses in two turns.
    pub(super) fn new(pulses: usize) -> Self {
        Self { places: vec![Place::default(); pulses.max(1)] }
    }

    /// Takes the whole cycles of a block.
    #[expect(clippy::cast_precision_loss, reason = "a block lasts seconds: far below 2^52 ps")]
    pub(super) fn block(&mut self, block: &Block) {
        let pulses = self.places.len();
        let flanks: Vec<u64> = block
            .events
            .iter()
            .filter(|event| event.kind == EventKind::TimingFlank)
            .map(|event| event.at_ticks)
            .collect();
        let mut second = block.events.iter().filter(|event| event.kind == EventKind::SecondFlank).peekable();
        for (cycle, first) in flanks.windows(pulses + 1).step_by(pulses).zip((block.first_pulse..).step_by(pulses)) {
            let mean = (cycle[pulses] - cycle[0]) as f64 / pulses as f64;
            for (pair, pulse) in cycle.windows(2).zip(first..) {
                let place = &mut self.places[pulse % pulses];
                place.distance.add((pair[1] - pair[0]) as f64 / mean);
                while second.next_if(|event| event.at_ticks <= pair[0]).is_some() {}
                if let Some(event) = second.next_if(|event| event.at_ticks < pair[1]) {
                    place.vane.add((event.at_ticks - pair[0]) as f64 / mean);
                }
            }
        }
    }

    /// What is uneven, if anything is that matters.
    pub(super) fn finding(&self, setting: &Setting) -> Option<Finding> {
        if self.places.iter().any(|place| place.distance.count < 2.0) {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
        let spacing = 720.0 / self.places.len() as f64;
        let departures =
            self.places.iter().enumerate().map(|(at, place)| {
                (at, spacing * (place.distance.value() - 1.0), spacing * place.distance.uncertainty())
            });
        let (at, degrees, uncertainty) = departures.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
        if degrees.abs() > (FOUND * uncertainty).max(setting.matters()) {
            return Some(self.uneven(at, degrees));
        }
        self.vanes_differ(spacing, setting).or_else(|| self.within_a_pulse(spacing, setting))
    }

    /// Flanks that come evenly, and vanes that take unequal times: whichever way the crank swings in a turn, there is a place of the pickup
    /// where its flanks do not show it.
    fn vanes_differ(&self, spacing: f64, setting: &Setting) -> Option<Finding> {
        let mean = self.mean_vane()?;
        let departures = self
            .places
            .iter()
            .enumerate()
            .map(|(at, place)| (at, spacing * (place.vane.value() - mean), spacing * place.vane.uncertainty()));
        let (at, degrees, uncertainty) = departures.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
        (degrees.abs() > (FOUND * uncertainty).max(setting.matters())).then(|| Finding {
            kind: FindingKind::UnevenTurning,
            sentence: format!(
                "pulse {} of {} of the pickup lasts {:.2} crank degrees {} than the mean of all, and its flanks come evenly: the shaft turned \
                 unevenly, or a vane has another width. {NOTHING_SAID}",
                at + 1,
                self.places.len(),
                degrees.abs(),
                if degrees > 0.0 { "longer" } else { "shorter" }
            ),
            size: degrees,
            or: vec![FindingKind::UnevenPickup],
        })
    }

    /// The mean time of a vane, as a share of the mean distance; none without second flanks.
    fn mean_vane(&self) -> Option<f64> {
        let vanes = || self.places.iter().filter(|place| place.vane.count >= 2.0).map(|place| place.vane.value());
        #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
        let all = self.places.len() as f64;
        (vanes().count() == self.places.len()).then(|| vanes().sum::<f64>() / all)
    }

    /// Whether the distances repeat in every turn, as those of a shaft that swings once in a turn do: then no vane need show it.
    fn repeats_in_a_turn(&self) -> bool {
        let half = self.places.len() / 2;
        self.places.len().is_multiple_of(2)
            && (0..half).all(|at| {
                let [one, other] = [at, at + half].map(|at| self.places[at].distance);
                (one.value() - other.value()).abs() <= FOUND * one.uncertainty().hypot(other.uncertainty())
            })
    }

    fn uneven(&self, at: usize, degrees: f64) -> Finding {
        let follows = self.follows();
        let how = format!(
            "pulse {} of {} of the pickup is followed by the next {:.2} crank degrees too {}, the same in every two turns",
            at + 1,
            self.places.len(),
            degrees.abs(),
            if degrees > 0.0 { "late" } else { "early" }
        );
        let (kind, or, why) = match follows {
            Some(follows) if follows >= FOLLOWS => (
                FindingKind::UnevenTurning,
                vec![],
                format!("its vanes take longer and shorter with it: the shaft turned unevenly. {NOTHING_SAID}"),
            ),
            Some(follows) if follows <= FOLLOWS_NOT && !self.repeats_in_a_turn() => (
                FindingKind::UnevenPickup,
                vec![],
                "its vanes take equally long: the teeth, vanes or magnets of the pickup stand unevenly. An ignition that goes by one \
                 interval hands it on to every spark"
                    .to_owned(),
            ),
            _ => (
                FindingKind::UnevenPickup,
                vec![FindingKind::UnevenTurning],
                format!(
                    "the teeth of the pickup stand unevenly, or the shaft turned unevenly: this trace does not tell them apart. \
                     {NOTHING_SAID}"
                ),
            ),
        };
        Finding { kind, sentence: format!("{how}: {why}"), size: degrees, or }
    }

    /// By what share of the distances' departures the vanes' times depart; none without second flanks. Both are speeds of the same turn, the
    /// vane's at another part of the pulse, so that they go apart by as much and seldom at once.
    fn follows(&self) -> Option<f64> {
        let mean = self.mean_vane()?;
        let square = |of: &dyn Fn(&Place) -> f64| self.places.iter().map(|place| of(place).powi(2)).sum::<f64>();
        let distances = square(&|place| place.distance.value() - 1.0);
        (distances > 0.0).then(|| (square(&|place| place.vane.value() / mean - 1.0) / distances).sqrt())
    }

    /// Every pulse alike, and the vane takes another share of it than its angle: the crank swings within each pulse, or the sheet has
    /// another second flank.
    fn within_a_pulse(&self, spacing: f64, setting: &Setting) -> Option<Finding> {
        // A flank that moves with the speed tells nothing of the turning.
        let [distance, _] = setting.flank_distance.filter(|[least, greatest]| greatest <= least)?;
        let vane = self.mean_vane()?;
        let degrees = spacing * vane - (-distance).rem_euclid(spacing);
        (degrees.abs() > setting.tolerance).then(|| Finding {
            kind: FindingKind::UnevenTurning,
            sentence: format!(
                "the pickup's second flank comes {:.2} crank degrees {} after the timing flank than the sheet has it, by the time of a whole \
                 pulse: the shaft swings within each pulse, or `second_flank_angle` is wrong. {NOTHING_SAID}",
                degrees.abs(),
                if degrees > 0.0 { "later" } else { "earlier" }
            ),
            size: degrees,
            or: Vec::new(),
        })
    }
}

/// Whether the shaft may have turned unevenly: then what the sparks show beside is not told of the ignition.
pub(super) fn may_be_the_turning(uneven: &Finding) -> bool {
    [uneven.kind].iter().chain(&uneven.or).any(|kind| *kind == FindingKind::UnevenTurning)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::proof::measure::Event;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// Four vanes 52 crank degrees wide, at 1 500 crank rpm by the mean.
    struct Shaft {
        /// A tooth and how many crank degrees late it stands.
        tooth: Option<(usize, f64)>,
        /// The shaft's swing in two turns, crank degrees: by so much it runs before and behind even turning.
        swing: f64,
        /// In each pulse.
        swing_within: f64,
    }

    impl Shaft {
        /// When it stands at an angle, ps: even turning, with the swing, by the formulas.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small positive times")]
        fn at(&self, degrees: f64, rng: &mut ChaCha8Rng) -> u64 {
            let swung = degrees
                + self.swing * (degrees.to_radians() / 2.0).sin()
                + self.swing_within * (degrees * 2.0).to_radians().sin();
            // 9 000 crank degrees a second, and 0.5 us of noise.
            ((swung / 9_000.0 + 1.0 + rng.random_range(-0.5e-6..0.5e-6)) * 1e12) as u64
        }

        fn found(&self, seed: u64) -> Option<Finding> {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let mut evenness = Evenness::new(4);
            let mut events = Vec::new();
            for pulse in 0..=60_usize {
                let late = self.tooth.map_or(0.0, |(tooth, late)| if pulse % 4 == tooth { late } else { 0.0 });
                let angle = 180.0 * f64::from(u32::try_from(pulse).expect("60")) + late;
                for (degrees, kind) in [(angle, EventKind::TimingFlank), (angle + 52.0, EventKind::SecondFlank)] {
                    events.push(Event { at_ticks: self.at(degrees, &mut rng), kind });
                }
            }
            let (from_ps, to_ps) = (events[0].at_ticks, events[120].at_ticks);
            evenness.block(&Block { events, from_ps, to_ps, first_pulse: 2, speed_crank_rpm: 1_500.0 });
            let setting = Setting {
                pulses_in_two_turns: 4,
                delay_at_no_advance: 52.0,
                flank_distance: Some([-52.0; 2]),
                centrifugal: vec![[1000.0, 0.0], [2000.0, 10.0]],
                vacuum: Vec::new(),
                tick_bench_s: 1e-7,
                tick_ignition_s: 0.5e-6,
                clock_tolerance: 0.0,
                vacuum_step_kpa: 0.0,
                tolerance: 0.5,
                tolerance_ramp: 2.0,
            };
            evenness.finding(&setting)
        }
    }

    #[test]
    fn an_even_pickup_that_turns_evenly_is_accused_of_nothing() {
        for seed in 0..200 {
            assert_eq!(Shaft { tooth: None, swing: 0.0, swing_within: 0.0 }.found(seed), None);
        }
    }

    #[test]
    fn a_tooth_that_stands_off_is_told_from_a_shaft_that_turns_unevenly() {
        let named = |shaft: Shaft, seed: u64| shaft.found(seed).map(|finding| (finding.kind, finding.or));
        for seed in 0..200 {
            let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0xaa);
            let size = rng.random_range(0.5..3.0) * if rng.random_bool(0.5) { 1.0 } else { -1.0 };
            let tooth = Some((rng.random_range(0..4), size));
            let uneven = named(Shaft { tooth, swing: 0.0, swing_within: 0.0 }, seed);
            assert_eq!(uneven, Some((FindingKind::UnevenPickup, vec![])), "{tooth:?}");
            let turning = named(Shaft { tooth: None, swing: size, swing_within: 0.0 }, seed);
            assert_eq!(turning, Some((FindingKind::UnevenTurning, vec![])), "{size}");
            let within = named(Shaft { tooth: None, swing: 0.0, swing_within: 2.0 * size.signum() }, seed);
            assert_eq!(within, Some((FindingKind::UnevenTurning, vec![])), "{size}");
        }
    }
}
