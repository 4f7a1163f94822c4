//! Lines that more than one page has.

use crate::words::wrap::paragraph;

/// A name and what there is to say of it, wrapped.
pub(super) fn line(text: &mut String, name: &str, what: &str) {
    paragraph(text, &format!("{name:14}"), what);
}

/// How a proof ends: what it does not prove, and what to do next.
pub(super) fn not_proven_and_next(text: &mut String, not_proven: &[String], next_steps: &[String]) {
    for open in not_proven {
        paragraph(text, "not proven: ", open);
    }
    text.push_str("\nNext:\n");
    for step in next_steps {
        paragraph(text, "  - ", step);
    }
}
