use crate::cli::Cli;
use crate::cli::exit::Exit;
use crate::cli::tests::{Ran, bobweight};
use crate::sheet::tests::{demo_text, reluctor_text};
use clap::Parser;

fn figures(text: &str, options: &[&str]) -> (Ran, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("engine.toml");
    std::fs::write(&path, text).expect("a sheet");
    let name = path.display().to_string();
    let words: Vec<&str> = ["figures", &name].into_iter().chain(options.iter().copied()).collect();
    let ran = bobweight(folder.path(), &words);
    (ran, std::fs::read_to_string(&path).expect("the sheet"))
}

#[test]
fn the_figures_of_the_demo() {
    let (ran, _) = figures(demo_text(), &[]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    insta::assert_snapshot!("figures_of_the_demo", ran.out);
}

#[test]
fn the_page_for_the_first_start_fits_one_sheet_and_asks_first() {
    let (ran, _) = figures(demo_text(), &["--first-start", "--acknowledge-cautions"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    // A4 takes 80 lines of 3.5 mm on each side.
    let sides: Vec<_> = ran.out.split('\u{c}').map(|side| side.lines().count()).collect();
    assert!(sides.len() == 2 && sides.iter().all(|lines| *lines <= 80), "{sides:?}");
    insta::assert_snapshot!("first_start_of_the_demo", ran.out);
    let (unread, _) = figures(demo_text(), &["--first-start"]);
    assert_eq!((unread.exit, unread.out.as_str()), (Exit::WrongInput, ""));
    let broken = demo_text().replacen("greatest = \"42", "greatest = \"37", 1);
    let (refused, _) = figures(&broken, &["--first-start", "--acknowledge-cautions"]);
    assert_eq!((refused.exit, refused.out.as_str()), (Exit::Fail, ""));
    assert!(refused.err.contains("breaks the sheet's own limits"), "{}", refused.err);
}

fn first_start(text: &str) -> String {
    let (ran, _) = figures(text, &["--first-start", "--acknowledge-cautions"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    ran.said()
}

/// The place of each in the page: what comes before what hangs on the danger, and the page is worked through from its top.
#[track_caller]
fn in_this_order(page: &str, parts: &[&str]) {
    let mut from = 0;
    for part in parts {
        let at =
            page[from..].find(part).unwrap_or_else(|| panic!("`{part}` is not there, or comes too early:\n{page}"));
        from += at + part.len();
    }
}

/// Sources: `core/ignition/avr`, README and WIRING, for jumper, lamp, hold and a loss of power; DIN 72552 for the coil's
/// terminals, from memory; the rest is common practice without a source.
#[test]
fn the_first_start_follows_what_the_ignition_does_and_what_can_hurt() {
    let page = first_start(demo_text());
    in_this_order(
        &page,
        &[
            // A filament lamp, cold, is more than an open collector bears.
            "LED with 1 kOhm",
            "no filament lamp",
            // The rotor turns anticlockwise; onto the flank from the side from which it comes while running.
            "then against rotation, which is clockwise seen from above the cap, until",
            "condenser",
            "15 (DIN 72552)",
            "Hold jumper in",
            "PD5 of an ATmega328P, PD3 of an ATmega1284P",
            "PLUGS IN, NO FUEL",
            "Fuel shut off",
            "no vapour can be smelled",
            "earthed on the block",
            "key on ten times",
            "power that is lost in a dwell",
            "every gap sparks",
            "the mark stands at 8 crank degrees BTDC at the earliest",
            "starting handle only once this is right, with the plugs in",
            "RUNNING",
            "key off, jumper out, key on",
            "bobweight light",
            "650 1 300 2 500 3 800",
            "Hand pump",
            "Hot restart",
            "from 4 crank degrees less than chosen. Set `initial` from 8.0 to 4.0",
        ],
    );
    for wrong in ["Plugs out, each in its lead", "test lamp", "Key off: no spark", "let the hold go"] {
        assert!(!page.contains(wrong), "{wrong}: {page}");
    }
}

/// An engine whose own limit bears what such a pickup does, by the starter.
#[test]
fn a_pickup_without_a_second_flank_is_never_for_a_starting_handle() {
    let page = first_start(&demo_text().replacen("second_flank_angle", "# second_flank_angle", 1).replacen(
        "greatest_cranking = \"10 ",
        "greatest_cranking = \"30 ",
        1,
    ));
    assert!(page.contains("Never a starting handle: this pickup has no second flank"), "{page}");
    assert!(page.contains("By this sheet it stands between 29."), "{page}");
    assert!(!page.contains("handle only once"), "{page}");
}

/// A camshaft or a crankshaft has no distributor's body, and a coil has a polarity.
#[test]
fn the_first_start_of_other_pickups() {
    let cam = first_start(&demo_text().replacen("place = \"distributor\"", "place = \"cam\"", 1));
    assert!(cam.contains("Move the pickup with rotation past the flank, then against rotation until"), "{cam}");
    let coil = demo_text().replacen("kind = \"vane\"", "kind = \"coil\"", 1);
    let coil = first_start(&coil.replacen("second_flank_angle", "# second_flank_angle", 1).replacen(
        "greatest_cranking = \"10 ",
        "greatest_cranking = \"30 ",
        1,
    ));
    assert!(coil.contains("The light sets it while cranking") && !coil.contains("Step 10"), "{coil}");
    assert!(!coil.contains("zero crossing"), "one flank alone: {coil}");
}

/// The zero crossing holds its angle, so it is set there; a second flank is no word of this pickup.
#[test]
fn the_first_start_of_a_reluctor() {
    let sheet = crate::sheet::parse("engine.toml", &reluctor_text()).expect("a sheet");
    let start = crate::proof::first_start::first_start(&sheet).expect("the page's figures");
    let page = crate::page::first_start::render(&start, &[]).concat();
    let page: Vec<&str> = page.split_whitespace().collect();
    in_this_order(
        &page.join(" "),
        &[
            "without going back, to 8 crank degrees BTDC",
            "tooth against its pole",
            "the falling flank times the spark",
            "That flank is the zero crossing, and comes last; the other moves, from 18.0 to 13.0",
            "the mark stands at 8 crank degrees BTDC at the earliest. The spark comes at the zero crossing",
            "Never a starting handle",
        ],
    );
    assert!(!page.join(" ").contains("second flank"));
}

/// One rule: where `check` fails for a cranking spark that can come too early, no command gives the curve away as kept.
#[test]
fn a_cranking_spark_that_can_kick_back_breaks_the_limit_in_every_command() {
    let text = demo_text().replacen("second_flank_angle", "# second_flank_angle", 1).replacen(
        "readings = ",
        "# readings = ",
        1,
    );
    let (page, _) = figures(&text, &["--first-start", "--acknowledge-cautions"]);
    assert_eq!((page.exit, page.out.as_str()), (Exit::Fail, ""), "{}", page.err);
    let (said, _) = figures(&text, &[]);
    assert!(said.out.contains("greatest advance while cranking: BROKEN"), "{}", said.out);
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("engine.toml");
    std::fs::write(&path, text).expect("a sheet");
    let (name, out) = (path.display().to_string(), folder.path().join("curve.rs").display().to_string());
    for words in [&["check", &name][..], &["export", &name, "--as", "rust", "--out", &out], &["bench", &name]] {
        let ran = bobweight(folder.path(), words);
        assert_eq!(ran.exit, Exit::Fail, "{words:?}: {}{}", ran.out, ran.err);
        let said = format!("{}{}", ran.out, ran.err);
        assert!(said.contains("greatest advance while cranking: BROKEN by 18.55 crank degrees"), "{words:?}: {said}");
    }
}

#[test]
fn changes_stand_beside_the_engine_as_it_is() {
    let (ran, text) = figures(demo_text(), &["--full-throttle", "30 crank degrees", "--altitude", "1500 m"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    assert_eq!(text, demo_text(), "a what-if writes nothing");
    insta::assert_snapshot!("figures_of_the_demo_changed", ran.out);
}

#[test]
fn the_dwell_is_written_where_it_is_asked_for_and_comments_stay() {
    let (ran, text) = figures(demo_text(), &["--write-dwell"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    assert!(ran.out.contains("coil.dwell = [[6, 10], [7, 10], [8, 9.73]"), "{}", ran.out);
    assert_eq!(text.matches('#').count(), demo_text().matches('#').count());
}

/// No use of an engine is presumed: the speeds are the curve's own, hose off and with the whole vacuum.
#[test]
fn without_a_condition_of_the_owners_the_bends_of_the_curve_are_shown() {
    let cut = demo_text().find("[[operating_condition]]").expect("a condition");
    let end = demo_text().find("[tolerance]").expect("tolerances");
    let (ran, _) = figures(&format!("{}{}", &demo_text()[..cut], &demo_text()[end..]), &["--json", "-"]);
    let json: serde_json::Value = serde_json::from_str(&ran.out).expect("nothing but JSON");
    let rows: Vec<(f64, f64, f64)> = (json["conditions"].as_array().expect("conditions").iter())
        .map(|row| {
            let total = &row["parts"]["total_crank_degrees"];
            [&row["speed_crank_rpm"], &row["depression_kpa"], total]
                .map(|figure| figure.as_f64().expect("a figure"))
                .into()
        })
        .map(|(speed, depression, total)| (speed, depression.round(), total))
        .collect();
    // By hand: initial 8, centrifugal 0 at 900, 12 at 1700, 20 from 3300, vacuum 10 at 12 inHg, which are 40.6 kPa.
    let off = [(900.0, 0.0, 8.0), (1700.0, 0.0, 20.0), (3300.0, 0.0, 28.0), (4600.0, 0.0, 28.0)];
    let on = off.map(|(speed, _, total)| (speed, 41.0, total + 10.0));
    assert_eq!(rows, [off, on].concat());
}

#[test]
fn a_sheet_that_cannot_be_used_is_told_with_file_line_and_key() {
    let without = demo_text().replacen("greatest_cranking = \"10 crank degrees\"", "", 1);
    let (ran, _) = figures(&without, &[]);
    assert_eq!((ran.exit, ran.out.as_str()), (Exit::WrongInput, ""));
    assert!(ran.told().contains("`limits.greatest_cranking` is missing") && ran.err.contains("help:"), "{}", ran.err);
    let (ran, _) = figures(&demo_text().replacen("resistance = \"1.2 ohm\"", "", 1), &[]);
    assert_eq!(ran.exit, Exit::Pass, "the rest can be told");
    assert!(
        ran.said().contains("cannot be told yet") && ran.said().contains("`coil.resistance` is missing"),
        "{}",
        ran.out
    );
}

#[test]
fn the_result_for_programs_is_marked() {
    let (ran, _) = figures(demo_text(), &["--json", "-"]);
    let json: serde_json::Value = serde_json::from_str(&ran.out).expect("nothing but JSON");
    assert_eq!(json["schema"], "bobweight-figures/1");
}

/// Three known numbers and no sheet. What it prints is invented like them.
#[test]
fn three_known_numbers_are_answered_without_a_sheet() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = |options: &[&str]| bobweight(folder.path(), &[&["figures"], options].concat());
    let three = [
        "--initial",
        "14 crank degrees",
        "--centrifugal",
        "22 crank degrees by 3000 crank rpm",
        "--vacuum",
        "12 crank degrees",
    ];
    let ran = run(&three);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    insta::assert_snapshot!("figures_of_three_numbers", ran.out);
    let places =
        ["--at", "2500 crank rpm, 15 inHg depression", "--at", "700 crank rpm", "--full-throttle", "34 crank degrees"];
    let ran = run(&[&three[..], &places].concat());
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    insta::assert_snapshot!("figures_of_three_numbers_at_places", ran.out);
    assert_eq!(std::fs::read_dir(folder.path()).expect("the folder").count(), 0, "nothing is written");
    let steep = run(&["--initial", "14 crank degrees", "--centrifugal", "60 crank degrees, 1000..1040 crank rpm"]);
    assert_eq!((steep.exit, steep.out.as_str()), (Exit::WrongInput, ""));
    assert!(steep.err.contains("no distributor does that"), "{}", steep.err);
    // Crank or distributor is never guessed, and a sheet's options want a sheet.
    for (options, told) in [
        (&["--initial", "14"][..], "distributor degrees"),
        (&["--initial", "14 degrees"], "distributor degrees"),
        (&["--centrifugal", "22 crank degrees by 3000 crank rpm"], "--initial"),
        (&["--initial", "14 crank degrees", "--json", "-"], "SHEET.toml"),
        (&["engine.toml", "--centrifugal", "22 crank degrees by 3000 crank rpm"], "cannot be used with"),
        (&[], "SHEET.toml"),
    ] {
        let refused =
            Cli::try_parse_from(["bobweight", "figures"].iter().chain(options)).expect_err("refused").to_string();
        assert!(refused.contains(told), "{options:?}: {refused}");
    }
    let (both, _) = figures(demo_text(), &["--initial", "10 crank degrees", "--full-throttle", "30 crank degrees"]);
    assert_eq!(both.exit, Exit::WrongInput);
    assert!(both.err.contains("leave one of them out"), "{}", both.err);
}
