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
    assert_eq!(next(&[]), "bobweight survey --out readings.csv");
    assert_eq!(next(&[("survey.csv", readings)]), "bobweight fit survey.csv");
    assert!(next(&[("engine.toml", &missing)]).contains("`engine.idle`"));
    assert!(next(&[("engine.toml", &broken)]).contains("limits that it breaks"));
    let kicks_back = demo_text().replacen("second_flank_angle", "# second_flank_angle", 1);
    assert!(next(&[("engine.toml", &kicks_back)]).contains("limits that it breaks"));
    assert!(next(&[("engine.toml", demo_text())]).contains("bobweight bench engine.toml --json"));
    let digest = crate::sheet::parse("engine.toml", demo_text()).expect("a sheet").digest();
    let result = |schema: &str, seed: &str, verdict: &str| {
        format!(
            "{{\"schema\": \"{schema}/1\", \"verdict\": \"{verdict}\", \"settings\": {{{seed}}}, \
             \"sheet\": {{\"digest\": \"{digest}\"}}}}"
        )
    };
    let simulated = |verdict| result("bobweight-result", "\"seed\": 1", verdict);
    let of_a_box = |verdict| result("bobweight-result", "", verdict);
    let light = |verdict| result("bobweight-light", "", verdict);
    let with = |results: &[(&str, &str)]| next(&[&[("engine.toml", demo_text())], results].concat());
    assert!(with(&[("bench.json", &simulated("pass"))]).contains("bobweight bench engine.toml --serial PATH"));
    assert!(with(&[("bench.json", &simulated("fail"))]).starts_with("mend what bench.json names"));
    let both = [("a.json", &of_a_box("pass")[..]), ("b.json", &simulated("pass"))];
    assert!(with(&both).contains("--first-start, and then bobweight light engine.toml"));
    let proven = light("pass");
    let all = [&both[..], &[("c.json", &proven)]].concat();
    assert_eq!(with(&all), "bobweight report b.json a.json c.json --out report.html --card");
    assert!(with(&[("c.json", &light("fail"))]).starts_with("do what c.json says"));
}
