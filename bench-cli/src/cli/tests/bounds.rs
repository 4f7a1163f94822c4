//! No input is larger than what its kind can need.

use super::bobweight;
use crate::cli::exit::Exit;

#[test]
fn an_input_of_absurd_size_is_refused_by_its_size() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).display().to_string();
    for name in ["a.toml", "a.csv", "a.json"] {
        // Sparse: it takes no room.
        std::fs::File::create(at(name)).and_then(|file| file.set_len(3 << 30)).expect("a file");
    }
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/fire-float.toml");
    let (toml, csv, json, page) = (at("a.toml"), at("a.csv"), at("a.json"), at("page.html"));
    for words in [
        vec!["check", toml.as_str()],
        vec!["fit", &csv],
        vec!["light", demo, "--readings", &csv],
        vec!["survey", "--out", &csv],
        vec!["report", &json, "--out", &page],
        vec!["check", "/dev/zero"],
        vec!["fit", "/dev/zero"],
    ] {
        let ran = bobweight(folder.path(), &words);
        assert_eq!(ran.exit, Exit::WrongInput, "{words:?}: {}", ran.err);
        let said = ran.err.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        assert!(said.contains("larger than the") && said.contains("MB"), "{words:?}: {}", ran.err);
    }
}

/// The fit's time grows with the square of the readings: 5 000 took minutes.
#[test]
fn more_readings_than_can_be_fitted_are_refused_at_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).display().to_string();
    let columns = "hose,speed_was,crank_rpm,crank_degrees,vacuum_kPa\n";
    let off = |line: usize| format!("off,rising,{},{},\n", 600 + line % 3_000, 8 + line % 20);
    let on = |line: usize| format!("on,rising,2000,{},{}\n", 20 + line % 10, line % 40);
    let many = |hose: fn(usize) -> String| (0..501).map(hose).collect::<String>();
    for (name, rows) in [
        ("off.csv", many(off)),
        ("on.csv", format!("{}{}", (0..20).map(|at| off(at * 100)).collect::<String>(), many(on))),
    ] {
        std::fs::write(at(name), format!("{columns}{rows}")).expect("readings");
        let ran = bobweight(folder.path(), &["fit", &at(name)]);
        assert_eq!((ran.exit, ran.out.as_str()), (Exit::WrongInput, ""), "{name}: {}", ran.err);
        assert!(ran.err.contains("501 readings") && ran.err.contains("at most 500"), "{name}: {}", ran.err);
    }
}

#[test]
fn an_answer_without_an_end_is_asked_again() {
    let mut input: Vec<u8> = vec![b'1'; 5_000_000];
    input.extend(b"\n12\n");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut terminal = super::terminal::Terminal {
        input: &mut input.as_slice(),
        out: &mut out,
        err: &mut err,
        can_ask: true,
        err_is_terminal: false,
        colour_out: false,
        colour_err: false,
        columns: crate::words::wrap::WIDTH,
    };
    assert_eq!(terminal.line().expect("a line").as_deref(), Some("12\n"));
    assert!(String::from_utf8_lossy(&err).contains("longer than any answer"));
}
