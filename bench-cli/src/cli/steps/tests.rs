use super::*;
use crate::sheet::tests::demo_text;

fn next(files: &[(&str, &str)]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).expect("a file");
    }
    look(folder.path()).next()
}

#[test]
fn the_next_command_follows_from_what_lies_in_the_folder() {
    let readings = "hose,speed_was,crank_rpm,crank_degrees\noff,rising,900,8\n";
    let missing = demo_text().replacen("idle = \"650 crank rpm\"", "", 1);
    let broken = demo_text().replacen("greatest = \"42", "greatest = \"37", 1);
    assert_eq!(next(&[]), "bobweight begin");
    assert_eq!(next(&[("survey.csv", readings)]), "bobweight fit survey.csv --new-sheet survey.toml");
    assert!(next(&[("engine.toml", &missing)]).contains("`engine.idle`"));
    assert!(next(&[("engine.toml", &broken)]).contains("limits that it breaks"));
    // Nothing waits in a sheet whose ignition is not driven from here.
    let six_volts = demo_text().replacen("12 V negative", "6 V positive", 1);
    assert_eq!(
        next(&[("engine.toml", &six_volts)]),
        "bobweight figures engine.toml, and then bobweight check engine.toml"
    );
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("engine.toml"), &six_volts).expect("a file");
    assert!(in_words(&look(folder.path())).contains("a sheet for figures"));
    let unfinished = six_volts.replacen("initial = \"8 crank degrees\"", "", 1);
    assert!(next(&[("engine.toml", &unfinished)]).contains("`advance.initial`"));
    let kicks_back = demo_text().replacen("second_flank_angle", "# second_flank_angle", 1);
    assert!(next(&[("engine.toml", &kicks_back)]).contains("limits that it breaks"));
    assert!(next(&[("engine.toml", demo_text())]).contains("bobweight bench engine.toml --json"));
    let with = |results: &[(&str, &str)]| next(&[&[("engine.toml", demo_text())], results].concat());
    assert!(with(&[("bench.json", &simulated("", 0.0))]).contains("bobweight bench engine.toml --serial PATH"));
    assert!(with(&[("bench.json", &simulated("", 150.0))]).starts_with("mend what bench.json names"));
    let both = [("a.json", &of_a_box("", 0.0)[..]), ("b.json", &simulated("", 0.0))];
    assert!(with(&both).contains("--first-start, and then bobweight light engine.toml"));
    let proven = by_light(8);
    let all = [&both[..], &[("c.json", &proven)]].concat();
    assert_eq!(with(&all), "bobweight report b.json a.json c.json --out report.html --card");
    assert!(with(&[("c.json", &by_light(14))]).starts_with("do what c.json says"));
}

/// The demo, or what it becomes by a line more.
fn sheet(more: &str) -> crate::sheet::Sheet {
    crate::sheet::parse("engine.toml", &format!("{}{more}", demo_text())).expect("a sheet")
}

fn bench(more: &str, lag_us: f64, change: impl FnOnce(&mut crate::record::bench::BenchResult)) -> String {
    let mut result = crate::page::text::tests::result(lag_us);
    result.sheet = crate::record::sheet::SheetIdentity::of(&sheet(more)).expect("a name");
    change(&mut result);
    result.to_json().expect("JSON")
}

fn of_a_box(more: &str, lag_us: f64) -> String {
    bench(more, lag_us, |_| {})
}

fn simulated(more: &str, lag_us: f64) -> String {
    bench(more, lag_us, |result| {
        result.settings.driven_by = crate::record::bench::DrivenBy::Simulation;
        result.settings.source = crate::record::bench::SIMULATION.to_owned();
        result.settings.seed = Some(1);
    })
}

/// A proof of the demo, whose initial timing is 8 crank degrees.
fn by_light(initial: u32) -> String {
    let readings: Vec<String> = (0..4)
        .flat_map(|_| [(650, 0), (1300, 6), (2500, 16), (3800, 20)])
        .map(|(rpm, rise)| format!("off,rising,{rpm},{}\n", initial + rise))
        .collect();
    let readings = readings.concat();
    let text = format!(
        "# light = plain\n# light_lag = 0 us\n# taken = on the engine\n# zero = true\nhose,speed_was,crank_rpm,crank_degrees\n{readings}"
    );
    let readings = crate::proof::light::parse("light.csv", text.as_bytes()).expect("readings");
    serde_json::to_string(&crate::proof::light::judge(&sheet(""), &readings).expect("a proof")).expect("JSON")
}

#[test]
fn what_was_benched_with_other_settings_sends_nobody_to_the_engine() {
    // Another tolerance: one value more than the sheet that lies there.
    let other = "\n[specified.advance]\ninitial = \"9 crank degrees\"\n";
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("engine.toml"), demo_text()).expect("a file");
    std::fs::write(folder.path().join("box.json"), of_a_box(other, 0.0)).expect("a file");
    let said = in_words(&look(folder.path()));
    assert!(said.contains("box.json") && said.contains("STALE"), "{said}");
    assert!(said.contains("Next: bobweight figures engine.toml,\n  and then bobweight bench engine.toml"), "{said}");
    // The same settings, written otherwise.
    std::fs::write(folder.path().join("box.json"), of_a_box("\n# a word\n", 0.0)).expect("a file");
    let said = in_words(&look(folder.path()));
    assert!(!said.contains("STALE") && said.contains("--first-start"), "{said}");
}

#[test]
fn a_result_that_contradicts_itself_is_shown_and_sends_nobody_to_the_engine() {
    let failed = of_a_box("", 150.0);
    let edited = failed.replacen("\n  \"verdict\": \"fail\"", "\n  \"verdict\": \"pass\"", 1);
    assert_ne!(edited, failed);
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("engine.toml"), demo_text()).expect("a file");
    std::fs::write(folder.path().join("box.json"), &edited).expect("a file");
    std::fs::write(folder.path().join("other.json"), "{\"a\": 1}").expect("a file");
    let said = in_words(&look(folder.path()));
    let unwrapped = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(unwrapped.contains("a result that counts for nothing: it contradicts itself"), "{said}");
    assert!(!said.contains("other.json") && said.contains("and then bobweight bench engine.toml"), "{said}");
}

#[test]
fn of_two_results_of_one_kind_the_one_saved_last_counts_and_a_light_on_the_bench_proves_no_engine() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("engine.toml"), demo_text()).expect("a file");
    let save = |name: &str, text: &str, seconds: u64| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("a file");
        let file = std::fs::File::options().write(true).open(path).expect("the file");
        file.set_modified(std::time::SystemTime::UNIX_EPOCH + std::time::Duration::from_secs(seconds)).expect("a time");
    };
    save("z-first.json", &of_a_box("", 0.0), 1_000);
    save("a-second.json", &of_a_box("", 150.0), 2_000);
    assert!(look(folder.path()).next().starts_with("mend what a-second.json names"));
    save("a-second.json", &of_a_box("", 0.0), 2_000);
    let on_bench = by_light(8).replacen("\"on_bench\":false", "\"on_bench\":true", 1);
    save("wheel.json", &on_bench, 3_000);
    assert!(look(folder.path()).next().contains("--first-start, and then bobweight light engine.toml"));
}
