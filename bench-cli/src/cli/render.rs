//! Errors as a person reads them: what, where in which file, and what to do next.

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme};

/// An error with its place in the text and its remedy, wrapped to `width` columns.
pub fn render(error: &dyn Diagnostic, colour: bool, width: usize) -> String {
    let theme = if colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let mut text = String::new();
    let handler = GraphicalReportHandler::new_themed(theme).with_width(width).with_links(false);
    if handler.render_report(&mut text, error).is_err() {
        // A place outside its text must not cost the message.
        return format!("{error}\n");
    }
    text
}
