use crate::cli::exit::Exit;
use crate::cli::tests::{Ran, bobweight};
use crate::sheet::tests::demo_text;
use std::time::Instant;

fn check(text: &str, options: &[&str]) -> (tempfile::TempDir, Ran) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("sheet.toml");
    std::fs::write(&path, text).expect("a sheet");
    let path = path.display().to_string();
    let options: Vec<String> =
        options.iter().map(|option| option.replace('@', &format!("{}/", folder.path().display()))).collect();
    let arguments: Vec<&str> = ["check", path.as_str()].into_iter().chain(options.iter().map(String::as_str)).collect();
    let ran = bobweight(folder.path(), &arguments);
    (folder, ran)
}

#[test]
fn limits_that_are_kept_pass_and_broken_ones_fail() {
    let (_folder, kept) = check(demo_text(), &[]);
    assert_eq!((kept.exit, kept.err.as_str()), (Exit::Pass, ""));
    assert!(kept.out.ends_with("\nlimits: all kept\n"), "{}", kept.out);
    let (_folder, broken) = check(&demo_text().replacen("greatest = \"42", "greatest = \"37", 1), &[]);
    assert_eq!((broken.exit, broken.err.as_str()), (Exit::Fail, ""));
    assert!(
        broken.said().contains(
            "greatest advance: BROKEN by 1 crank degrees (38, and 37 is allowed, at 3 300 crank rpm with full vacuum)"
        ),
        "{}",
        broken.out
    );
}

/// The usual slips, and the sentence that helps.
#[test]
fn a_wrong_sheet_is_refused_with_the_sentence_that_helps() {
    let without_limits = {
        let (before, rest) = demo_text().split_once("[limits]").expect("limits");
        let (_, after) = rest.split_once("[coil]").expect("a coil");
        format!("{before}[coil]{after}")
    };
    let demo = |from: &str, to: &str| {
        assert!(demo_text().contains(from), "{from}");
        demo_text().replacen(from, to, 1)
    };
    for (text, says, helps) in [
        (without_limits, "`limits.greatest` is missing", "What is the greatest advance that the engine stands"),
        (demo("greatest = \"42", "greatest = \"420"), "`limits.greatest`", "90 crank degrees"),
        (demo("[1700, 12]", "[1700, 120]"), "`centrifugal.breakpoints`", "look whether `unit` is the right one"),
        (demo("[3300, 20]", "[33000, 20]"), "`centrifugal.breakpoints`", "look whether `unit` is the right one"),
        (demo("[12, 10]", "[41, 10]"), "`vacuum.breakpoints`", "look whether `unit` is the right one"),
        (
            demo("\ncranking = \"8", "\ncranking = \"10"),
            "`advance.cranking`",
            "cranking sparks come at the second flank",
        ),
        (demo("cranking = \"10", "cranking = \"7"), "`pickup.second_flank_angle`", "`limits.greatest_cranking`"),
        (demo("vacuum = \"30", "vacuum = \"43"), "`limits.greatest_without_vacuum`", "`limits.greatest`"),
        (demo("\"locked\"", "\"working\""), "`distributor.old_advance`", "lock weights and vacuum plate"),
    ] {
        let (_folder, ran) = check(&text, &[]);
        assert_eq!((ran.exit, ran.out.as_str()), (Exit::WrongInput, ""), "{says}");
        let said = ran.err.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        assert!(
            said.contains(says) && said.contains(helps) && said.contains("sheet.toml, line"),
            "{says}: {}",
            ran.err
        );
    }
}

#[test]
fn the_result_for_programs_goes_where_it_was_asked_for() {
    let (folder, ran) = check(demo_text(), &["--json", "@result.json"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    let saved = std::fs::read_to_string(folder.path().join("result.json")).expect("a result");
    let json: serde_json::Value = serde_json::from_str(&saved).expect("JSON");
    assert_eq!((json["schema"].as_str(), json["kept"].as_bool()), (Some("bobweight-check/1"), Some(true)));
    let (_folder, ran) = check(demo_text(), &["--json", "-"]);
    let printed: serde_json::Value = serde_json::from_str(&ran.out).expect("nothing but JSON");
    assert_eq!(printed["limits"], json["limits"]);
    assert!(ran.err.contains("limits: all kept"));
    let (_folder, ran) = check(demo_text(), &["--json", "@none/result.json"]);
    assert_eq!((ran.exit, ran.out.as_str()), (Exit::NotWritten, ""));
}

/// How long a sheet with as many breakpoints as there can be takes is printed.
#[test]
fn the_longest_sheet_is_proven() {
    let curve = |first: u32, step: u32| {
        let points: Vec<String> = (0..16).map(|i| format!("[{}, {}]", first + step * i, i % 11)).collect();
        format!("[{}]", points.join(", "))
    };
    let text = demo_text().replacen("[[900, 0], [1700, 12], [3300, 20]]", &curve(900, 200), 1).replacen(
        "[[5, 0], [12, 10]]",
        &curve(5, 1),
        1,
    );
    let begun = Instant::now();
    let (_folder, ran) = check(&text, &[]);
    println!("16 and 16 breakpoints: {:.1} ms", begun.elapsed().as_secs_f64() * 1e3);
    assert_eq!(ran.exit, Exit::Pass, "{}{}", ran.out, ran.err);
    let said = ran.said();
    assert!(said.contains("greatest advance: OK, 14 crank degrees to spare (28 of 42,"), "{said}");
}
