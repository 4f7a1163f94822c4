use super::*;
use crate::record::trials::{Listening, Measure};
use crate::sheet::parse;
use crate::sheet::tests::demo_text;
use Place::{FullThrottle, Idle, PartThrottle};

fn with(text: &str) -> Sheet {
    let text = format!("{}\n{text}", demo_text());
    parse("engine.toml", &text).unwrap_or_else(|error| panic!("{error:?}\n{text}"))
}

fn said(place: Place, speed_crank_rpm: f64) -> Said {
    let depression_kpa = if place == PartThrottle { 30.0 } else { 0.0 };
    Said { place, speed_crank_rpm, depression_kpa, measure: Measure::Time, listening: Listening::Ear }
}

const PLACES: [(Place, f64); 3] = [(Idle, 650.0), (PartThrottle, 2_400.0), (FullThrottle, 2_000.0)];

/// Each change of an engine, and the opposite one.
const CHANGES: [(&str, &str); 9] = [
    ("inlet_closes_later = \"12 crank degrees\"", "inlet_closes_later = \"-12 crank degrees\""),
    ("overlap_longer = \"15 crank degrees\"", "overlap_longer = \"-15 crank degrees\""),
    ("compression = [\"7.4 to 1\", \"8.4 to 1\"]", "compression = [\"7.4 to 1\", \"6.4 to 1\"]"),
    ("octane = [\"95 RON\", \"91 RON\"]", "octane = [\"91 RON\", \"95 RON\"]"),
    ("alcohol = [\"0 %\", \"10 %\"]", "alcohol = [\"10 %\", \"0 %\"]"),
    ("height = [\"1500 m\", \"0 m\"]", "height = [\"0 m\", \"1500 m\"]"),
    ("bore = [\"85 mm\", \"87 mm\"]", "bore = [\"85 mm\", \"83 mm\"]"),
    ("plug = \"nearer the middle\"", "plug = \"further from the middle\""),
    ("chamber = \"more compact\"", "chamber = \"less compact\""),
];

fn all_changes() -> impl Iterator<Item = &'static str> {
    CHANGES.iter().flat_map(|(one, other)| [*one, *other])
}

/// The sums are those of the demo's curve by hand: 8 initial, 12 up to 1 700 crank rpm, 8 more up to 3 300; from 5 to 12 inHg the
/// vacuum unit gives 10.
#[test]
fn an_engine_that_was_not_changed_begins_on_the_late_side_of_its_own_curve() {
    let sheet = with("");
    let before = |place, speed| begin(&sheet, &said(place, speed)).expect("a beginning");
    let full = before(FullThrottle, 2_000.0);
    assert!((full.before_crank_degrees - 21.5).abs() < 0.01 && !full.by_book, "{full:?}");
    assert!((full.at_crank_degrees - 17.5).abs() < 0.01, "{full:?}");
    let idle = before(Idle, 650.0);
    assert!((idle.before_crank_degrees - 8.0).abs() < 0.01 && (idle.at_crank_degrees - 4.0).abs() < 0.01, "{idle:?}");
    let part = before(PartThrottle, 2_000.0);
    let vacuum = 10.0 * (30.0 / 3.386_389 - 5.0) / 7.0;
    assert!((part.before_crank_degrees - 21.5 - vacuum).abs() < 0.02, "{part:?}");
    assert!(full.effects.is_empty() && idle.effects.is_empty() && part.effects.is_empty());
}

#[test]
fn a_book_stands_before_the_chosen_curve() {
    let book = "[specified.advance]\ninitial = \"4 crank degrees\"\n[specified.centrifugal]\n\
                unit = [\"crank rpm\", \"crank degrees\"]\nbreakpoints = [[1000, 0], [3000, 20]]\n";
    let sheet = with(book);
    let full = begin(&sheet, &said(FullThrottle, 2_000.0)).expect("a beginning");
    assert!(full.by_book && (full.before_crank_degrees - 14.0).abs() < 0.01, "{full:?}");
    assert!((full.at_crank_degrees - 10.0).abs() < 0.01, "{full:?}");
    // The chosen curve has a vacuum unit and the book tells none: what the engine had there is not in the book.
    assert!(!begin(&sheet, &said(PartThrottle, 2_000.0)).expect("a beginning").by_book);
}

/// Never more than the engine had or than is allowed, whatever is changed, and the more is changed the later.
#[test]
fn no_change_ever_begins_earlier_and_several_begin_later_still() {
    for (place, speed) in PLACES {
        let said = said(place, speed);
        let plain = begin(&with(""), &said).expect("a beginning");
        for one in all_changes() {
            let alone = begin(&with(&format!("[changed]\n{one}\n")), &said).expect("a beginning");
            assert!(alone.at_crank_degrees <= plain.at_crank_degrees, "{one} at {place:?}: {alone:?}");
            assert!(alone.at_crank_degrees <= alone.before_crank_degrees - LATE_SIDE.min(alone.before_crank_degrees));
            for other in all_changes().filter(|other| other.split(' ').next() != one.split(' ').next()) {
                let both = begin(&with(&format!("[changed]\n{one}\n{other}\n")), &said).expect("a beginning");
                assert!(both.at_crank_degrees <= alone.at_crank_degrees, "{one}, {other} at {place:?}");
                let asked =
                    both.effects.iter().map(|effect| effect.begin_later_crank_degrees).sum::<f64>().max(LATE_SIDE);
                assert!((both.later_crank_degrees - asked).abs() < 1e-9, "{both:?}");
            }
        }
    }
}

#[test]
fn a_beginning_keeps_the_limits_of_the_sheet() {
    let everything: Vec<&str> = CHANGES.iter().map(|(one, _)| *one).collect();
    let sheet = with(&format!("[changed]\n{}\n", everything.join("\n")));
    for (place, speed) in PLACES {
        let begin = begin(&sheet, &said(place, speed)).expect("a beginning");
        assert!(begin.at_crank_degrees >= 0.0 && begin.at_crank_degrees <= limit(&sheet, place).expect("a limit"));
        assert!(begin.at_crank_degrees <= begin.before_crank_degrees);
    }
    // 30 at full throttle and 42 in all, as the demo's sheet says.
    let limits = PLACES.map(|(place, _)| limit(&sheet, place).expect("a limit"));
    assert!(limits.iter().zip([30.0, 42.0, 30.0]).all(|(got, wanted)| (got - wanted).abs() < 1e-9), "{limits:?}");
}

/// Directions by engine textbooks, from memory: what burns faster wants a later spark, what pinks sooner must have one.
#[test]
fn each_change_moves_the_timing_the_way_that_textbooks_have_it() {
    let of = |change: &str, place: Place| {
        let sheet = with(&format!("[changed]\n{change}\n"));
        effects(&sheet.changed)
            .into_iter()
            .find(|effect| effect.place == place)
            .map(|effect| effect.moves_crank_degrees)
    };
    let later = |moves: Option<[f64; 2]>| moves.is_some_and(|[low, high]| low < 0.0 && high <= 0.0);
    let earlier = |moves: Option<[f64; 2]>| moves.is_some_and(|[low, high]| low >= 0.0 && high > 0.0);
    let [_, overlap, compression, octane, _, height, ..] = CHANGES;
    // More burned gas at idle burns slower.
    assert!(earlier(of(overlap.0, Idle)) && earlier(of(overlap.0, PartThrottle)) && later(of(overlap.1, Idle)));
    assert!(later(of(compression.0, FullThrottle)) && earlier(of(compression.1, FullThrottle)));
    // The octane number sets pinking and not burning: idle is left alone, and more of it promises nothing that trials begin with.
    assert!(later(of(octane.0, FullThrottle)) && of(octane.0, Idle).is_none() && of(octane.1, Idle).is_none());
    assert!(later(of(height.0, FullThrottle)) && earlier(of(height.1, FullThrottle)));
    for fast in [CHANGES[7].0, CHANGES[8].0] {
        assert!([Idle, PartThrottle, FullThrottle].into_iter().all(|place| later(of(fast, place))), "{fast}");
    }
}

/// E10 has about 4 % less air to a kilogram of fuel: 0.789 kg/l and 9.0 kg of air for ethanol, 0.745 and 14.7 for petrol (from memory
/// of engine textbooks), by hand: (0.0789 x 9 + 0.6705 x 14.7) / 0.7494 = 14.10, which is 4.1 % less than 14.7.
#[test]
fn a_tenth_of_alcohol_makes_the_mixture_4_percent_leaner() {
    let sheet = with("[changed]\nalcohol = [\"0 %\", \"10 %\"]\n");
    let said: Vec<String> = effects(&sheet.changed).into_iter().map(|effect| effect.why).collect();
    assert!(said.iter().all(|why| why.contains("the mixture is 4 % leaner")), "{said:?}");
}

#[test]
fn what_did_not_change_does_nothing() {
    let same = "[changed]\ncompression = [\"8 to 1\", \"8 to 1\"]\noctane = [\"95 RON\", \"95 RON\"]\nalcohol = [\"5 %\", \"5 %\"]\n\
                height = [\"5 m\", \"5 m\"]\nbore = [\"80 mm\", \"80 mm\"]\ninlet_closes_later = \"0 crank degrees\"\n\
                overlap_longer = \"0 crank degrees\"\n";
    assert_eq!(effects(&with(same).changed), []);
}

#[test]
fn an_octane_number_without_its_method_and_one_figure_alone_are_refused() {
    for (wrong, says) in [
        ("octane = [\"91\", \"95\"]", "RON"),
        ("octane = [\"91 MON\", \"95 MON\"]", "RON"),
        ("compression = \"8 to 1\"", "a list is wanted"),
        ("compression = [\"8 to 1\"]", "2 are wanted"),
        ("plug = \"in the middle\"", "nearer the middle"),
    ] {
        let text = format!("{}\n[changed]\n{wrong}\n", demo_text());
        let error = parse("engine.toml", &text).expect_err(wrong);
        let told = crate::cli::render::render(&error, false, 100);
        assert!(told.contains(says), "{wrong}: {told}");
    }
}

/// A range as the page of changed engines has it.
fn cell(moves: Option<[f64; 2]>) -> String {
    let short = |degrees: f64| crate::words::number::short(degrees.abs(), 1);
    match moves {
        None => "-".to_owned(),
        Some([low, high]) if high <= 0.0 => format!("{} to {} later", short(high), short(low)),
        Some([low, high]) if low >= 0.0 => format!("{} to {} earlier", short(low), short(high)),
        Some([low, high]) => format!("{} later to {} earlier", short(low), short(high)),
    }
}

#[test]
fn the_page_of_changed_engines_has_these_figures() {
    let page = include_str!("../../../CHANGED.md");
    for (name, change) in [
        ("inlet closes later, each 10 crank degrees", "inlet_closes_later = \"10 crank degrees\""),
        ("inlet closes earlier, each 10", "inlet_closes_later = \"-10 crank degrees\""),
        ("longer overlap, each 10", "overlap_longer = \"10 crank degrees\""),
        ("shorter overlap, each 10", "overlap_longer = \"-10 crank degrees\""),
        ("compression up, each 1 to 1", "compression = [\"7 to 1\", \"8 to 1\"]"),
        ("compression down, each 1 to 1", "compression = [\"8 to 1\", \"7 to 1\"]"),
        ("octane down, each 1 RON", "octane = [\"92 RON\", \"91 RON\"]"),
        ("octane up, each 1 RON", "octane = [\"91 RON\", \"92 RON\"]"),
        ("alcohol up, each 10 %", "alcohol = [\"0 %\", \"10 %\"]"),
        ("alcohol down, each 10 %", "alcohol = [\"10 %\", \"0 %\"]"),
        ("higher up, each 300 m", "height = [\"0 m\", \"300 m\"]"),
        ("lower down, each 300 m", "height = [\"300 m\", \"0 m\"]"),
        ("bore up, each 1 %", "bore = [\"100 mm\", \"101 mm\"]"),
        ("bore down, each 1 %", "bore = [\"100 mm\", \"99 mm\"]"),
        ("plug nearer the middle, or chamber more compact", "plug = \"nearer the middle\""),
        ("plug nearer the middle, or chamber more compact", "chamber = \"more compact\""),
        ("plug further out, or chamber less compact", "plug = \"further from the middle\""),
        ("plug further out, or chamber less compact", "chamber = \"less compact\""),
    ] {
        let effects = effects(&with(&format!("[changed]\n{change}\n")).changed);
        let cells = [Idle, PartThrottle, FullThrottle].map(|place| {
            cell(effects.iter().find(|effect| effect.place == place).map(|effect| effect.moves_crank_degrees))
        });
        let row = format!("| {name} | {} |", cells.join(" | "));
        assert!(page.contains(&row), "not on the page: {row}");
    }
}
