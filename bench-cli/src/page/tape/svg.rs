//! One page of a drawing as SVG 1.1, a user unit being a millimetre.

use crate::page::svg::{Svg, number};
use crate::page::tape::{Page, Shape, TAPE_PAPER_MM};

/// The page as a document.
pub fn render(title: &str, page: &Page) -> String {
    let [width, height] = TAPE_PAPER_MM;
    let mut svg = Svg::default();
    svg.open(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("width", &format!("{width}mm")),
            ("height", &format!("{height}mm")),
            ("viewBox", &format!("0 0 {width} {height}")),
        ],
    );
    svg.text_element("title", &[], title);
    for shape in &page.shapes {
        match shape {
            Shape::Bar([left, top, width, height]) => svg.empty(
                "rect",
                &[
                    ("x", &number(*left)),
                    ("y", &number(*top)),
                    ("width", &number(*width)),
                    ("height", &number(*height)),
                ],
            ),
            Shape::Polygon(corners) => {
                let corners: Vec<String> =
                    corners.iter().map(|[x, y]| format!("{},{}", number(*x), number(*y))).collect();
                svg.empty("polygon", &[("points", &corners.join(" "))]);
            }
            Shape::Text { at: [x, y], size, centred, text } => svg.text_element(
                "text",
                &[
                    ("x", &number(*x)),
                    ("y", &number(*y)),
                    ("font-size", &number(*size)),
                    ("font-family", "Helvetica, Arial, sans-serif"),
                    ("text-anchor", if *centred { "middle" } else { "start" }),
                ],
                text,
            ),
        }
    }
    svg.close("svg");
    svg.into_text()
}
