use crate::cli::exit::Exit;
use crate::cli::tests::{Ran, bobweight, without_figures};
use crate::sheet::tests::demo_text;
use std::fmt::Write;

/// Readings whose curve is known: initial 8, 12 more between 900 and 1700 crank rpm, 8 more up to 3300; vacuum 10 between
/// 17 and 40 kPa. The last digit swings, as eyes do.
pub(in crate::cli) fn readings() -> String {
    let mut text = "hose,speed_was,crank_rpm,crank_degrees,vacuum_kPa\n".to_owned();
    let ramp = |x: f64, from: f64, to: f64, rise: f64| rise * ((x - from) / (to - from)).clamp(0.0, 1.0);
    for index in 0..30_u32 {
        let speed = 500.0 + 120.0 * f64::from(index);
        let advance = 8.0 + ramp(speed, 900.0, 1700.0, 12.0) + ramp(speed, 1700.0, 3300.0, 8.0);
        let was = if index % 2 == 0 { "rising" } else { "falling" };
        writeln!(text, "off,{was},{speed},{:.1},", advance + 0.3 * (f64::from(index) * 2.3).sin()).expect("a text");
    }
    for index in 0..12_u32 {
        let kpa = 5.0 + 5.0 * f64::from(index);
        let advance = 28.0 + ramp(kpa, 17.0, 40.0, 10.0) + 0.3 * (f64::from(index) * 3.1).sin();
        writeln!(text, "on,steady,3800,{advance:.1},{kpa}").expect("a text");
    }
    text
}

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        let folder = Self(tempfile::tempdir().expect("a folder"));
        folder.write("survey.csv", &readings());
        folder
    }

    fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).expect("a file");
    }

    fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).expect("a file")
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    /// Runs `fit` with the words that begin with `@` as paths of this folder.
    fn fit(&self, arguments: &[&str]) -> Ran {
        let arguments: Vec<String> = arguments
            .iter()
            .map(|word| word.strip_prefix('@').map_or_else(|| (*word).to_owned(), |name| self.path(name)))
            .collect();
        let words: Vec<&str> = std::iter::once("fit").chain(arguments.iter().map(String::as_str)).collect();
        bobweight(self.0.path(), &words)
    }

    fn names(&self) -> Vec<String> {
        let mut names: Vec<_> = std::fs::read_dir(self.0.path())
            .expect("the folder")
            .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

#[test]
fn a_new_sheet_appears_where_it_is_told_and_never_over_a_file() {
    let folder = Folder::new();
    let ran = folder.fit(&["@survey.csv", "--new-sheet", "@survey.toml"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    assert_eq!(folder.names(), ["survey.csv", "survey.toml"]);
    insta::assert_snapshot!("fit_into_a_new_sheet", without_figures(&ran.out));
    let first = folder.read("survey.toml");
    let again = folder.fit(&["@survey.csv", "--new-sheet", "@survey.toml"]);
    assert_eq!((again.exit, again.out.as_str()), (Exit::WrongInput, ""));
    assert!(again.told().contains("is not written over") && again.err.contains("--sheet"), "{}", again.err);
    assert_eq!(folder.read("survey.toml"), first);
}

#[test]
fn without_a_sheet_nothing_is_written_and_how_to_get_one_is_said() {
    let folder = Folder::new();
    let ran = folder.fit(&["@survey.csv"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    assert_eq!(folder.names(), ["survey.csv"]);
    assert!(ran.out.contains("No sheet was written") && ran.out.contains("--new-sheet"), "{}", ran.out);
    std::fs::create_dir(folder.path("sub")).expect("a folder");
    let elsewhere = folder.fit(&["@survey.csv", "--new-sheet", "@sub/engine.toml"]);
    assert_eq!(elsewhere.exit, Exit::Pass, "{}", elsewhere.err);
    // A sheet names its readings as seen from its own folder.
    let sheet = crate::sheet::read(folder.path("sub/engine.toml").as_ref()).expect("a sheet");
    assert!(sheet.text().contains(&folder.path("survey.csv")), "{}", sheet.text());
}

#[test]
fn with_a_sheet_found_is_added_and_the_chosen_curve_is_judged() {
    let folder = Folder::new();
    folder.write("engine.toml", demo_text());
    let ran = folder.fit(&["@survey.csv", "--sheet", "@engine.toml"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    assert!(folder.read("engine.toml").starts_with(demo_text()));
    insta::assert_snapshot!("fit_into_the_demo_sheet", without_figures(&ran.out));
    let written = folder.read("engine.toml");
    let again = folder.fit(&["@survey.csv", "--sheet", "@engine.toml"]);
    assert!(again.out.contains("says this already"), "{}", again.out);
    assert_eq!(folder.read("engine.toml"), written);
}

#[test]
fn choosing_tells_what_it_replaced() {
    let folder = Folder::new();
    folder.write("engine.toml", demo_text());
    let ran = folder.fit(&["@survey.csv", "--sheet", "@engine.toml", "--choose", "found"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    assert!(ran.out.contains("in place of \"8 crank degrees\""), "{}", ran.out);
    assert!(ran.out.contains("in place of [[900, 0], [1700, 12], [3300, 20]]"), "{}", ran.out);
    let refused = folder.fit(&["@survey.csv", "--sheet", "@engine.toml", "--choose", "specified"]);
    assert_eq!((refused.exit, refused.out.as_str()), (Exit::WrongInput, ""));
    assert!(refused.err.contains("no `[specified]`"), "{}", refused.err);
}

/// A book in the distributor's units is judged by, shown beside the others, and copied over as it is written.
#[test]
fn a_book_in_distributor_units_stands_beside_and_is_chosen() {
    let folder = Folder::new();
    // 900, 1 700 and 3 300 crank rpm; 12 and 20 crank degrees.
    let book = "\n[specified.advance]\ninitial = \"4 distributor degrees\"\n\n[specified.centrifugal]\nunit = [\"distributor rpm\", \
                \"distributor degrees\"]\nbreakpoints = [[450, 0], [850, 6], [1650, 10]]\nbreakpoints_interval = [[[400, 500], [0, 0]], \
                [[850, 850], [5.5, 6.5]], [[1650, 1650], [9, 11]]]\n";
    folder.write("engine.toml", &format!("{}{book}", demo_text()));
    let ran =
        folder.fit(&["@survey.csv", "--sheet", "@engine.toml", "--choose", "specified", "--json", "@result.json"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    let row = ran.out.lines().find(|line| line.contains("centrifugal at 1 700 crank rpm")).expect("a row");
    let cells: Vec<&str> = row.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
    assert_eq!(cells[2..], ["12.0", "12.0"], "{row}");
    assert!(ran.out.contains("The specified curve was chosen because you asked for it"), "{}", ran.out);
    assert!(ran.said().contains("the springs are not weak"), "{}", ran.out);
    assert!(folder.read("engine.toml").contains("initial = \"4 distributor degrees\"\ncranking"), "copied as written");
    let json: serde_json::Value = serde_json::from_str(&folder.read("result.json")).expect("JSON");
    let findings = json["findings"].as_array().expect("a list");
    assert!(findings.iter().any(|one| one["subject"] == "weak_springs" && one["answer"] == "sound"), "{findings:?}");
}

#[test]
fn a_chosen_curve_that_departs_from_the_readings_or_breaks_a_limit_is_said() {
    let folder = Folder::new();
    let advanced = demo_text().replacen("initial = \"8", "initial = \"11", 1);
    folder.write("engine.toml", &advanced.replacen("[12, 10]", "[12, 5]", 1));
    let ran = folder.fit(&["@survey.csv", "--sheet", "@engine.toml"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    let said = |text: &str| assert!(ran.said().contains(text), "{text}: {}", ran.out);
    said("the chosen curve without vacuum departs from the readings");
    said("earlier than the readings'");
    said("the chosen vacuum curve departs from the readings");
    said("later than the readings'");
    said("greatest advance without vacuum: BROKEN by 1 crank degrees (31, and 30 is allowed, at 3 300 crank rpm)");
}

#[test]
fn the_result_for_programs_goes_where_it_was_asked_for() {
    let folder = Folder::new();
    folder.write("engine.toml", demo_text());
    let ran = folder.fit(&["@survey.csv", "--sheet", "@engine.toml", "--json", "@result.json"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    assert!(ran.out.contains("Initial timing"));
    let json: serde_json::Value = serde_json::from_str(&folder.read("result.json")).expect("JSON");
    assert_eq!(json["schema"], "bobweight-fit/1");
    assert!((json["initial_crank_degrees"]["value"].as_f64().expect("a number") - 8.0).abs() < 0.5);
    let ran = folder.fit(&["@survey.csv", "--sheet", "@engine.toml", "--json", "-"]);
    let printed: serde_json::Value = serde_json::from_str(&ran.out).expect("nothing but JSON");
    assert_eq!(printed["centrifugal"], json["centrifugal"]);
    assert!(ran.err.contains("Initial timing"));
}

#[test]
fn a_place_that_takes_no_result_is_told_before_the_work() {
    let folder = Folder::new();
    let ran = folder.fit(&["@survey.csv", "--json", "@no-such-folder/result.json"]);
    assert_eq!((ran.exit, ran.out.as_str()), (Exit::NotWritten, ""));
    assert!(ran.err.contains("the result cannot be written"), "{}", ran.err);
    assert_eq!(folder.names(), ["survey.csv"], "nothing was written");
}

#[test]
fn wrong_input_leaves_everything_as_it_was() {
    let folder = Folder::new();
    folder.write("engine.toml", &demo_text().replacen("idle =", "idel =", 1));
    folder.write("few.csv", "hose,speed_was,crank_rpm,crank_degrees\noff,rising,900,8\n");
    for (arguments, says) in [
        (["@none.csv"].as_slice(), "none.csv"),
        (&["@few.csv"], "hose off"),
        (&["@survey.csv", "--sheet", "@engine.toml"], "the nearest known key is `idle`"),
        (&["@survey.csv", "--sheet", "@none.toml"], "no such file"),
        (&["@survey.csv", "--scatter", "9"], "0.05 to 5 crank degrees"),
    ] {
        let ran = folder.fit(arguments);
        assert_eq!((ran.exit, ran.out.as_str()), (Exit::WrongInput, ""), "{arguments:?}");
        assert!(ran.err.contains(says) && ran.err.contains("help:"), "{arguments:?}: {}", ran.err);
    }
    assert_eq!(folder.names(), ["engine.toml", "few.csv", "survey.csv"]);
}
