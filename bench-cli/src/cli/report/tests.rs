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
        "28.0 crank degrees BTDC at 3 300 crank rpm and above",
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
    assert!(with_card.told().contains("or has changed since"), "{}", with_card.err);
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

/// The words of a page: without its marks, each run of blanks one.
pub(super) fn words_of(page: &str) -> String {
    let mut words = String::new();
    let mut in_mark = false;
    for letter in page.chars() {
        match letter {
            '<' => in_mark = true,
            '>' => {
                in_mark = false;
                words.push(' ');
            }
            _ if in_mark => {}
            _ => words.push(letter),
        }
    }
    let plain = words.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&#39;", "'");
    plain.replace("&amp;", "&").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every text of a result that is a sentence and no name: four words and more.
fn sentences(value: &serde_json::Value, found: &mut Vec<String>) {
    match value {
        serde_json::Value::String(text) if text.split_whitespace().count() >= 4 => {
            found.push(text.split_whitespace().collect::<Vec<_>>().join(" "));
        }
        serde_json::Value::Array(list) => list.iter().for_each(|value| sentences(value, found)),
        serde_json::Value::Object(keys) => keys.values().for_each(|value| sentences(value, found)),
        _ => {}
    }
}

/// The demo in a folder with its readings and with light readings that are late, its text changed.
pub(super) fn sheet_with(folder: &Path, changes: &[(&str, &str)]) -> String {
    let mut text = demo_text().to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replacen(old, new, 1);
    }
    let readings = include_str!("../../../demo/fire-float-readings.csv");
    std::fs::write(folder.join("fire-float-readings.csv"), readings).expect("readings");
    let light = "# light_lag = 30.25 us\nhose,speed_was,crank_rpm,crank_degrees,vacuum_inHg\noff,rising,640,6,\noff,steady,655,7,\n\
                 off,rising,1300,12,\noff,rising,2500,22,\noff,rising,3800,25,\non,falling,2000,30,13\n";
    std::fs::write(folder.join("light.csv"), light).expect("readings");
    let trials = include_str!("../../../demo/fire-float-trials.csv");
    std::fs::write(folder.join("trials.csv"), trials).expect("trials");
    // At a speed at which nobody hears it pink, and with a trial at which it was heard all the same.
    let pinked = trials.replacen("2000 crank rpm", "3300 crank rpm", 1).replacen("27.5,817,no", "27.5,817,yes", 1);
    std::fs::write(folder.join("pinked.csv"), pinked).expect("trials");
    let sheet = folder.join("engine.toml");
    std::fs::write(&sheet, text).expect("a sheet");
    sheet.display().to_string()
}

/// Saves a result in the folder, by its command line; gives the file and what was said.
pub(super) fn save(folder: &Path, name: &str, command: &[&str]) -> (String, crate::cli::tests::Ran) {
    let json = folder.join(name).display().to_string();
    let ran = bobweight(folder, &[command, &["--json", &json]].concat());
    assert!(Path::new(&json).exists(), "{command:?}: {}{}", ran.out, ran.err);
    (json, ran)
}

fn page_of(folder: &Path, results: &[&str]) -> String {
    let out = folder.join("page.html").display().to_string();
    let ran = bobweight(folder, &[&["report"], results, &["--out", &out]].concat());
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    std::fs::read_to_string(&out).expect("a page")
}

#[test]
fn every_sentence_of_a_result_of_every_command_is_on_the_page() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let readings = folder.join("fire-float-readings.csv").display().to_string();
    let [light, trials, pinked] =
        ["light.csv", "trials.csv", "pinked.csv"].map(|name| folder.join(name).display().to_string());
    let changed: &[(&str, &str)] = &[(
        "[tolerance]",
        "[changed]\ncompression = [\"6.4 to 1\", \"7.4 to 1\"]\nalcohol = [\"0 %\", \"10 %\"]\nplug = \"further from the middle\"\n\
         octane = [\"91 RON\", \"95 RON\"]\n\n[tolerance]",
    )];
    // What makes them talk: an unfinished coil and rotor, advice, a curve that breaks its limits, a place far up.
    let talks: &[(&str, &str)] = &[
        ("initial = \"8 crank degrees\"", "initial = \"11 crank degrees\""),
        ("cranking_below", "cranking_below"),
        ("highest_place = \"600 m\"", "highest_place = \"3000 m\""),
        ("rotor_tip_width = ", "# rotor_tip_width = "),
    ];
    let broken: &[(&str, &str)] = &[("greatest = \"42", "greatest = \"37"), ("lag = \"0 us\"", "lag = \"120 us\"")];
    let unfinished: &[(&str, &str)] = &[("dwell = [[", "# dwell = [["), ("firing_order", "# firing_order")];
    let faults =
        "lag=150 us, scatter=0.3 crank degrees, lose=1/400, vacuum=80 %, pulse=2 crank degrees late, dwell=1.5 ms";
    let mut seen = 0;
    for (at, (changes, command)) in [
        (&[][..], &["bench"][..]),
        (&[], &["bench", "--simulate", faults]),
        (&[("least_energy = \"30 mJ\"", "")], &["bench", "--simulate", "pickup=1.5 crank degrees early"]),
        (broken, &["bench"]),
        (&[], &["light", "--readings", &light, "--acknowledge-cautions"]),
        (&[], &["figures"]),
        (talks, &["figures"]),
        (talks, &["figures", "--altitude", "2500 m"]),
        (&[], &["figures", "--full-throttle", "30 crank degrees"]),
        (unfinished, &["figures"]),
        (&[], &["check"]),
        (talks, &["check"]),
        (broken, &["check"]),
        (unfinished, &["check"]),
        (&[], &["trials", "--trials", &trials, "--acknowledge-cautions"]),
        (changed, &["trials", "--trials", &trials, "--acknowledge-cautions"]),
        (changed, &["trials", "--trials", &pinked, "--acknowledge-cautions"]),
    ]
    .into_iter()
    .enumerate()
    {
        let sheet = sheet_with(folder, changes);
        let (json, _) = save(folder, &format!("{at}.json"), &[&command[..1], &[&sheet], &command[1..]].concat());
        seen += all_of_it_is_there(folder, &json);
    }
    sheet_with(folder, &[]);
    let (json, _) = save(folder, "fit.json", &["fit", &readings]);
    seen += all_of_it_is_there(folder, &json);
    let read = ["coil", "--resistance", "1.7 ohm", "--leads", "0.2 ohm"];
    let circuit = [
        "--supply",
        "12.3 V",
        "--across-coil",
        "6.2 V",
        "--inductance",
        "7 mH",
        "--driver-drop",
        "1 V",
        "--energy",
        "40 mJ",
    ];
    for (name, options) in [("coil.json", &circuit[..]), ("half.json", &["--ballast", "1.4 ohm"])] {
        let (json, _) = save(folder, name, &[&read[..], options].concat());
        seen += all_of_it_is_there(folder, &json);
    }
    assert!(seen > 165, "{seen} sentences");
}

/// How many sentences of a result were looked for; each is on the page.
fn all_of_it_is_there(folder: &Path, json: &str) -> usize {
    let page = words_of(&page_of(folder, &[json]));
    let text = std::fs::read_to_string(json).expect("a result");
    let mut wanted = Vec::new();
    sentences(&serde_json::from_str(&text).expect("JSON"), &mut wanted);
    for sentence in &wanted {
        assert!(page.contains(sentence), "{json}: {sentence:?} is not on the page");
    }
    wanted.len()
}

#[test]
fn the_curve_in_an_ignition_has_its_page() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let path = sheet_with(folder, &[]);
    let sheet = crate::sheet::read(Path::new(&path)).expect("a sheet");
    let settings = crate::sheet::Settings::from_sheet(&sheet).expect("settings");
    let curve =
        crate::record::ignition::Curve::of(&crate::sheet::engine_settings(&sheet, &settings).expect("settings"));
    let mut result = crate::record::ignition::IgnitionResult::new("the ignition at /dev/ttyUSB0");
    result.sheet = Some(crate::record::sheet::SheetIdentity::of(&sheet).expect("a name"));
    result.now = Some(curve.clone());
    let json = folder.join("read.json").display().to_string();
    for (differs_in, says) in [
        (None, "the ignition at /dev/ttyUSB0"),
        (Some(Vec::new()), "it is the curve of "),
        (Some(vec!["coil".to_owned()]), "it is NOT the curve of "),
    ] {
        result.differs_in = differs_in;
        std::fs::write(&json, serde_json::to_string(&result).expect("JSON")).expect("a file");
        let page = words_of(&page_of(folder, &[&json]));
        assert!(page.contains(says) && page.contains(&curve.checksum), "{says}");
        all_of_it_is_there(folder, &json);
    }
}

#[test]
fn a_vacuum_curve_of_three_breakpoints_is_drawn_with_its_bend() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let sheet = sheet_with(folder, &[("breakpoints = [[5, 0], [12, 10]]", "breakpoints = [[5, 0], [7, 8], [12, 10]]")]);
    let (json, _) = save(folder, "bench.json", &["bench", &sheet]);
    let page = page_of(folder, &[&json]);
    let chart = page.split_once("id=\"vacuum-title\"").expect("its chart").1.split_once("</svg>").expect("its end").0;
    // 5, 7 and 12 inHg, at 3.386389 kPa each (NIST SP 811, from memory).
    let wanted = "Wanted: 0.0 at 0.0 kPa depression, 0.0 at 16.9 kPa depression, 8.0 at 23.7 kPa depression, 10.0 at 40.6 kPa depression";
    assert!(chart.contains(wanted), "{chart}");
    let points = chart.split_once("<polyline points=\"").expect("its line").1.split_once('"').expect("its end").0;
    let points: Vec<(f64, f64)> = points
        .split(' ')
        .map(|point| point.split_once(',').expect("two numbers"))
        .map(|(x, y)| (x.parse().expect("a number"), y.parse().expect("a number")))
        .collect();
    let [start, first, bend, last] = points.as_slice() else { panic!("{points:?}") };
    let slope = |a: &(f64, f64), b: &(f64, f64)| (a.1 - b.1) / (b.0 - a.0);
    assert!(slope(start, first).abs() < 1e-3);
    // 8 of 2 inHg, then 2 of 5: ten times as steep before the bend as behind it.
    assert!((slope(first, bend) / slope(bend, last) - 10.0).abs() < 0.1, "{points:?}");
    // A result that does not know the breakpoints draws no line rather than another.
    let mut older: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(&json).expect("a result")).expect("JSON");
    older["settings"].as_object_mut().expect("settings").remove("vacuum_breakpoints");
    std::fs::write(&json, older.to_string()).expect("a file");
    let page = page_of(folder, &[&json]);
    let chart = page.split_once("id=\"vacuum-title\"").expect("its chart").1.split_once("</svg>").expect("its end").0;
    assert!(!chart.contains("polyline"), "{chart}");
}

/// Numbers of a text that a person should not see: a nought with a side, more digits than anybody can read off or set.
fn odd_numbers(text: &str) -> Vec<String> {
    let number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-');
    let odd = |word: &&str| {
        let size = word.trim_start_matches('-').trim_end_matches(['.', '-']);
        let nought = word.starts_with('-') && size.chars().all(|c| matches!(c, '0' | '.')) && size.contains('0');
        let places = size.split_once('.').map_or(0, |(_, places)| places.len());
        nought || places > 4
    };
    text.split(|c: char| !number(c)).filter(|word| word.parse::<f64>().is_ok()).filter(odd).map(str::to_owned).collect()
}

#[test]
fn no_text_shows_a_nought_with_a_side_or_the_tail_of_a_conversion() {
    assert_eq!(
        odd_numbers("-0.00 177.79999999999998 mm, -0 -1.50 0.0004 12. 2026-11-27"),
        ["-0.00", "177.79999999999998", "-0"]
    );
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let tape = folder.join("tape.svg").display().to_string();
    let mut said = vec![bobweight(
        folder,
        &[
            "tape",
            "--diameter",
            "7 in",
            "--from",
            "10.0 crank degrees ATDC",
            "--to",
            "50 crank degrees BTDC",
            "--rotation",
            "clockwise",
            "--on",
            "pulley",
            "--out",
            &tape,
        ],
    )];
    // In units whose conversion leaves a tail.
    let awkward: &[(&str, &str)] = &[
        ("[engine]\n", "[engine]\ndisplacement = \"134.3 cubic in\"\n"),
        ("displacement = \"2.2 l\"", "# displacement = \"2.2 l\""),
        ("bench = \"0.5 crank degrees\"", "bench = \"0.23 distributor degrees\""),
        ("light = \"2 crank degrees\"", "light = \"1.15 distributor degrees\""),
        ("cranking = \"8 crank degrees\"", "cranking = \"4.15 distributor degrees\""),
        ("second_flank_angle = \"8 crank degrees BTDC\"", "second_flank_angle = \"4.15 distributor degrees BTDC\""),
        ("least_energy = \"30 mJ\"", "least_energy = \"0.0333 J\""),
        ("least = \"0 crank degrees\"", "least = \"-5 crank degrees\""),
        ("initial = \"8 crank degrees\"", "initial = \"-0.002 crank degrees\""),
        ("held = \"8 crank degrees\"", "held = \"-0.002 crank degrees\""),
        ("breakpoints = [[5, 0], [12, 10]]", "breakpoints = [[5.1, 0], [7.3, 8.3], [12.7, 10.1]]"),
    ];
    let sheet = sheet_with(folder, awkward);
    let light = folder.join("light.csv").display().to_string();
    let readings = folder.join("fire-float-readings.csv").display().to_string();
    let trials = folder.join("trials.csv").display().to_string();
    let faults = "pickup=0.003 crank degrees late, scatter=0.01 crank degrees";
    let mut results = Vec::new();
    for (at, command) in [
        &["bench", &sheet][..],
        &["bench", &sheet, "--simulate", faults, "--battery", "11.7 V"],
        &["light", &sheet, "--readings", &light, "--acknowledge-cautions"],
        &["figures", &sheet],
        &["figures", &sheet, "--altitude", "1234.5 m"],
        &["check", &sheet],
        &["trials", &sheet, "--trials", &trials, "--acknowledge-cautions"],
        &["fit", &readings],
    ]
    .into_iter()
    .enumerate()
    {
        let (json, ran) = save(folder, &format!("{at}.json"), command);
        results.push(json);
        said.push(ran);
    }
    said.push(bobweight(
        folder,
        &[
            "export",
            &sheet,
            "--as",
            "csv",
            "--speeds",
            "500..2000 crank rpm by 333.3",
            "--depressions",
            "0..1.2 inHg depression by 0.1",
        ],
    ));
    said.push(bobweight(folder, &["figures", &sheet, "--first-start"]));
    // Refusals, with the number that is refused.
    for wrong in [
        ("idle = \"650 crank rpm\"", "idle = \"2300.15 distributor rpm\""),
        ("greatest_without_vacuum = \"30 crank degrees\"", "greatest_without_vacuum = \"23.15 distributor degrees\""),
        ("least_energy = \"0.0333 J\"", "least_energy = \"0.1235 J\""),
        ("angle = \"60 crank degrees BTDC\"", "angle = \"1.15 distributor degrees BTDC\""),
    ] {
        let text = std::fs::read_to_string(&sheet).expect("a sheet");
        let changed = text.replacen(wrong.0, wrong.1, 1);
        assert_ne!(changed, text, "{wrong:?}");
        let path = folder.join("wrong.toml");
        std::fs::write(&path, changed).expect("a sheet");
        said.push(bobweight(folder, &["check", &path.display().to_string()]));
    }
    for ran in &said {
        for text in [&ran.out, &ran.err] {
            assert_eq!(odd_numbers(text), [""; 0], "{text}");
        }
    }
    let results: Vec<&str> = results.iter().map(String::as_str).collect();
    let page = words_of(&page_of(folder, &results));
    assert_eq!(odd_numbers(&page), [""; 0], "{page}");
    assert!(std::fs::read_to_string(&tape).expect("a tape").contains("diameter 177.8 mm"));
}

#[test]
fn a_stale_proof_by_light_stands_in_the_headline_and_proves_no_card() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let path = sheet_with(folder, &[]);
    let readings: Vec<String> = (0..4)
        .flat_map(|_| [(650, 8), (1300, 14), (2500, 24), (3800, 28)])
        .map(|(rpm, degrees)| format!("off,rising,{rpm},{degrees}\n"))
        .collect();
    let said = "# light_lag = 0 us\n# zero = true\nhose,speed_was,crank_rpm,crank_degrees\n";
    std::fs::write(folder.join("light.csv"), format!("{said}{}", readings.concat())).expect("readings");
    let light = folder.join("light.csv").display().to_string();
    let (proof, ran) = save(folder, "light.json", &["light", &path, "--readings", &light, "--acknowledge-cautions"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.out);
    let page_and_card = |results: &[&str]| {
        let out = folder.join("page.html").display().to_string();
        let ran = bobweight(folder, &[&["report"], results, &["--out", &out, "--card"]].concat());
        assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
        words_of(&std::fs::read_to_string(&out).expect("a page"))
    };
    let fresh = page_and_card(&[&proof]);
    assert!(!fresh.contains("STALE") && !fresh.contains("NOT PROVEN"), "{fresh}");
    sheet_with(folder, &[("greatest = \"42", "greatest = \"41")]);
    let (check, _) = save(folder, "check.json", &["check", &path]);
    let stale = page_and_card(&[&proof, &check]);
    assert!(stale.contains("STALE: the settings of ") && stale.contains("NOT PROVEN"), "{stale}");
    assert!(stale.contains("It said: Pass: by the timing light") && stale.contains("`bobweight light "), "{stale}");
}
