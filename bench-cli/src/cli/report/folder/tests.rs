use crate::cli::exit::Exit;
use crate::cli::report::tests::{save, sheet_with, words_of};
use crate::cli::tests::{Ran, bobweight};
use serde_json::Value;
use std::path::Path;

/// The demo's folder with a result of every command whose result the pictures show.
fn whole(folder: &Path) {
    let sheet = sheet_with(folder, &[]);
    let readings = folder.join("fire-float-readings.csv").display().to_string();
    let light = folder.join("light.csv").display().to_string();
    std::fs::remove_file(folder.join("trials.csv")).expect("a file");
    std::fs::remove_file(folder.join("pinked.csv")).expect("a file");
    save(folder, "fit.json", &["fit", &readings]);
    save(folder, "figures.json", &["figures", &sheet]);
    save(folder, "check.json", &["check", &sheet]);
    save(folder, "bench.json", &["bench", &sheet]);
    save(folder, "light.json", &["light", &sheet, "--readings", &light, "--acknowledge-cautions"]);
}

fn report(folder: &Path, more: &[&str]) -> (Ran, String) {
    let out = folder.join("file.html").display().to_string();
    let ran = bobweight(folder, &[&["report", &folder.display().to_string(), "--out", &out], more].concat());
    (ran, std::fs::read_to_string(&out).unwrap_or_default())
}

fn page_of(folder: &Path) -> String {
    let (ran, page) = report(folder, &[]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    page
}

fn saved(folder: &Path, name: &str) -> Value {
    serde_json::from_str(&std::fs::read_to_string(folder.join(name)).expect("a result")).expect("JSON")
}

/// The element of a picture.
fn picture<'a>(page: &'a str, id: &str) -> &'a str {
    let from = page.find(&format!("id=\"{id}-title\"")).unwrap_or_else(|| panic!("no picture {id}"));
    let start = page[..from].rfind("<svg").expect("its element");
    &page[start..start + page[start..].find("</svg>").expect("its end")]
}

/// An attribute of an element.
fn attribute<'a>(element: &'a str, name: &str) -> &'a str {
    let (_, rest) = element.split_once(&format!(" {name}=\"")).unwrap_or_else(|| panic!("no {name} in {element}"));
    rest.split_once('"').expect("its end").0
}

fn number_of(element: &str, name: &str) -> f64 {
    attribute(element, name).parse().expect("a number")
}

/// Every element of a name.
fn elements<'a>(svg: &'a str, name: &str) -> Vec<&'a str> {
    svg.lines().filter(|line| line.starts_with(&format!("<{name} "))).collect()
}

fn points(element: &str) -> Vec<[f64; 2]> {
    let pair = |pair: &str| {
        let (x, y) = pair.split_once(',').expect("two numbers");
        [x.parse().expect("a number"), y.parse().expect("a number")]
    };
    attribute(element, "points").split(' ').map(pair).collect()
}

/// A chart read as a person reads it: by the figures at its axes.
struct Read {
    x: [f64; 2],
    y: [f64; 2],
}

impl Read {
    fn of(svg: &str) -> Self {
        let figures = |anchor: &str, axis: &str, across: &str| -> Vec<(f64, f64, f64)> {
            let texts = elements(svg, "text").into_iter();
            let texts = texts.filter(|text| attribute(text, "text-anchor") == anchor && !text.contains("transform"));
            texts
                .filter_map(|text| {
                    let words = text.split_once('>')?.1.split_once('<')?.0.replace(' ', "");
                    Some((number_of(text, axis), words.parse().ok()?, number_of(text, across)))
                })
                .collect()
        };
        let line = |figures: Vec<(f64, f64, f64)>| {
            let (first, last) = (figures.first().expect("a figure"), figures.last().expect("a figure"));
            let scale = (last.1 - first.1) / (last.0 - first.0);
            [first.1 - scale * first.0, scale]
        };
        // The lowest row of figures is the axis; another one may stand above the chart.
        let mut below = figures("middle", "x", "y");
        let lowest = below.iter().map(|figure| figure.2).fold(0.0, f64::max);
        below.retain(|figure| (figure.2 - lowest).abs() < 1.0);
        // The base line of a figure lies 4 below the line that it belongs to.
        let beside = figures("end", "y", "x").into_iter().map(|(at, value, across)| (at - 4.0, value, across));
        Self { x: line(below), y: line(beside.collect()) }
    }

    fn at(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [self.x[0] + self.x[1] * x, self.y[0] + self.y[1] * y]
    }

    /// The points of the line of a class.
    fn line(&self, svg: &str, class: &str) -> Vec<[f64; 2]> {
        let line = elements(svg, "polyline").into_iter().find(|line| attribute(line, "class") == class);
        points(line.unwrap_or_else(|| panic!("no line of {class}"))).into_iter().map(|at| self.at(at)).collect()
    }

    /// The middles of the marks.
    fn marks(&self, svg: &str) -> Vec<[f64; 2]> {
        let marks = elements(svg, "polygon").into_iter().filter(|mark| attribute(mark, "class").starts_with("mark"));
        marks
            .map(|mark| {
                let corners = points(mark);
                // A triangle's middle in height is not its corners' mean: its base is 3.4 off, its tip 5.
                let mean = |axis: usize| {
                    let (low, high) = corners.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
                        (low.min(at[axis]), high.max(at[axis]))
                    });
                    (low, high)
                };
                let ((left, right), (top, bottom)) = (mean(0), mean(1));
                let tip_is_up = corners.iter().filter(|at| (at[1] - bottom).abs() < 0.01).count() == 2;
                let height = match (corners.len(), tip_is_up) {
                    (3, true) => top + 5.0,
                    (3, false) => bottom - 5.0,
                    _ => f64::midpoint(top, bottom),
                };
                self.at([f64::midpoint(left, right), height])
            })
            .collect()
    }
}

fn near(a: f64, b: f64, by: f64) -> bool {
    (a - b).abs() <= by
}

#[test]
fn the_pictures_stand_in_their_order_and_the_same_folder_gives_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    whole(folder);
    let (ran, page) = report(folder, &["--card"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    let ids = ["timing", "vacuum-curves", "bench-errors", "cap", "sparks", "pulley", "pickup", "hoses", "coil"];
    let places: Vec<usize> = ids
        .iter()
        .map(|id| page.find(&format!("id=\"{id}-title\"")).unwrap_or_else(|| panic!("no picture {id}")))
        .collect();
    assert!(places.is_sorted(), "{places:?}");
    for svg in ids.map(|id| picture(&page, id)) {
        assert!(svg.contains("role=\"img\"") && svg.contains("<title id=") && svg.contains("<desc id="));
    }
    let mut names: Vec<&str> =
        page.split(" id=\"").skip(1).map(|rest| rest.split('"').next().expect("a name")).collect();
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count, "a name stands twice");
    assert!(page.contains("Card for the engine") && !page.contains("OF ANOTHER STATE"));
    assert_eq!(report(folder, &["--card"]).1, page);
}

/// Source: the demo's sheet and its readings, as they are written there: 8 crank degrees, and 12 and 20 more; 10 by vacuum.
#[test]
fn the_curves_and_readings_of_the_pictures_are_those_of_the_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    whole(folder);
    let page = page_of(folder);
    let svg = picture(&page, "timing");
    let read = Read::of(svg);
    let chosen = read.line(svg, "line chosen");
    let wanted = [[450.0, 8.0], [900.0, 8.0], [1700.0, 20.0], [3300.0, 28.0], [4600.0, 28.0]];
    assert_eq!(chosen.len(), wanted.len());
    for ([x, y], [rpm, degrees]) in chosen.iter().zip(wanted) {
        assert!(near(*x, rpm, 2.0) && near(*y, degrees, 0.02), "{x}, {y}: {rpm}, {degrees}");
    }
    let fit = saved(folder, "fit.json");
    let found = read.line(svg, "line found");
    let initial = fit["initial_crank_degrees"]["value"].as_f64().expect("a number");
    for bend in fit["centrifugal"].as_array().expect("a list") {
        let at = |what: &str| bend[what]["value"].as_f64().expect("a number");
        let [rpm, degrees] = [at("crank_rpm"), initial + at("crank_degrees")];
        assert!(
            found.iter().any(|[x, y]| near(*x, rpm, 3.0) && near(*y, degrees, 0.03)),
            "{rpm}, {degrees}: {found:?}"
        );
    }
    let marks = read.marks(svg);
    let text = include_str!("../../../../demo/fire-float-readings.csv");
    let mut off = 0;
    for line in text.lines().filter(|line| line.starts_with("off,")) {
        let cells: Vec<&str> = line.split(',').collect();
        let [rpm, degrees] = [2, 3].map(|at: usize| cells[at].parse::<f64>().expect("a number"));
        assert!(marks.iter().any(|[x, y]| near(*x, rpm, 3.0) && near(*y, degrees, 0.05)), "{line}: {marks:?}");
        off += 1;
    }
    // The key shows three more.
    assert_eq!(marks.len(), off + 3);
    let svg = picture(&page, "vacuum-curves");
    let read = Read::of(svg);
    // 5 and 12 inHg, at 3.386389 kPa each (NIST SP 811, from memory).
    let chosen = read.line(svg, "line chosen");
    for [kpa, degrees] in [[16.93, 0.0], [40.64, 10.0]] {
        assert!(chosen.iter().any(|[x, y]| near(*x, kpa, 0.05) && near(*y, degrees, 0.02)), "{chosen:?}");
    }
}

#[test]
fn the_figures_of_the_pictures_are_those_of_the_results() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    whole(folder);
    let page = page_of(folder);
    let list = |value: &Value| value.as_array().expect("a list").clone();
    let number = |value: &Value| value.as_f64().expect("a number");
    // The bench: one mark for each settled test point, where it was measured.
    let svg = picture(&page, "bench-errors");
    let marks = Read::of(svg).marks(svg);
    let bench = saved(folder, "bench.json");
    let test_points = list(&bench["test_points"]);
    assert_eq!(marks.len(), test_points.len());
    for ([x, y], point) in marks.iter().zip(&test_points) {
        let [rpm, error] = [number(&point["speed_crank_rpm"]), number(&point["mean_error_crank_degrees_early"])];
        assert!(near(*x, rpm, 10.0) && near(*y, error, 0.002), "{x}, {y}: {rpm}, {error}");
    }
    // Every spark: its bar, by the figures above the bars, and its row.
    let svg = picture(&page, "sparks");
    let figures: Vec<(f64, f64)> = elements(svg, "text")
        .into_iter()
        .filter(|text| attribute(text, "text-anchor") == "middle")
        .filter_map(|text| {
            let words = text.split_once('>')?.1.split_once('<')?.0;
            Some((number_of(text, "x"), if words == "TDC" { 0.0 } else { words.parse().ok()? }))
        })
        .collect();
    let tdc = figures.iter().find(|figure| figure.1.abs() < 1e-9).expect("top dead centre").0;
    let first = figures[0];
    let scale = first.1 / (tdc - first.0);
    let bars: Vec<[f64; 2]> = elements(svg, "line")
        .into_iter()
        .filter(|line| ["range ordinary", "range odd"].contains(&attribute(line, "class")))
        .map(|line| ["x1", "x2"].map(|end| (tdc - number_of(line, end)) * scale))
        .collect();
    let check = saved(folder, "check.json");
    let rows = list(&check["sparks"]["rows"]);
    let bounded: Vec<&Value> =
        rows.iter().filter(|row| row["angles"].is_object() && row["angles"]["anywhere"] == false).collect();
    assert!(bars.len() == bounded.len() && bars.len() > 10, "{} bars", bars.len());
    let words = words_of(&page);
    for (bar, row) in bars.iter().zip(&bounded) {
        let ends = ["earliest_crank_degrees", "latest_crank_degrees"].map(|end| number(&row["angles"][end]));
        assert!(near(bar[0], ends[0], 0.01) && near(bar[1], ends[1], 0.01), "{row}: {bar:?}");
        let rotor = &row["angles"]["rotor"];
        let past = ["before_distributor_degrees", "past_distributor_degrees"].map(|end| number(&rotor[end]));
        let said = format!("{:.1} to {:.1}", -past[0], past[1]).replace("-0.0", "0.0");
        assert!(words.contains(&said), "{said}");
    }
    // The rotor and the coil.
    let figures = saved(folder, "figures.json");
    let rotor = &figures["rotor"]["known"];
    let said = format!("lined up at, crank degrees {:.1} BTDC", number(&rotor["line_up_crank_degrees"]));
    assert!(words.contains(&said), "{said}");
    let svg = picture(&page, "coil");
    let ends = Read::of(svg).marks(svg);
    let table = list(&figures["coil"]["known"]["table"]);
    for volts in [8.0, 12.0, 15.0] {
        let row = table.iter().find(|row| near(number(&row["volts"]), volts, 1e-6)).expect("a row");
        let [ms, amperes] = [number(&row["dwell_ms"]), number(&row["current_a"])];
        assert!(ends.iter().any(|[x, y]| near(*x, ms, 0.02) && near(*y, amperes, 0.01)), "{volts}: {ends:?}");
        assert!(words.contains(&format!("{volts} {ms:.2} {amperes:.2}")), "{volts} {ms:.2} {amperes:.2}");
    }
}

#[test]
fn what_is_not_there_is_said_with_the_command_that_gives_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let empty = report(folder.path(), &[]);
    assert_eq!(empty.0.exit, Exit::WrongInput);
    assert!(
        empty.0.told().contains("no sheet, no readings and no result") && empty.0.told().contains("bobweight survey")
    );
    // Readings alone.
    let readings = include_str!("../../../../demo/fire-float-readings.csv");
    std::fs::write(folder.path().join("old.csv"), readings).expect("readings");
    let page = page_of(folder.path());
    assert!(picture(&page, "timing").contains("line found") && !page.contains("class=\"line chosen\""));
    assert!(words_of(&page).contains("`bobweight fit old.csv --new-sheet engine.toml`"));
    // Two of them, and no sheet that says which counts.
    std::fs::write(folder.path().join("older.csv"), readings).expect("readings");
    let page = page_of(folder.path());
    assert!(
        words_of(&page).contains("Several readings lie here (old.csv, older.csv)") && !page.contains("timing-title")
    );
    // The sheet alone: it names readings that are not there.
    let folder = tempfile::tempdir().expect("a folder");
    let sheet = folder.path().join("engine.toml");
    std::fs::write(&sheet, include_str!("../../../../demo/fire-float.toml")).expect("a sheet");
    let words = words_of(&page_of(folder.path()));
    assert!(!words.contains(&folder.path().display().to_string()), "{words}");
    for says in [
        "The readings cannot be used",
        "the one that the sheet keeps; its readings are not here",
        "`bobweight bench engine.toml --json bench.json` makes a bench run",
        "keeps the limits of its sheet everywhere",
    ] {
        assert!(words.contains(says), "{says}: {words}");
    }
    // One that is begun: each picture says its key.
    let begun = crate::sheet::tests::demo_text()
        .replacen("resistance = ", "# resistance = ", 1)
        .replacen("angle = \"60", "# angle = \"60", 1)
        .replacen("source = \"manifold\"", "", 1)
        .replacen("readings = \"fire-float-readings.csv\"", "", 1);
    std::fs::write(&sheet, begun).expect("a sheet");
    std::fs::write(folder.path().join("old.csv"), readings).expect("readings");
    let page = page_of(folder.path());
    let words = words_of(&page);
    for says in ["`coil.resistance`", "`pickup.angle`", "`vacuum.source`", "write `readings = \"old.csv\"` into it"] {
        assert!(words.contains(says), "{says}: {words}");
    }
    for id in ["coil", "pickup", "hoses"] {
        assert!(!page.contains(&format!("id=\"{id}-title\"")), "{id}");
    }
}

#[test]
fn two_sheets_are_refused_by_name_and_one_is_chosen_by_the_option() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    whole(folder);
    let other = crate::sheet::tests::demo_text().replacen("greatest = \"42 ", "greatest = \"41 ", 1).replacen(
        "pump engine of the fire float",
        "the winch",
        1,
    );
    std::fs::write(folder.join("winch.toml"), other).expect("a sheet");
    let (ran, page) = report(folder, &[]);
    assert!(ran.exit == Exit::WrongInput && page.is_empty());
    assert!(ran.told().contains("2 sheets, engine.toml, winch.toml") && ran.told().contains("--sheet engine.toml"));
    let (ran, page) = report(folder, &["--sheet", "winch.toml"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    let words = words_of(&page);
    assert!(
        words.contains("bench.json: a bench run of the simulation")
            && words.contains("it is of another sheet, engine.toml")
    );
    assert!(!page.contains("bench-errors-title") && !words.contains("78 of 78"), "{words}");
    let (ran, page) = report(folder, &["--sheet", "engine.toml"]);
    assert!(ran.exit == Exit::Pass && words_of(&page).contains("winch.toml: another sheet; nothing of it is shown"));
    let (ran, _) = report(folder, &["--sheet", "pump.toml"]);
    assert!(ran.exit == Exit::WrongInput && ran.told().contains("there are engine.toml, winch.toml"), "{}", ran.err);
    let bench = folder.join("bench.json").display().to_string();
    let out = folder.join("file.html").display().to_string();
    let both = bobweight(folder, &["report", &folder.display().to_string(), &bench, "--out", &out]);
    assert!(both.exit == Exit::WrongInput && both.told().contains("a folder stands alone"));
    let none = bobweight(folder, &["report", &bench, "--out", &out, "--sheet", "engine.toml"]);
    assert!(none.exit == Exit::WrongInput && none.told().contains("this is none"));
}

#[test]
fn nothing_of_a_past_state_is_shown_as_of_the_present_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    whole(folder);
    // The readings and the light's readings go on, the sheet is changed to one that breaks its limits.
    let more = |name: &str, line: &str| {
        let path = folder.join(name);
        let text = std::fs::read_to_string(&path).expect("a file");
        std::fs::write(&path, format!("{text}{line}\n")).expect("a file");
    };
    more("light.csv", "off,rising,3800,25,");
    let (ran, page) = report(folder, &[]);
    assert!(
        ran.told().contains("light.json is of another state") && ran.told().contains("light.csv was changed since")
    );
    assert!(!page.contains("The timing light</h2>") && page.contains("bench-errors-title"));
    more("fire-float-readings.csv", "off,rising,3700,29,");
    let (ran, page) = report(folder, &[]);
    assert!(ran.told().contains("fit.json is of another state"), "{}", ran.err);
    assert!(!page.contains("What the readings of the old distributor say"));
    sheet_with(folder, &[("greatest = \"42", "greatest = \"37")]);
    std::fs::write(folder.join("odd.json"), "{\"schema\": \"bobweight-light/7\"}").expect("a file");
    std::fs::write(folder.join("foreign.json"), "{\"name\": \"something else\"}").expect("a file");
    let (ran, page) = report(folder, &[]);
    let words = words_of(&page);
    for name in ["bench.json", "check.json", "figures.json"] {
        assert!(
            ran.told().contains(&format!("{name} is of another state and not shown: engine.toml has changed")),
            "{}",
            ran.err
        );
        assert!(words.contains(&format!("{name}: ")), "{name}");
    }
    assert!(words.contains("Not drawn: bench.json is of an older state. `bobweight bench engine.toml"), "{words}");
    assert!(!words.contains("78 of 78") && !page.contains("bench-errors-title"));
    assert!(words.contains("The chosen curve BREAKS what is asked of it: greatest advance"), "{words}");
    assert!(words.contains("odd.json: a result that counts for nothing") && !words.contains("foreign.json"));
    let headline = page.find("BREAKS").expect("its place");
    assert!(headline < page.find("timing-title").expect("a picture"));
}

/// Which way a tape runs on a rim: geometry, as the tape's own tests have it. The middle of 36.75 before and 35.25 after is 0.75 before.
#[test]
fn each_kind_of_engine_has_its_own_picture() {
    let folder = tempfile::tempdir().expect("a folder");
    let of = |text: &str| {
        std::fs::write(folder.path().join("engine.toml"), text).expect("a sheet");
        page_of(folder.path())
    };
    let demo = include_str!("../../../../demo/fire-float.toml");
    let page = of(demo);
    assert!(
        picture(&page, "pulley").contains("lie to the right of 0") && picture(&page, "hoses").contains(">Manifold: ")
    );
    assert!(picture(&page, "pickup").contains("timing flank, falling, 60.0 BTDC"));
    let page = of(&demo.replacen("rotation = \"clockwise\"", "rotation = \"anticlockwise\"", 1));
    assert!(picture(&page, "pulley").contains("lie to the left of 0"));
    let page = of(&demo.replacen("source = \"manifold\"", "source = \"ported\"", 1));
    assert!(
        picture(&page, "hoses").contains(">Ported: ")
            && words_of(&page).contains("From just above the closed throttle")
    );
    let page = of(&crate::sheet::tests::reluctor_text());
    let pickup = picture(&page, "pickup");
    assert!(
        pickup.contains("zero crossing, falling, 8.0 BTDC") && pickup.contains("moving flank, 18.0 BTDC to 13.0 BTDC")
    );
    // A cap seen from above whose rotor turns the other way is the mirror image.
    let towers = |page: &str| -> Vec<(String, f64)> {
        let texts = elements(picture(page, "cap"), "text").into_iter();
        let numbers = texts.filter(|text| text.contains("class=\"number\""));
        numbers
            .map(|text| {
                let words = text.split_once('>').and_then(|(_, rest)| rest.split_once('<')).expect("its words").0;
                (words.to_owned(), number_of(text, "x") - 240.0)
            })
            .collect()
    };
    let anticlockwise = towers(&of(demo));
    let clockwise = towers(&of(&demo.replacen(
        "rotation = \"anticlockwise\"                # seen from above",
        "rotation = \"clockwise\"                # seen from above",
        1,
    )));
    assert!(anticlockwise.len() == 4 && anticlockwise[1].0 == "3" && anticlockwise[1].1 < -100.0, "{anticlockwise:?}");
    assert!(clockwise[1].0 == "3" && near(clockwise[1].1, -anticlockwise[1].1, 0.01), "{clockwise:?}");
    // A survey that found true top dead centre by a stop.
    let readings = include_str!("../../../../demo/fire-float-readings.csv");
    let survey = "# survey of an old distributor, on the engine\n# answer: stopped_before = 36.75 crank degrees BTDC\n# answer: stopped_after = 35.25 crank degrees ATDC\n";
    std::fs::write(folder.path().join("fire-float-readings.csv"), format!("{survey}{readings}")).expect("readings");
    let page = of(demo);
    assert!(
        words_of(&page)
            .contains("read 36.75 BTDC and 35.25 ATDC: true top dead centre is halfway, 0.75 BTDC by that mark")
    );
    let stops: Vec<&str> =
        elements(picture(&page, "pulley"), "line").into_iter().filter(|line| line.contains("class=\"stop\"")).collect();
    // 72 crank degrees from one to the other, and so 36 to either side.
    let bearing = |line: &str| (number_of(line, "x2") - 240.0).atan2(252.0 - number_of(line, "y2")).to_degrees();
    assert!(near(bearing(stops[0]), 36.0, 0.1) && near(bearing(stops[1]), -36.0, 0.1), "{stops:?}");
}
