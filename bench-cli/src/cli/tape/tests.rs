use crate::cli::exit::Exit;
use crate::cli::tests::bobweight;

const OPTIONS: [&str; 11] = [
    "tape",
    "--diameter",
    "152 mm",
    "--from",
    "10 crank degrees ATDC",
    "--to",
    "50 crank degrees BTDC",
    "--rotation",
    "clockwise",
    "--on",
    "pulley",
];

#[test]
fn a_tape_is_written_in_either_format_and_no_other() {
    let folder = tempfile::tempdir().expect("a folder");
    let written = |name: &str| {
        let path = folder.path().join(name);
        let mut arguments = OPTIONS.to_vec();
        let out = path.display().to_string();
        arguments.extend(["--out", &out]);
        let ran = bobweight(folder.path(), &arguments);
        (ran.exit, ran.out, ran.err, std::fs::read(path).unwrap_or_default())
    };
    let (exit, out, _, pdf) = written("tape.pdf");
    assert_eq!(exit, Exit::Pass);
    assert!(pdf.starts_with(b"%PDF-"));
    assert!(out.contains("100 mm") && out.contains("to the right of 0"), "{out}");
    let (exit, _, _, svg) = written("tape.svg");
    assert_eq!(exit, Exit::Pass);
    assert!(svg.starts_with(b"<svg "));
    let (exit, _, err, nothing) = written("tape.png");
    assert_eq!((exit, nothing.len()), (Exit::WrongInput, 0));
    assert!(err.contains(".svg or .pdf"), "{err}");
}
