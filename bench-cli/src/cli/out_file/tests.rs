use crate::cli::exit::Exit;
use crate::cli::tests::{Ran, bobweight};
use std::os::unix::fs::symlink;
use std::path::Path;

const SHEET: &str = include_str!("../../../demo/fire-float.toml");

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("a.toml"), SHEET).expect("a sheet");
    folder
}

fn check(folder: &Path, json: &Path) -> Ran {
    let sheet = folder.join("a.toml");
    bobweight(folder, &["check", &sheet.display().to_string(), "--json", &json.display().to_string()])
}

fn refused(ran: &Ran, why: &str) {
    assert_eq!((ran.exit, ran.out.as_str()), (Exit::WrongInput, ""), "{}", ran.err);
    let said = ran.err.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
    assert!(said.contains(why), "{}", ran.err);
}

/// The sheet is the only record of a work of weeks: by whatever name it is reached, no result goes over it.
#[test]
fn a_result_never_goes_over_its_own_sheet_by_any_name() {
    let folder = folder();
    let at = |name: &str| folder.path().join(name);
    std::fs::create_dir(at("sub")).expect("a folder");
    symlink(at("a.toml"), at("link.json")).expect("a link");
    std::fs::hard_link(at("a.toml"), at("hard.json")).expect("a hard link");
    for name in ["a.toml", "./a.toml", "sub/../a.toml", "link.json", "hard.json"] {
        refused(&check(folder.path(), &at(name)), "is read by this command");
        assert_eq!(std::fs::read_to_string(at("a.toml")).expect("the sheet"), SHEET, "{name}");
    }
    assert_eq!(std::fs::read_link(at("link.json")).expect("still a link"), at("a.toml"));
}

#[test]
fn a_report_never_goes_over_its_result() {
    let folder = folder();
    let result = folder.path().join("r.json");
    assert_eq!(check(folder.path(), &result).exit, Exit::Pass);
    let before = std::fs::read(&result).expect("a result");
    let name = result.display().to_string();
    refused(&bobweight(folder.path(), &["report", &name, "--out", &name]), "is read by this command");
    assert_eq!(std::fs::read(&result).expect("a result"), before);
}

#[test]
fn what_is_no_plain_file_of_ours_is_refused_and_stays() {
    let folder = folder();
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("notes.json"), "{\"plug gap\": 0.6}\n").expect("a file");
    std::fs::write(at("notes.txt"), "plug gap 0.6\n").expect("a file");
    for name in ["notes.json", "notes.txt"] {
        let before = std::fs::read(at(name)).expect("a file");
        refused(&check(folder.path(), &at(name)), "holds something else");
        assert_eq!(std::fs::read(at(name)).expect("a file"), before);
    }
    std::fs::create_dir(at("sub")).expect("a folder");
    refused(&check(folder.path(), &at("sub")), "is a folder");
    symlink(at("nowhere"), at("link.json")).expect("a link");
    refused(&check(folder.path(), &at("link.json")), "is a link");
    assert!(!at("nowhere").exists());
    let made = std::process::Command::new("mkfifo").arg(at("pipe")).status().expect("mkfifo of POSIX");
    assert!(made.success());
    // Nobody reads it: opening it would wait for ever.
    refused(&check(folder.path(), &at("pipe")), "is no plain file");
    for device in ["/dev/null", "/dev/full"] {
        refused(&check(folder.path(), Path::new(device)), "is no plain file");
    }
    refused(&check(folder.path(), Path::new("/dev/stdout")), "use `-`");
}

#[test]
fn what_the_same_option_wrote_and_what_is_empty_is_replaced() {
    let folder = folder();
    let result = folder.path().join("r.json");
    std::fs::write(&result, "").expect("an empty file");
    for _ in 0..2 {
        let ran = check(folder.path(), &result);
        assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    }
    let page = folder.path().join("page.html").display().to_string();
    let tape = |name: &str| {
        let out = folder.path().join(name).display().to_string();
        bobweight(
            folder.path(),
            &[
                "tape",
                "--diameter",
                "152 mm",
                "--from",
                "10 crank degrees ATDC",
                "--to",
                "20 crank degrees BTDC",
                "--rotation",
                "clockwise",
                "--on",
                "pulley",
                "--out",
                &out,
            ],
        )
    };
    let sheet = folder.path().join("a.toml").display().to_string();
    for _ in 0..2 {
        let ran = bobweight(folder.path(), &["report", &result.display().to_string(), "--out", &page]);
        assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
        for name in ["tape.pdf", "tape.svg"] {
            let ran = tape(name);
            assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
        }
        for form in ["image", "intel-hex", "rust", "c", "csv"] {
            let out = folder.path().join(form).display().to_string();
            let mut words = vec!["export", &sheet, "--as", form, "--out", &out];
            if form == "csv" {
                words.extend(["--speeds", "500..2000 crank rpm by 500"]);
            }
            let ran = bobweight(folder.path(), &words);
            assert_eq!(ran.exit, Exit::Pass, "{form}: {}", ran.err);
        }
    }
    let image = folder.path().join("image").display().to_string();
    refused(&bobweight(folder.path(), &["export", &sheet, "--as", "c", "--out", &image]), "holds something else");
}
