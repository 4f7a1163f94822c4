use crate::cli::exit::Exit;
use crate::cli::tests::bobweight;

/// A width that does not fit in 16 bits ends the program where a text is padded by it.
#[test]
fn an_error_far_right_in_its_line_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let sheet = folder.path().join("long.toml");
    for before in [1_000, 65_534, 65_535, 65_536, 70_000, 200_000] {
        let text = format!("bobweight_sheet = 1\nengine = {{{}idle = nonsense }}\n", " ".repeat(before));
        std::fs::write(&sheet, text).expect("a sheet");
        let ran = bobweight(folder.path(), &["check", &sheet.display().to_string()]);
        assert_eq!(ran.exit, Exit::WrongInput, "{before}");
        assert!(ran.err.contains("long.toml, line 2"), "{before}: {}", &ran.err[..ran.err.len().min(400)]);
        assert!(ran.err.len() < 10_000, "{before}: a wall of {} bytes", ran.err.len());
    }
}
