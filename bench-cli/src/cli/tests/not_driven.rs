//! Engines whose ignition is not driven from here: figures need no driver, and whatever needs one says so.

use super::{Ran, bobweight};
use crate::cli::exit::Exit;
use crate::sheet::tests::demo_text;

/// The demo with another supply and other intervals.
fn sheet(supply: &str, intervals: &str) -> String {
    demo_text().replacen("12 V negative earth", supply, 1).replacen(
        "cylinders = 4\n",
        &format!("cylinders = 4\n{intervals}"),
        1,
    )
}

const UNEVEN: &str =
    "firing_intervals = [\"150 crank degrees\", \"210 crank degrees\", \"150 crank degrees\", \"210 crank degrees\"]\n";

fn ran(text: &str, words: &[&str]) -> Ran {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).display().to_string();
    std::fs::write(at("engine.toml"), text).expect("a sheet");
    std::fs::write(at("light.csv"), "# taken = on the engine\n").expect("readings");
    std::fs::copy("demo/fire-float-readings.csv", at("fire-float-readings.csv")).expect("readings");
    let words: Vec<String> = words
        .iter()
        .map(|word| {
            if word.contains(".toml") || word.contains(".csv") || word.contains(".json") {
                at(word)
            } else {
                (*word).to_owned()
            }
        })
        .collect();
    bobweight(folder.path(), &words.iter().map(String::as_str).collect::<Vec<_>>())
}

fn not_driven() -> Vec<(&'static str, String)> {
    vec![
        ("engine.supply", sheet("6 V negative earth", "")),
        ("engine.supply", sheet("6 V positive earth", "")),
        ("engine.supply", sheet("12 V positive earth", "")),
        ("engine.supply", sheet("24 V negative earth", "")),
        ("engine.firing_intervals", sheet("12 V negative earth", UNEVEN)),
    ]
}

#[test]
fn figures_check_and_fit_answer_for_engines_that_are_not_driven() {
    for (key, text) in not_driven() {
        let figures = ran(&text, &["figures", "engine.toml", "--full-throttle", "30 crank degrees"]);
        assert_eq!(figures.exit, Exit::Pass, "{key}: {}", figures.err);
        // The advances are those of the curve, whatever makes the sparks.
        assert!(figures.said().contains("set the initial timing to 10 crank degrees"), "{}", figures.out);
        assert!(figures.said().contains("where it is cut short cannot be told"), "{}", figures.out);
        let check = ran(&text, &["check", "engine.toml"]);
        assert_eq!(check.exit, Exit::Pass, "{key}: {}{}", check.out, check.err);
        assert!(
            check.said().contains("limits: all kept") && check.said().contains(&format!("`{key}` is")),
            "{}",
            check.out
        );
        let fit = ran(&text, &["fit", "fire-float-readings.csv", "--sheet", "engine.toml"]);
        assert_eq!(fit.exit, Exit::Pass, "{key}: {}", fit.err);
        let broken = text.replacen("greatest = \"42", "greatest = \"37", 1);
        assert_eq!(ran(&broken, &["check", "engine.toml"]).exit, Exit::Fail, "{key}");
    }
}

#[test]
fn whatever_drives_or_times_sparks_refuses_with_the_line_and_what_still_answers() {
    for (key, text) in not_driven() {
        for words in [
            &["write", "engine.toml", "--serial", "/dev/none", "--acknowledge-cautions"][..],
            &["export", "engine.toml", "--as", "rust"],
            &["export", "engine.toml", "--as", "csv", "--speeds", "500..4000 crank rpm by 500"],
            &["bench", "engine.toml"],
            &["light", "engine.toml", "--readings", "light.csv", "--acknowledge-cautions"],
            &["figures", "engine.toml", "--first-start", "--acknowledge-cautions"],
        ] {
            let refused = ran(&text, words);
            assert_eq!(
                (refused.exit, refused.out.as_str()),
                (Exit::WrongInput, ""),
                "{key}, {words:?}: {}",
                refused.err
            );
            let told = refused.told();
            assert!(told.contains(&format!("`{key}` is")) && told.contains("engine.toml, line 1"), "{words:?}: {told}");
            assert!(
                told.contains("what needs no driver still answers: `survey`, `fit`, `figures`"),
                "{words:?}: {told}"
            );
        }
    }
}

#[test]
fn its_figures_have_their_page_and_no_card() {
    for (key, text) in not_driven() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name).display().to_string();
        std::fs::write(at("engine.toml"), text).expect("a sheet");
        let [sheet, json, page] = ["engine.toml", "figures.json", "page.html"].map(at);
        assert_eq!(bobweight(folder.path(), &["figures", &sheet, "--json", &json]).exit, Exit::Pass);
        let report = bobweight(folder.path(), &["report", &json, "--out", &page]);
        assert_eq!((report.exit, report.err.as_str()), (Exit::Pass, ""), "{key}");
        let card = bobweight(folder.path(), &["report", &json, "--out", &page, "--card"]);
        assert_eq!(card.exit, Exit::WrongInput, "{key}");
        assert!(card.told().contains(&format!("`{key}` is")), "{}", card.err);
    }
}

/// Source of 10 to 32 V: ISO 16750-2, from memory; of 4 to 8 V: common practice, no source.
#[test]
fn the_battery_follows_the_supply() {
    let rows = |supply: &str, options: &[&str]| {
        let text = sheet(supply, "").replacen("dwell = [[", "# dwell = [[", 1);
        let words = [&["figures", "engine.toml"][..], options].concat();
        let told = ran(&text, &words);
        assert_eq!(told.exit, Exit::Pass, "{supply}: {}", told.err);
        let table = told.out.lines().skip_while(|line| !(line.contains("battery") && line.contains("needed"))).skip(2);
        let volts = table.map_while(|line| line.split_whitespace().next()?.parse::<f64>().ok());
        volts.collect::<Vec<f64>>()
    };
    let ends = |rows: Vec<f64>| (rows.first().copied(), rows.last().copied(), rows.len() <= 16);
    assert_eq!(ends(rows("12 V negative earth", &[])), (Some(6.0), Some(16.0), true));
    assert_eq!(ends(rows("24 V positive earth", &[])), (Some(10.0), Some(32.0), true));
    assert_eq!(ends(rows("24 V negative earth", &["--battery", "20..30 V"])), (Some(20.0), Some(30.0), true));
    assert_eq!(ends(rows("6 V positive earth", &[])), (Some(4.0), Some(8.0), true));
}

#[test]
fn the_engine_is_told_with_what_is_unusual_of_it() {
    let uneven = ran(&sheet("6 V positive earth", UNEVEN), &["figures", "engine.toml"]);
    assert!(
        uneven.said().contains("fires unevenly, 150-210-150-210 crank degrees apart, 6 V positive earth"),
        "{}",
        uneven.out
    );
    assert!(uneven.said().contains("cylinder 3 at 75, cylinder 4 at 180, cylinder 2 at 255"), "{}", uneven.out);
    let plain = ran(demo_text(), &["figures", "engine.toml"]);
    assert!(!plain.said().contains("earth") && !plain.said().contains("unevenly"), "{}", plain.out);
}
