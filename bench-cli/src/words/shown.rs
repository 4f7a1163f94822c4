//! Text of others as it may be shown: what would move a cursor, clear a screen or turn the order of letters is written out,
//! such as `\u{202e}`.

use std::io::{Result, Write};

/// Whether a terminal or a browser would obey the character in place of showing it. Sources: Unicode, category Cc; the
/// bidirectional formatting characters of UAX #9, section 2; and what takes no room or breaks a line (U+200B, U+2028, U+2029,
/// U+2060 to 2064, U+206A to 206F, U+FEFF, the tags of U+E0000), from memory. Line feed and tab are plain text.
pub fn is_obeyed(letter: char) -> bool {
    (letter.is_control() && !matches!(letter, '\n' | '\t'))
        || matches!(letter,
            '\u{61c}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}'
            | '\u{e0000}'..='\u{e007f}')
}

/// The text with every such character written out.
pub fn shown(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        if is_obeyed(letter) { safe.extend(letter.escape_unicode()) } else { safe.push(letter) }
    }
    safe
}

/// JSON with every such character as its JSON escape, so that it is still the same JSON (RFC 8259, section 7).
pub fn shown_json(json: &str) -> String {
    use std::fmt::Write;
    let mut safe = String::with_capacity(json.len());
    for letter in json.chars() {
        if is_obeyed(letter) {
            let mut units = [0; 2];
            for unit in letter.encode_utf16(&mut units) {
                let _ = write!(safe, "\\u{unit:04x}");
            }
        } else {
            safe.push(letter);
        }
    }
    safe
}

/// Our own end of a printed side, written by itself.
pub const PAGE_BREAK: &[u8] = b"\x0c";

/// A stream to a person: text goes through [`shown`], our own colours and page breaks excepted.
pub struct ShownTo<'a> {
    stream: &'a mut dyn Write,
    coloured: bool,
}

impl<'a> ShownTo<'a> {
    /// Writes to `stream`, which takes colours where `coloured`.
    pub fn new(stream: &'a mut dyn Write, coloured: bool) -> Self {
        Self { stream, coloured }
    }
}

impl Write for ShownTo<'_> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        if bytes == PAGE_BREAK {
            self.stream.write_all(bytes)?;
            return Ok(bytes.len());
        }
        // Text is written in whole characters: by `write!`, or as the bytes of one text.
        let text = String::from_utf8_lossy(bytes);
        let mut rest = text.as_ref();
        while let Some(at) = rest.find('\u{1b}').filter(|_| self.coloured) {
            self.stream.write_all(shown(&rest[..at]).as_bytes())?;
            let length = colour(&rest[at..]).unwrap_or(0);
            self.stream.write_all(&rest.as_bytes()[at..at + length])?;
            rest = &rest[at + length..];
            if length == 0 {
                self.stream.write_all(shown("\u{1b}").as_bytes())?;
                rest = &rest[1..];
            }
        }
        self.stream.write_all(shown(rest).as_bytes())?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        self.stream.flush()
    }
}

/// Length of a colour that `text` begins with: `ESC [ numbers m` of ECMA-48, 8.3.117, colours and weight alone; what hides,
/// blinks or swaps is none of ours.
fn colour(text: &str) -> Option<usize> {
    let numbers = text.strip_prefix("\u{1b}[")?;
    let end = numbers.find(|letter: char| !letter.is_ascii_digit() && letter != ';')?;
    let ours = |number: &str| matches!(number.parse(), Ok(0..=4 | 22..=24 | 30..=39 | 90..=97_u8)) || number.is_empty();
    (numbers[end..].starts_with('m') && numbers[..end].split(';').all(ours)).then_some(end + 3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(text: &str, coloured: bool) -> String {
        let mut out = Vec::new();
        ShownTo::new(&mut out, coloured).write_all(text.as_bytes()).expect("a vector takes it");
        String::from_utf8(out).expect("text")
    }

    #[test]
    fn what_would_be_obeyed_is_written_out() {
        assert_eq!(shown("a\u{202e}b\u{1b}[2J\r\u{9b}\n\tä"), "a\\u{202e}b\\u{1b}[2J\\u{d}\\u{9b}\n\tä");
        let json = serde_json::to_string("\u{202e}\u{7f}\u{e0041}\"").expect("JSON");
        let safe = shown_json(&json);
        assert!(!safe.chars().any(is_obeyed), "{safe}");
        assert_eq!(serde_json::from_str::<String>(&safe).expect("JSON"), "\u{202e}\u{7f}\u{e0041}\"");
    }

    #[test]
    fn our_colours_pass_where_there_are_any_and_no_other_sequence_does() {
        let red = "\u{1b}[1m\u{1b}[31mfail\u{1b}[0m";
        assert_eq!(written(red, true), red);
        assert_eq!(written(red, false), "\\u{1b}[1m\\u{1b}[31mfail\\u{1b}[0m");
        for other in
            ["\u{1b}[8mhidden", "\u{1b}[2J", "\u{1b}]0;title\u{7}", "\u{1b}[31", "\u{1b}", "\u{1b}[?25l", "a\u{c}"]
        {
            assert!(!written(other, true).chars().any(is_obeyed), "{other:?}");
        }
    }
}
