//! Paragraphs of plain text, as wide as the terminal.

use std::cell::Cell;

/// Columns of everything that is printed where no terminal is narrower: what any terminal has.
pub const WIDTH: usize = 80;
/// Fewer columns than this are not made use of: the longest words of the tool and its narrowest tables need them.
pub const LEAST_WIDTH: usize = 50;

thread_local! {
    /// A run writes to one terminal from one thread, and every paragraph of it is as wide as that.
    static COLUMNS: Cell<usize> = const { Cell::new(WIDTH) };
}

/// Columns that a line may have now.
pub fn columns() -> usize {
    COLUMNS.get()
}

/// Does `work` with lines of so many columns, never more than [`WIDTH`] and never fewer than [`LEAST_WIDTH`].
pub fn within<T>(columns: usize, work: impl FnOnce() -> T) -> T {
    let before = COLUMNS.replace(columns.clamp(LEAST_WIDTH, WIDTH));
    let done = work();
    COLUMNS.set(before);
    done
}

/// Wraps a sentence, further lines under its first word, and ends it by a line feed.
pub fn paragraph(text: &mut String, lead: &str, sentence: &str) {
    paragraph_of(text, lead, sentence, columns());
}

/// As [`paragraph`], for paper of other columns.
pub fn paragraph_of(text: &mut String, lead: &str, sentence: &str, width: usize) {
    let indent = " ".repeat(lead.chars().count());
    let mut column = indent.len();
    text.push_str(lead);
    for (index, word) in words(sentence).into_iter().enumerate() {
        let length = word.chars().count();
        if index > 0 && column + 1 + length > width {
            text.push('\n');
            text.push_str(&indent);
            column = indent.len();
        } else if index > 0 {
            text.push(' ');
            column += 1;
        }
        text.push_str(&word);
        column += length;
    }
    text.push('\n');
}

/// The words of a sentence. A number in groups of three digits is one word.
fn words(sentence: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in sentence.split_whitespace() {
        match words.last_mut() {
            Some(before) if goes_on(before, word) => {
                before.push(' ');
                before.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Whether `word` begins with a group of three digits that belongs to the number at the end of `before`.
fn goes_on(before: &str, word: &str) -> bool {
    let digits = word.chars().take_while(char::is_ascii_digit).count();
    before.ends_with(|letter: char| letter.is_ascii_digit()) && digits == 3
}

/// A sentence in lines that each are a comment of a file.
pub fn commented(text: &mut String, sentence: &str) {
    let mut lines = String::new();
    paragraph_of(&mut lines, "", sentence, columns() - 2);
    lines.lines().for_each(|line| text.extend(["# ", line, "\n"]));
}

/// Text with lines of its own: each that is too long is wrapped under its own beginning, every other stays as it is.
pub fn folded(text: &str) -> String {
    let mut whole = String::new();
    for line in text.split_inclusive('\n') {
        let bare = line.trim_end_matches('\n');
        if bare.chars().count() <= columns() {
            whole.push_str(line);
            continue;
        }
        if let Some(comment) = bare.strip_prefix("# ") {
            commented(&mut whole, comment);
        } else {
            let said = bare.trim_start();
            let lead = &bare[..bare.len() - said.len()];
            paragraph(&mut whole, lead, said);
        }
        if bare.len() == line.len() {
            // No line feed was there: somebody's answer follows.
            whole.pop();
        }
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_word_and_no_number_is_broken() {
        let mut text = String::new();
        paragraph_of(&mut text, "- ", "all in at 3 300 crank rpm, 12 345 678 of them", 12);
        assert_eq!(text, "- all in at\n  3 300\n  crank rpm,\n  12 345 678\n  of them\n");
    }

    #[test]
    fn a_narrow_terminal_gets_narrow_lines_and_keeps_short_ones() {
        let long = format!("  short\n  {}\n  ask: ", "word ".repeat(30).trim_end());
        within(60, || {
            let folded = folded(&long);
            assert!(folded.lines().all(|line| line.chars().count() <= 60), "{folded}");
            assert!(folded.starts_with("  short\n  word ") && folded.ends_with("\n  ask: "), "{folded}");
        });
        let comment = folded(&format!("# {}\nkey = 1\n", "word ".repeat(30).trim_end()));
        assert!(comment.lines().all(|line| line.starts_with("# ") || line == "key = 1"), "{comment}");
        assert_eq!(within(20, columns), LEAST_WIDTH);
        assert_eq!(within(200, columns), WIDTH);
        assert_eq!(columns(), WIDTH);
    }
}
