//! The pieces of the page: headings, lists, tables, figures, lines as they were written.

use crate::page::svg::Svg;

/// What every page begins with. Nothing is fetched and nothing runs, whatever a name in a result may hold.
const FIRST_LINES: &str = "<!DOCTYPE html>
<html lang=\"en\">
<head>
<meta charset=\"utf-8\">
<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">
<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">
";

/// Whether a text is a page that `Html::whole` made.
pub fn is_a_page(text: &str) -> bool {
    text.starts_with(FIRST_LINES)
}

/// A page as it grows.
#[derive(Debug, Default)]
pub struct Html {
    text: Svg,
}

impl Html {
    /// A whole page around this content.
    pub fn whole(title: &str, content: &Self) -> String {
        let mut page = Svg::default();
        page.markup(FIRST_LINES);
        page.text_element("title", &[], title);
        page.markup("<style>\n");
        page.markup(include_str!("report.css"));
        page.markup(include_str!("engine_file/engine_file.css"));
        page.markup("</style>\n</head>\n<body>\n<main>\n");
        page.markup(content.text.text());
        page.markup("</main>\n</body>\n</html>\n");
        page.into_text()
    }

    /// A heading of level 1 to 3.
    pub fn heading(&mut self, level: u8, text: &str) {
        self.text.text_element(["h1", "h2", "h3"][usize::from(level.clamp(1, 3)) - 1], &[], text);
    }

    /// A paragraph.
    pub fn paragraph(&mut self, text: &str) {
        self.text.text_element("p", &[], text);
    }

    /// A paragraph of its own class.
    pub fn marked(&mut self, class: &str, text: &str) {
        self.text.text_element("p", &[("class", class)], text);
    }

    /// A list; nothing where it is empty.
    pub fn list(&mut self, items: impl IntoIterator<Item = impl AsRef<str>>) {
        let mut items = items.into_iter().peekable();
        if items.peek().is_none() {
            return;
        }
        self.text.open("ul", &[]);
        items.for_each(|item| self.text.text_element("li", &[], item.as_ref()));
        self.text.close("ul");
    }

    /// Names and what belongs to them.
    pub fn definitions(&mut self, rows: &[(&str, String)]) {
        self.text.open("dl", &[]);
        for (name, value) in rows {
            self.text.text_element("dt", &[], name);
            self.text.text_element("dd", &[], value);
        }
        self.text.close("dl");
    }

    /// A table; on a narrow screen it is moved sideways, by the keyboard too.
    pub fn table(&mut self, caption: &str, heads: &[&str], rows: &[Vec<String>]) {
        self.text.open("div", &[("class", "wide"), ("tabindex", "0"), ("role", "region"), ("aria-label", caption)]);
        self.text.open("table", &[]);
        self.text.text_element("caption", &[], caption);
        self.text.open("thead", &[]);
        self.text.open("tr", &[]);
        for head in heads {
            self.text.text_element("th", &[("scope", "col")], head);
        }
        self.text.close("tr");
        self.text.close("thead");
        self.text.open("tbody", &[]);
        for row in rows {
            self.text.open("tr", &[]);
            for (at, cell) in row.iter().enumerate() {
                if at == 0 {
                    self.text.text_element("th", &[("scope", "row")], cell);
                } else {
                    self.text.text_element("td", &[], cell);
                }
            }
            self.text.close("tr");
        }
        self.text.close("tbody");
        self.text.close("table");
        self.text.close("div");
    }

    /// Lines as they were written; on a narrow screen they are moved sideways, by the keyboard too.
    pub fn as_written(&mut self, caption: &str, lines: &str) {
        self.text.open("div", &[("class", "wide"), ("tabindex", "0"), ("role", "region"), ("aria-label", caption)]);
        self.text.text_element("pre", &[], lines);
        self.text.close("div");
    }

    /// A chart with what stands below it.
    pub fn figure(&mut self, chart: &str, caption: &str) {
        self.text.open("figure", &[]);
        self.text.markup(chart);
        self.text.text_element("figcaption", &[], caption);
        self.text.close("figure");
    }

    /// A picture with what stands below it, and beside it, or under it on a narrow screen, its figures as text.
    pub fn picture(&mut self, chart: &str, caption: &str, beside: impl FnOnce(&mut Self)) {
        self.text.open("div", &[("class", "picture")]);
        self.figure(chart, caption);
        self.text.open("div", &[]);
        beside(self);
        self.text.close("div");
        self.text.close("div");
    }

    /// Opens a frame.
    pub fn open_frame(&mut self, class: &str, label: &str) {
        self.text.open("section", &[("class", class), ("aria-label", label)]);
    }

    /// Closes it.
    pub fn close_frame(&mut self) {
        self.text.close("section");
    }
}
