//! What each change of an engine does to its timing, by place.
//!
//! Directions are those of engine textbooks: a charge burns faster where it is denser, hotter, less diluted by burned gas and where
//! the flame has less far to go, and then the best spark is a later one; it pinks sooner where it is hotter, denser, of a lesser
//! octane number, or where the flame is longer under way. They are written from memory of such books. Every figure is
//! common practice without a source, and the greater lateness of each range is what trials begin with.

use crate::record::figures::Basis;
use crate::record::trials::{Effect, Place};
use crate::sheet::{ChamberShape, ChangedEngine, PlugMoved};
use crate::words::number::short;
use Place::{FullThrottle, Idle, PartThrottle};

/// Where a direction comes from.
const TEXTBOOK: &str = "engine textbooks, from memory, for the direction; the figures are common practice, no source";
/// Density of ethanol and of petrol, kg/l, and the air that a kilogram of each burns with, kg. Textbook values, from memory.
const ETHANOL: (f64, f64) = (0.789, 9.0);
const PETROL: (f64, f64) = (0.745, 14.7);

/// What every change that a sheet names does, in the order of its keys.
pub fn effects(changed: &ChangedEngine) -> Vec<Effect> {
    let mut all = Vec::new();
    let mut add = |change: &str, effects: Vec<Move>| {
        all.extend(effects.into_iter().map(|effect| effect.of(change)));
    };
    if let Some(&by) = changed.inlet_closes_later_crank_degrees.value() {
        add(&by_degrees("the inlet valves close", by, "later", "earlier"), inlet_closes(by / 10.0));
    }
    if let Some(&by) = changed.overlap_longer_crank_degrees.value() {
        add(&by_degrees("both valves are open together", by, "longer", "shorter"), overlap(by / 10.0));
    }
    if let Some(&[was, is]) = changed.compression.value() {
        add(&pair("compression", was, is, "to 1"), compression(is - was));
    }
    if let Some(&[was, is]) = changed.octane_ron.value() {
        add(&pair("fuel", was, is, "RON"), octane(is - was));
    }
    if let Some(&[was, is]) = changed.alcohol.value() {
        add(&pair("alcohol in the fuel", was * 100.0, is * 100.0, "%"), alcohol(was, is));
    }
    if let Some(&[was, is]) = changed.height_m.value() {
        add(&pair("height", was, is, "m"), height((is - was) / 300.0));
    }
    if let Some(&[was, is]) = changed.bore_mm.value() {
        add(&pair("bore", was, is, "mm"), bore((is / was - 1.0) * 100.0));
    }
    match changed.plug.value() {
        Some(PlugMoved::NearerTheMiddle) => add("the plug sits nearer the middle", faster_chamber()),
        Some(PlugMoved::FurtherFromTheMiddle) => add("the plug sits further from the middle", slower_chamber()),
        None => {}
    }
    match changed.chamber.value() {
        Some(ChamberShape::MoreCompact) => add("the chamber is more compact", faster_chamber()),
        Some(ChamberShape::LessCompact) => add("the chamber is less compact", slower_chamber()),
        None => {}
    }
    all
}

/// By how much the timing moves at a place, earlier positive, and why.
struct Move {
    place: Place,
    moves: [f64; 2],
    why: String,
}

impl Move {
    /// Trials take the greatest lateness of the range, and never an earliness.
    fn of(self, change: &str) -> Effect {
        let [one, other] = self.moves;
        let (low, high) = (one.min(other), one.max(other));
        Effect {
            change: change.to_owned(),
            place: self.place,
            moves_crank_degrees: [low, high],
            begin_later_crank_degrees: (-low).max(0.0),
            why: self.why,
            basis: Basis::Source(TEXTBOOK.to_owned()),
        }
    }
}

fn moves(place: Place, moves: [f64; 2], why: &str) -> Move {
    Move { place, moves, why: why.to_owned() }
}

/// Of `tens` of ten crank degrees later.
fn inlet_closes(tens: f64) -> Vec<Move> {
    if tens > 0.0 {
        return vec![
            moves(
                Idle,
                [0.0, 2.0 * tens],
                "less mixture is kept at low speed, and thin mixture burns slower: it may want more, which trials show",
            ),
            moves(PartThrottle, [0.0, tens], "less mixture is kept at low speed, and thin mixture burns slower"),
            moves(
                FullThrottle,
                [-tens, 0.0],
                "at high speed it fills better, and a denser charge burns faster and pinks sooner there; at low speed it fills worse \
                 and stands more: the curve may rise sooner, and end lower",
            ),
        ];
    }
    if tens < 0.0 {
        let why = "more mixture is kept at low speed: it is pressed harder there, burns faster and pinks sooner";
        return vec![
            moves(Idle, [tens, 0.0], why),
            moves(PartThrottle, [tens, 0.0], why),
            moves(FullThrottle, [2.0 * tens, 0.0], why),
        ];
    }
    Vec::new()
}

/// Of `tens` of ten crank degrees longer.
fn overlap(tens: f64) -> Vec<Move> {
    if tens > 0.0 {
        let why = "with both valves open burned gas comes back at idle and with the throttle little open, and a diluted charge \
                   burns slower";
        return vec![
            moves(Idle, [tens, 3.0 * tens], why),
            moves(PartThrottle, [tens, 2.0 * tens], why),
            moves(
                FullThrottle,
                [-tens, 0.0],
                "at high speed the overlap sweeps burned gas out, and a cleaner charge burns faster",
            ),
        ];
    }
    if tens < 0.0 {
        let why =
            "less burned gas comes back at idle and with the throttle little open, and a cleaner charge burns faster";
        return vec![moves(Idle, [3.0 * tens, tens], why), moves(PartThrottle, [2.0 * tens, tens], why)];
    }
    Vec::new()
}

/// Of so many ratios more.
fn compression(more: f64) -> Vec<Move> {
    if more > 0.0 {
        let why = "a charge that is pressed harder is hotter at the spark, with less burned gas in it: it burns faster, and pinks \
                   sooner";
        return vec![
            moves(Idle, [-more, 0.0], why),
            moves(PartThrottle, [-2.0 * more, 0.0], why),
            moves(FullThrottle, [-4.0 * more, -2.0 * more], why),
        ];
    }
    if more < 0.0 {
        let why = "a charge that is pressed less burns slower and stands more; what that is worth, trials show";
        return vec![
            moves(Idle, [0.0, -more], why),
            moves(PartThrottle, [0.0, -2.0 * more], why),
            moves(FullThrottle, [0.0, -2.0 * more], why),
        ];
    }
    Vec::new()
}

/// Of so many octane numbers more.
fn octane(more: f64) -> Vec<Move> {
    if more < 0.0 {
        let why = "a fuel of a lesser octane number burns as fast, but pinks sooner: the engine must be kept from it by later \
                   timing, or by less compression";
        return vec![moves(PartThrottle, [more / 2.0, 0.0], why), moves(FullThrottle, [1.5 * more, more / 2.0], why)];
    }
    if more > 0.0 {
        return vec![moves(
            FullThrottle,
            [0.0, more],
            "the best timing stays where it was, for the fuel burns as fast; more is to be had only where pinking, and not torque, \
             set the timing before",
        )];
    }
    Vec::new()
}

/// By how much less air a kilogram of fuel burns with, with alcohol in it, as a part of what petrol takes.
fn leaner(share: f64) -> f64 {
    let (alcohol, petrol) = (share * ETHANOL.0, (1.0 - share) * PETROL.0);
    let air = (alcohol * ETHANOL.1 + petrol * PETROL.1) / (alcohol + petrol);
    1.0 - air / PETROL.1
}

fn alcohol(was: f64, is: f64) -> Vec<Move> {
    let tens = (is - was) * 10.0;
    if tens > 0.0 {
        let lean = short((leaner(is) - leaner(was)) * 100.0, 0);
        let why = format!(
            "with the same jets the mixture is {lean} % leaner (by the air that ethanol and petrol burn with), so it is hot and \
             pinks sooner, though alcohol itself stands more: put the mixture right first. Alcohol also eats old hoses, floats \
             and fuel tanks"
        );
        return vec![
            Move { place: Idle, moves: [0.0, tens], why: why.clone() },
            Move { place: PartThrottle, moves: [-tens, tens], why: why.clone() },
            Move { place: FullThrottle, moves: [-tens, tens], why },
        ];
    }
    if tens < 0.0 {
        let why = "with the same jets the mixture is richer, and what alcohol stands more is gone: write the octane numbers, too";
        return vec![moves(PartThrottle, [tens, 0.0], why), moves(FullThrottle, [tens, 0.0], why)];
    }
    Vec::new()
}

/// Of so many times 300 m higher.
fn height(steps: f64) -> Vec<Move> {
    if steps > 0.0 {
        return vec![moves(
            FullThrottle,
            [0.0, steps],
            "thin air makes a thin charge, which burns slower and stands more, as long as the engine stays up there: the limits must \
             hold for the lowest place where it is used",
        )];
    }
    if steps < 0.0 {
        return vec![moves(
            FullThrottle,
            [steps, 0.0],
            "denser air makes a denser charge, which burns faster and pinks sooner",
        )];
    }
    Vec::new()
}

/// Of so many per cent wider.
fn bore(wider: f64) -> Vec<Move> {
    if wider > 0.0 {
        let why = "the flame has further to go, so it is longer under way and the charge before it has longer to pink. A bore that \
                   was widened with the same head also has more compression: write that, too";
        return vec![
            moves(PartThrottle, [0.0, 0.4 * wider], why),
            moves(FullThrottle, [-0.4 * wider, 0.4 * wider], why),
        ];
    }
    if wider < 0.0 {
        let why = "the flame has less far to go, and a charge that burns faster wants a later spark";
        return vec![moves(PartThrottle, [0.4 * wider, 0.0], why), moves(FullThrottle, [0.4 * wider, 0.0], why)];
    }
    Vec::new()
}

fn faster_chamber() -> Vec<Move> {
    let why = "the flame has less far to go: the charge burns faster, and the old timing is too early for it";
    vec![moves(Idle, [-3.0, -1.0], why), moves(PartThrottle, [-6.0, -2.0], why), moves(FullThrottle, [-6.0, -2.0], why)]
}

fn slower_chamber() -> Vec<Move> {
    vec![
        moves(Idle, [0.0, 3.0], "the flame has further to go, and burns longer"),
        moves(PartThrottle, [0.0, 6.0], "the flame has further to go, and burns longer"),
        moves(
            FullThrottle,
            [-3.0, 6.0],
            "the flame has further to go: it wants its spark earlier, but the charge before it has longer to pink, and which of the \
             two comes first, trials show",
        ),
    ]
}

fn by_degrees(what: &str, by: f64, more: &str, less: &str) -> String {
    format!("{what} {} crank degrees {}", short(by.abs(), 1), if by < 0.0 { less } else { more })
}

fn pair(what: &str, was: f64, is: f64, unit: &str) -> String {
    format!("{what}: {} {unit}, and {} {unit} before", short(is, 2), short(was, 2))
}
