//! Paragraphs of plain text.

/// Columns of everything that is printed: what any terminal has.
pub const WIDTH: usize = 80;

/// Wraps a sentence at [`WIDTH`] columns, further lines under its first word, and ends it by a line feed.
pub fn paragraph(text: &mut String, lead: &str, sentence: &str) {
    paragraph_of(text, lead, sentence, WIDTH);
}

/// As [`paragraph`], for paper of other columns.
pub fn paragraph_of(text: &mut String, lead: &str, sentence: &str, width: usize) {
    let indent = " ".repeat(lead.chars().count());
    let mut column = indent.len();
    text.push_str(lead);
    for (index, word) in sentence.split_whitespace().enumerate() {
        let length = word.chars().count();
        if index > 0 && column + 1 + length > width {
            text.push('\n');
            text.push_str(&indent);
            column = indent.len();
        } else if index > 0 {
            text.push(' ');
            column += 1;
        }
        text.push_str(word);
        column += length;
    }
    text.push('\n');
}
