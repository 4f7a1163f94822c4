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
    assert!(next(&[]).starts_with("read the old distributor"));
    assert_eq!(next(&[("survey.csv", readings)]), "bobweight fit survey.csv");
    assert!(next(&[("engine.toml", &missing)]).contains("`engine.idle`"));
    assert!(next(&[("engine.toml", &broken)]).contains("limits that it breaks"));
    assert!(next(&[("engine.toml", demo_text())]).contains("bobweight bench engine.toml --json"));
    let result = |verdict: &str| {
        let digest = crate::result::digest(demo_text().as_bytes());
        format!(
            "{{\"schema\": \"bobweight-result/1\", \"verdict\": \"{verdict}\", \"sheet\": {{\"digest\": \"{digest}\"}}}}"
        )
    };
    let with = |verdict| next(&[("engine.toml", demo_text()), ("bench.json", &result(verdict))]);
    assert_eq!(with("pass"), "bobweight figures engine.toml --first-start");
    assert!(with("fail").starts_with("mend what bench.json names"));
}
