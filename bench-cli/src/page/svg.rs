//! Elements of SVG and HTML as text, everything from outside escaped.

use crate::words::number::short_ungrouped as short;
use crate::words::shown::shown;
use std::fmt::Write;

/// A document as it grows. Elements are closed in the order of their opening by whoever opens them.
#[derive(Debug, Default)]
pub struct Svg {
    text: String,
}

/// Attributes: name and value.
pub type Attributes<'a> = &'a [(&'a str, &'a str)];

impl Svg {
    /// Opens an element.
    pub fn open(&mut self, name: &str, attributes: Attributes) {
        self.tag(name, attributes, ">\n");
    }

    /// Closes an element.
    pub fn close(&mut self, name: &str) {
        let _ = writeln!(self.text, "</{name}>");
    }

    /// An element without content.
    pub fn empty(&mut self, name: &str, attributes: Attributes) {
        self.tag(name, attributes, "/>\n");
    }

    /// An element that holds a text.
    pub fn text_element(&mut self, name: &str, attributes: Attributes, text: &str) {
        self.tag(name, attributes, ">");
        let _ = writeln!(self.text, "{}</{name}>", escape(text));
    }

    /// Markup that is made already.
    pub fn markup(&mut self, markup: &str) {
        self.text.push_str(markup);
    }

    /// What there is so far.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The whole text, for good.
    pub fn into_text(self) -> String {
        self.text
    }

    fn tag(&mut self, name: &str, attributes: Attributes, end: &str) {
        let _ = write!(self.text, "<{name}");
        for (name, value) in attributes {
            let _ = write!(self.text, " {name}=\"{}\"", escape(value));
        }
        self.text.push_str(end);
    }
}

/// A number with three digits after the point at most.
pub fn number(value: f64) -> String {
    short(value, 3)
}

/// A text that means itself in element and attribute. Control characters, terminal escapes among them, and signs that turn
/// the direction of the text are written out, see [`shown`].
pub fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in shown(text).chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            _ => safe.push(letter),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: HTML Living Standard, 13.3, escaping a string (from memory).
    #[test]
    fn what_comes_from_outside_means_itself() {
        assert_eq!(escape("<b onclick='x'>\"&"), "&lt;b onclick=&#39;x&#39;&gt;&quot;&amp;");
        assert_eq!(escape("red \u{1b}[31m\u{202e}"), "red \\u{1b}[31m\\u{202e}");
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!([1.0, 0.12345, -0.0001, 100.0].map(number), ["1", "0.123", "0", "100"]);
    }
}
