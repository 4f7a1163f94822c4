//! A drawing as PDF 1.7, in the one font that every reader has.

use crate::page::tape::{Drawing, Page, Shape, TAPE_PAPER_MM};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

/// Points of a PDF in a millimetre (ISO 32000-1: 1/72 in; the inch is 25.4 mm).
const POINTS_PER_MM: f32 = 72.0 / 25.4;
const FONT: Name = Name(b"F1");

/// The drawing as the bytes of a file.
pub fn render(drawing: &Drawing) -> Vec<u8> {
    let mut pdf = Pdf::new();
    let mut next = 0;
    let mut new = || {
        next += 1;
        Ref::new(next)
    };
    let (catalog, tree, font, info) = (new(), new(), new(), new());
    let pages: Vec<[Ref; 2]> = drawing.pages.iter().map(|_| [new(), new()]).collect();
    let mut entry = pdf.catalog(catalog);
    entry.pages(tree);
    // A reader that heeds it offers to print at actual size.
    entry.viewer_preferences().pair(Name(b"PrintScaling"), Name(b"None"));
    entry.finish();
    let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
    pdf.pages(tree).kids(pages.iter().map(|[page, _]| *page)).count(count);
    for ([page, contents], drawn) in pages.iter().zip(&drawing.pages) {
        let [width, height] = TAPE_PAPER_MM.map(points);
        let mut entry = pdf.page(*page);
        entry.media_box(Rect::new(0.0, 0.0, width, height)).parent(tree).contents(*contents);
        entry.resources().fonts().pair(FONT, font);
        entry.finish();
        pdf.stream(*contents, &content(drawn));
    }
    pdf.type1_font(font).base_font(Name(b"Helvetica"));
    pdf.document_info(info).title(TextStr(&drawing.title));
    pdf.finish()
}

fn content(page: &Page) -> Vec<u8> {
    let mut content = Content::new();
    for shape in &page.shapes {
        match shape {
            Shape::Bar([left, top, width, height]) => {
                content.rect(points(*left), up(top + height), points(*width), points(*height)).fill_nonzero();
            }
            Shape::Polygon(corners) => {
                for (index, [x, y]) in corners.iter().enumerate() {
                    if index == 0 {
                        content.move_to(points(*x), up(*y));
                    } else {
                        content.line_to(points(*x), up(*y));
                    }
                }
                content.fill_nonzero();
            }
            Shape::Text { at: [x, y], size, centred, text } => {
                let left = if *centred { x - size * width(text) / 2.0 } else { *x };
                content.begin_text().set_font(FONT, points(*size));
                content.next_line(points(left), up(*y)).show(Str(text.as_bytes())).end_text();
            }
        }
    }
    content.finish().into_vec()
}

#[expect(clippy::cast_possible_truncation, reason = "a PDF's numbers are single precision; a page is a few hundred mm")]
fn points(mm: f64) -> f32 {
    mm as f32 * POINTS_PER_MM
}

/// A PDF's y counts from the bottom.
fn up(y_mm: f64) -> f32 {
    points(TAPE_PAPER_MM[1] - y_mm)
}

/// Width of a text in heights of its type; only texts that stand centred need it to be right. Source: Adobe's font metrics of
/// Helvetica (from memory).
fn width(text: &str) -> f64 {
    let of = |letter: char| match letter {
        ' ' | 't' => 0.278,
        'i' | 'j' => 0.222,
        'm' => 0.833,
        'A' | 'B' => 0.667,
        'C' | 'D' => 0.722,
        'T' => 0.611,
        _ => 0.556,
    };
    text.chars().map(of).sum()
}
