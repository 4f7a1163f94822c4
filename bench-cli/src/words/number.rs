//! Numbers as people read them. Every number of a text goes through here, or through a format with its places: what a
//! conversion leaves behind the last digit is shown to nobody, and nothing is "-0".
//!
//! The house form: a number of four or more digits before the point stands in groups of three, `3 300`.

/// A number as it is typed, without groups: for files and drawings.
pub fn ungrouped(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(size) if size.chars().all(|digit| matches!(digit, '0' | '.')) => size.to_owned(),
        _ => text,
    }
}

/// A number to so many places.
pub fn fixed(value: f64, places: usize) -> String {
    grouped(&ungrouped(value, places))
}

/// A whole number.
pub fn whole(value: f64) -> String {
    fixed(value, 0)
}

/// How many.
pub fn count(how_many: usize) -> String {
    grouped(&how_many.to_string())
}

/// The digits before the point in groups of three, where there are four or more.
fn grouped(number: &str) -> String {
    let first = number.find(|letter: char| letter.is_ascii_digit()).unwrap_or(0);
    let digits = number[first..].find(|letter: char| !letter.is_ascii_digit()).unwrap_or(number.len() - first);
    let mut text = number[..first].to_owned();
    for (at, digit) in number[first..first + digits].chars().enumerate() {
        if at > 0 && (digits - at).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    text + &number[first + digits..]
}

/// As [`short`], as it is typed.
pub fn short_ungrouped(value: f64, places: usize) -> String {
    let text = ungrouped(value, places);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A number to at most so many places, without noughts at its end.
pub fn short(value: f64, places: usize) -> String {
    grouped(&short_ungrouped(value, places))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_nought_has_no_side_and_a_conversion_no_tail() {
        assert_eq!([-0.0, -0.004, 0.004, -0.006].map(|value| fixed(value, 2)), ["0.00", "0.00", "0.00", "-0.01"]);
        assert_eq!([-0.4, 0.0, -1.0].map(|value| fixed(value, 0)), ["0", "0", "-1"]);
        assert_eq!(
            [7.0 * 25.4, 180.0, 0.5, -0.0, 8.25].map(|value| short(value, 3)),
            ["177.8", "180", "0.5", "0", "8.25"]
        );
        assert_eq!(short(1200.0, 0), "1 200");
        assert_eq!(
            [999.5, -1234.5, 1_234_567.25].map(|value| fixed(value, 2)),
            ["999.50", "-1 234.50", "1 234 567.25"]
        );
        assert_eq!((count(4368), short_ungrouped(1200.5, 3)), ("4 368".to_owned(), "1200.5".to_owned()));
    }

    /// Rust's own way to print a value is for whoever mends the program, and for nobody else.
    #[test]
    fn nothing_that_a_person_reads_is_printed_as_the_program_holds_it() {
        fn sources(folder: &std::path::Path, found: &mut Vec<std::path::PathBuf>) {
            for entry in std::fs::read_dir(folder).expect("a folder") {
                let path = entry.expect("an entry").path();
                if path.is_dir() {
                    sources(&path, found);
                } else if path.extension().is_some_and(|ending| ending == "rs") {
                    found.push(path);
                }
            }
        }
        let mut found = Vec::new();
        sources(std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/src")), &mut found);
        assert!(found.len() > 150, "{} files", found.len());
        let is_test = |path: &std::path::Path| {
            path.components().any(|part| part.as_os_str().to_string_lossy().trim_end_matches(".rs") == "tests")
        };
        for path in found.iter().filter(|path| !is_test(path)) {
            let text = std::fs::read_to_string(path).expect("a source");
            // Tests may.
            let shipped = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
            let printed = |line: &&str| line.contains(":?}") || line.contains(":#?}");
            let lines: Vec<&str> = shipped.lines().filter(printed).collect();
            assert_eq!(lines, [""; 0], "{}", path.display());
        }
    }
}
