use super::*;
use crate::cli::tests::bobweight;
use crate::record::bench::DrivenBy;
use crate::record::verdict::Verdict;
use crate::sheet::tests::demo_text;
use serde_json::json;

/// A result of the form that did not say by a field of its own what was benched, as that version saved it: an invented engine
/// without vacuum advance.
const OLDER: &str = include_str!("bench-1.json");

/// What the commands save of the demo.
fn saved(command: &[&str]) -> Value {
    let folder = tempfile::tempdir().expect("a folder");
    let sheet = demo_text().replacen("readings = \"fire-float-readings.csv\"", "", 1);
    std::fs::write(folder.path().join("engine.toml"), sheet).expect("a sheet");
    let light = "hose,speed_was,crank_rpm,crank_degrees\noff,rising,650,8\noff,rising,1300,14\noff,rising,2500,24\n\
                 off,rising,3800,28\n";
    std::fs::write(folder.path().join("light.csv"), light).expect("readings");
    std::fs::write(folder.path().join("readings.csv"), include_str!("../../demo/fire-float-readings.csv"))
        .expect("readings");
    std::fs::write(folder.path().join("trials.csv"), include_str!("../../demo/fire-float-trials.csv")).expect("trials");
    let json = folder.path().join("result.json").display().to_string();
    let command: Vec<String> = command
        .iter()
        .map(
            |word| if word.contains('.') { folder.path().join(word).display().to_string() } else { (*word).to_owned() },
        )
        .collect();
    let mut words: Vec<&str> = command.iter().map(String::as_str).collect();
    words.extend(["--json", &json]);
    let ran = bobweight(folder.path(), &words);
    let text = std::fs::read_to_string(&json).unwrap_or_else(|_| panic!("{}\n{}", ran.out, ran.err));
    serde_json::from_str(&text).expect("JSON")
}

fn parse(value: &Value) -> Result<Record, RecordError> {
    super::parse("saved.json", &value.to_string())
}

fn refusal(value: &Value) -> String {
    match parse(value) {
        Ok(_) => panic!("it is taken"),
        Err(error) => format!("{error}; {}", error.help),
    }
}

fn bench() -> Value {
    saved(&["bench", "engine.toml"])
}

fn light() -> Value {
    saved(&["light", "engine.toml", "--readings", "light.csv", "--acknowledge-cautions"])
}

#[test]
fn what_every_command_saves_is_read_back_as_it_was_written() {
    for (command, kind) in [
        (&["bench", "engine.toml"][..], "a bench run of the simulation"),
        (&["bench", "engine.toml", "--simulate", "lag=300 us, lose=1/400, pulse=2 crank degrees late"], "a bench run"),
        (&["light", "engine.toml", "--readings", "light.csv", "--acknowledge-cautions"], "a proof with a timing light"),
        (&["figures", "engine.toml"], "operating figures"),
        (&["figures", "engine.toml", "--full-throttle", "30 crank degrees"], "operating figures"),
        (&["check", "engine.toml"], "a check of the limits"),
        (&["fit", "readings.csv"], "a fit"),
        (&["trials", "engine.toml", "--trials", "trials.csv", "--acknowledge-cautions"], "trials of a timing"),
    ] {
        let value = saved(command);
        let record = parse(&value).unwrap_or_else(|error| panic!("{command:?}: {error}"));
        assert!(record.kind().starts_with(kind), "{}", record.kind());
        let again = match &record {
            Record::Bench(result) => serde_json::to_value(result),
            Record::Light(result) => serde_json::to_value(result),
            Record::Fit(result) => serde_json::to_value(result),
            Record::Coil(result) => serde_json::to_value(result),
            Record::Figures(result) => serde_json::to_value(result),
            Record::Check(result) => serde_json::to_value(result),
            Record::Ignition(result) => serde_json::to_value(result),
            Record::Trials(result) => serde_json::to_value(result),
        };
        assert_eq!(again.expect("JSON"), value, "{command:?}");
    }
}

#[test]
fn a_result_of_another_version_an_unknown_field_and_what_is_no_result_are_refused_by_name() {
    let mut newer = bench();
    newer["schema"] = json!("bobweight-result/3");
    assert!(
        refusal(&newer)
            .contains("marked \"bobweight-result/3\", and this version of bobweight reads \"bobweight-result/2\"")
    );
    let mut unknown = bench();
    unknown["colour"] = json!(1);
    assert!(refusal(&unknown).contains("unknown field `colour`"));
    for (value, says) in
        [(json!([]), "no result of bobweight"), (json!({"schema": "other/1"}), "no result of bobweight")]
    {
        assert!(refusal(&value).contains(says));
        assert!(!parse(&value).expect_err("no result").is_ours);
    }
}

#[test]
fn a_verdict_that_is_better_than_its_parts_is_refused() {
    let mut failed = saved(&["bench", "engine.toml", "--simulate", "lag=300 us"]);
    assert_eq!(failed["verdict"], "fail");
    failed["verdict"] = json!("pass");
    let said = refusal(&failed);
    assert!(
        said.contains("saved.json: it contradicts itself, so nothing of it counts: its verdict is \"pass\""),
        "{said}"
    );
    assert!(said.contains("make it again: `bobweight bench ... --json saved.json`"), "{said}");
    // Each further edit is caught by what it still contradicts.
    for point in failed["test_points"].as_array_mut().expect("points") {
        point["verdict"] = json!("pass");
    }
    let said = refusal(&failed);
    assert!(said.contains("it counts 0 passed") || said.contains("failed"), "{said}");
    let points = failed["test_points"].as_array().expect("points").len();
    failed["counts"]["passed"] = json!(points);
    failed["counts"]["failed"] = json!(0);
    failed["counts"]["undecided"] = json!(0);
    let said = refusal(&failed);
    assert!(said.contains("its own figures make it \"FAIL\" at best"), "{said}");
}

#[test]
fn every_number_that_a_pass_hangs_on_contradicts_it_when_it_is_edited() {
    let passed = bench();
    assert!(parse(&passed).is_ok());
    for (pointer, value) in [
        ("/test_points/3/mean_error_crank_degrees_early", json!(-3.0)),
        ("/test_points/3/mean_error_crank_degrees_early", Value::Null),
        ("/test_points/3/uncertainty_crank_degrees", json!(2.0)),
        ("/test_points/3/bound_crank_degrees", json!(0.0)),
        ("/test_points/3/bound_parts/core_crank_degrees", json!(2.0)),
        ("/test_points/3/cycles", json!(3)),
        ("/test_points/3/missing", json!(1)),
        ("/test_points/3/extra", json!(1)),
        ("/test_points/3/verdict", json!("fail")),
        ("/test_points/3/verdict", json!("undecided")),
        ("/test_points/3/pulses", json!(4)),
        ("/settings/tolerance_crank_degrees", json!(0.05)),
        ("/counts/passed", json!(77)),
        ("/counts/planned_test_points", json!(79)),
        ("/counts/planned_test_points", json!(70)),
        ("/counts/pulses", json!(1)),
        ("/limits/kept", json!(false)),
        ("/broken_off", json!("the cable is out")),
        ("/test_points/3/dwell/least_ms", json!(1.5)),
        ("/test_points/3/dwell/mean_ms", json!(1.5)),
        ("/test_points/3/dwell/ordered_ms", json!(9.0)),
        ("/test_points/3/dwell/energy_mj", json!(10.0)),
        ("/settings/coil/least_energy_mj", json!(90.0)),
        ("/settings/coil/inductance_mh", json!(1.0)),
        ("/settings/coil/battery_volts", json!(9.0)),
        ("/cranking/0/verdict", json!("fail")),
        ("/cranking/0/missing", json!(1)),
        ("/ramps/0/greatest_error_crank_degrees_early", json!(9.0)),
        ("/ramps/1/verdict", json!("undecided")),
        ("/disturbed_pulses/0/verdict", json!("fail")),
        ("/disturbed_pulses/0/right_again", json!(false)),
        ("/test_points", json!([])),
    ] {
        let mut edited = passed.clone();
        match edited.pointer_mut(pointer) {
            Some(place) => *place = value.clone(),
            None => edited["broken_off"] = value.clone(),
        }
        assert_ne!(edited, passed, "{pointer}");
        let said = refusal(&edited);
        assert!(said.contains("contradicts itself"), "{pointer} as {value}: {said}");
    }
}

#[test]
fn a_simulation_cannot_be_made_a_box_by_taking_fields_out() {
    let passed = bench();
    let taken = |keys: &[&str]| {
        let mut edited = passed.clone();
        let settings = edited["settings"].as_object_mut().expect("settings");
        for key in keys {
            settings.remove(*key).expect("it was there");
        }
        edited
    };
    assert!(refusal(&taken(&["seed"])).contains("says that the simulation was benched"));
    assert!(refusal(&taken(&["driven_by"])).contains("missing field `driven_by`"));
    assert!(refusal(&taken(&["seed", "driven_by"])).contains("missing field `driven_by`"));
    let mut edited = taken(&["seed"]);
    edited["settings"]["driven_by"] = json!("serial_port");
    assert!(refusal(&edited).contains("says that a box was benched"));
}

#[test]
fn an_older_result_is_a_box_only_where_nothing_says_otherwise() {
    let older: Value = serde_json::from_str(OLDER).expect("JSON");
    let read = |value: &Value| match parse(value) {
        Ok(Record::Bench(result)) => *result,
        other => panic!("{other:?}"),
    };
    let result = read(&older);
    assert_eq!((result.verdict, result.settings.driven_by), (Verdict::Pass, DrivenBy::Simulation));
    assert!(result.is_simulated() && result.not_proven.iter().any(|open| open.contains("bench again")));
    // Without its seed it is a simulation still, and one that contradicts itself.
    let mut edited = older.clone();
    edited["settings"].as_object_mut().expect("settings").remove("seed");
    assert!(refusal(&edited).contains("says that the simulation was benched"));
    edited["settings"]["source"] = json!("the stimulator at /dev/ttyUSB0");
    assert!(refusal(&edited).contains("says that the simulation was benched"));
    edited["not_proven"].as_array_mut().expect("a list").truncate(1);
    assert_eq!(read(&edited).settings.driven_by, DrivenBy::SerialPort);
    edited["settings"]["source"] = json!("the trace capture.vcd");
    assert_eq!(read(&edited).settings.driven_by, DrivenBy::Trace);
    edited["settings"]["source"] = json!("a friend's bench");
    assert!(refusal(&edited).contains("does not say whether a box or the simulation was benched"));
}

#[test]
fn a_proof_by_light_and_a_check_are_held_to_their_parts_too() {
    let proof = light();
    assert!(parse(&proof).is_ok());
    let better = if proof["verdict"] == "pass" { "/places/0/verdict" } else { "/verdict" };
    for (pointer, value) in [
        (better, if better == "/verdict" { json!("pass") } else { json!("fail") }),
        ("/places/0/error_crank_degrees_early", json!({"value": -9.0, "low": -10.0, "high": -8.0})),
        ("/places/0/readings", json!(7)),
        ("/tolerance_crank_degrees", json!(0.05)),
    ] {
        let mut edited = proof.clone();
        *edited.pointer_mut(pointer).expect("a place") = value.clone();
        let said = refusal(&edited);
        assert!(said.contains("contradicts itself"), "{pointer}: {said}");
    }
    let checked = saved(&["check", "engine.toml"]);
    for (pointer, value) in
        [("/kept", json!(false)), ("/limits/0/kept", json!(false)), ("/limits/0/margin_crank_degrees", json!(-1.0))]
    {
        let mut edited = checked.clone();
        *edited.pointer_mut(pointer).expect("a place") = value;
        assert!(refusal(&edited).contains("contradicts itself"), "{pointer}");
    }
}

/// A series that pinked, whose result is edited by one figure.
#[test]
fn trials_tell_no_timing_that_they_forbid() {
    let mut whole = saved(&["trials", "engine.toml", "--trials", "trials.csv", "--acknowledge-cautions"]);
    assert!(parse(&whole).is_ok() && whole["best_crank_degrees"]["high"].is_number(), "{whole:#}");
    for (key, edited, says) in [
        ("/best_crank_degrees/high", json!(29.0), "beyond the last that was quiet"),
        ("/set_to_crank_degrees", json!(29.0), "beyond the last that was quiet"),
        ("/ceiling_crank_degrees", json!(31.0), "beyond the sheet's limit"),
        ("/last_quiet_crank_degrees", json!(29.0), "the last quiet timing is not the one of its trials"),
        ("/pinking_crank_degrees", json!(29.0), "the latest timing that pinked is not the one of its trials"),
        ("/trials/21/heard", json!("pinking"), "the latest timing that pinked is not the one of its trials"),
    ] {
        let mut value = whole.clone();
        *value.pointer_mut(key).expect("a key") = edited;
        assert!(refusal(&value).contains(says), "{key}: {}", refusal(&value));
    }
    whole["trials"][21]["heard"] = json!("pinking");
    whole["pinking_crank_degrees"] = json!(17.5);
    whole["last_quiet_crank_degrees"] = Value::Null;
    assert!(refusal(&whole).contains("too near to where it pinked"), "{}", refusal(&whole));
}
