use crate::cli::exit::Exit;
use crate::cli::tests::bobweight;
use crate::sheet::tests::demo_text;
use std::path::Path;

/// A bench and a check of a sheet with this name, saved in the folder.
fn results(folder: &Path, name: &str) -> [String; 2] {
    let sheet = folder.join("engine.toml");
    let text = demo_text().replacen("name = \"pump engine of the fire float\"", &format!("name = {name}"), 1);
    let text = text.replacen("readings = \"fire-float-readings.csv\"", "", 1);
    std::fs::write(&sheet, text).expect("a sheet");
    let sheet = sheet.display().to_string();
    ["bench", "check"].map(|step| {
        let json = folder.join(format!("{step}.json")).display().to_string();
        assert_eq!(bobweight(folder, &[step, &sheet, "--json", &json]).exit, Exit::Pass);
        json
    })
}

#[test]
fn a_page_of_two_results_with_a_card_is_whole_and_fetches_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let [bench, check] = results(folder.path(), "\"<script>alert(1)</script> \\u001b[31mred \\u202egninrut\"");
    let out = folder.path().join("report.html").display().to_string();
    let ran = bobweight(folder.path(), &["report", &bench, &check, "--out", &out, "--card"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    let page = std::fs::read_to_string(&out).expect("a page");
    assert!(page.contains("&lt;script&gt;") && !page.contains("<script"));
    assert!(!page.contains(['\u{1b}', '\u{202e}']));
    for fetched in ["http:", "https:", "src=", "@import", "url("] {
        let found = page.replace("http://www.w3.org/2000/svg", "");
        assert!(!found.contains(fetched), "{fetched}");
    }
    for says in [
        "Pass in simulation only, no box was benched: the arithmetic follows the chosen curve; 78 of 78",
        "Card for the engine",
        "28.0 crank degrees BTDC at 3300 crank rpm and above",
        "What was not proven",
        "sha-256:",
    ] {
        assert!(page.contains(says), "{says}");
    }
    assert_eq!(page.matches("role=\"img\"").count(), 5);
    assert_eq!(page.matches("</title>").count(), 6);
}

#[test]
fn what_is_no_result_and_a_sheet_that_changed_are_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let [bench, _] = results(folder.path(), "\"an engine\"");
    let out = folder.path().join("report.html").display().to_string();
    let sheet = folder.path().join("engine.toml");
    let text = std::fs::read_to_string(&sheet).expect("a sheet");
    std::fs::write(&sheet, format!("{text}\n# a word more\n")).expect("a sheet");
    let commented = bobweight(folder.path(), &["report", &bench, "--out", &out, "--card"]);
    assert_eq!((commented.exit, commented.err.as_str()), (Exit::Pass, ""));
    std::fs::write(&sheet, text.replacen("greatest = \"42 ", "greatest = \"41 ", 1)).expect("a sheet");
    let with_card = bobweight(folder.path(), &["report", &bench, "--out", &out, "--card"]);
    assert_eq!(with_card.exit, Exit::WrongInput);
    assert!(with_card.err.contains("has changed since"), "{}", with_card.err);
    let without = bobweight(folder.path(), &["report", &bench, "--out", &out]);
    assert_eq!(without.exit, Exit::Pass);
    assert!(without.err.contains("bench.json is STALE"), "{}", without.err);
    let page = std::fs::read_to_string(&out).expect("a page");
    let headline = page.lines().find(|line| line.contains("class=\"verdict\"")).expect("a headline");
    assert!(
        headline.contains("STALE: the settings of ") && headline.contains("have changed since it was made"),
        "{headline}"
    );
    let next = page.split_once("What to do next").expect("its heading").1.split_once("Cautions").expect("the next").0;
    assert!(next.contains("--json") && next.contains("again") && !next.contains("first-start"), "{next}");
    std::fs::remove_file(&sheet).expect("it was there");
    assert_eq!(bobweight(folder.path(), &["report", &bench, "--out", &out]).exit, Exit::Pass);
    let page = std::fs::read_to_string(&out).expect("a page");
    assert!(page.contains("have changed since cannot be told"));
    let edited = std::fs::read_to_string(folder.path().join("bench.json")).expect("a result");
    let edited = edited.replacen("\"verdict\": \"pass\"", "\"verdict\": \"fail\"", 1);
    std::fs::write(folder.path().join("edited.json"), edited).expect("a file");
    let edited = folder.path().join("edited.json").display().to_string();
    let ran = bobweight(folder.path(), &["report", &edited, "--out", &out]);
    assert_eq!(ran.exit, Exit::WrongInput);
    assert!(ran.err.contains("edited.json: it contradicts itself"), "{}", ran.err);
    for (text, says) in
        [("{}", "no result of bobweight"), ("[", "not JSON"), ("{\"schema\": \"bobweight-light/7\"}", "marked")]
    {
        std::fs::write(folder.path().join("odd.json"), text).expect("a file");
        let odd = folder.path().join("odd.json").display().to_string();
        let ran = bobweight(folder.path(), &["report", &odd, "--out", &out]);
        assert_eq!(ran.exit, Exit::WrongInput);
        assert!(ran.err.contains(says), "{}", ran.err);
    }
}
