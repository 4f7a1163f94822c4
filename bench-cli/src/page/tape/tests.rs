use super::*;

fn tape(rotation: Rotation, carrier: Carrier) -> Tape {
    Tape::new(152.0, [-10.0, 50.0], rotation, carrier).expect("a tape")
}

/// Source: geometry. What passes a fixed pointer before the mark of top dead centre does is ahead of that mark in the
/// direction of rotation; a notch that turns comes to a fixed mark from behind.
#[test]
fn before_top_dead_centre_lies_ahead_on_a_pulley_and_behind_on_a_plate() {
    use Carrier::{Plate, Pulley};
    use Rotation::{Anticlockwise, Clockwise};
    let side = |rotation, carrier| tape(rotation, carrier).side_of_before();
    assert_eq!(side(Clockwise, Pulley), Side::Right);
    assert_eq!(side(Anticlockwise, Pulley), Side::Left);
    assert_eq!(side(Clockwise, Plate), Side::Left);
    assert_eq!(side(Anticlockwise, Plate), Side::Right);
}

/// Source: geometry, pi d a / 360: 6 degrees on 169.86 mm are 8.894 mm; a tenth of the circumference is 36 degrees.
#[test]
fn lengths_along_the_rim() {
    let large = Tape::new(169.86, [0.0, 36.0], Rotation::Clockwise, Carrier::Pulley).expect("a tape");
    assert!((large.length_mm(6.0) - 8.894).abs() < 5e-4);
    assert!((large.length_mm(36.0) - std::f64::consts::PI * 16.986).abs() < 1e-9);
}

#[test]
fn what_cannot_be_drawn_is_refused_by_name() {
    let refused =
        |diameter, ends| Tape::new(diameter, ends, Rotation::Clockwise, Carrier::Pulley).expect_err("refused");
    assert_eq!(refused(5.0, [-10.0, 50.0]), TapeError::Diameter(5.0));
    assert_eq!(refused(152.0, [10.0, 50.0]), TapeError::WithoutTopDeadCentre);
    assert_eq!(refused(152.0, [0.0, 0.0]), TapeError::Length(0));
    assert_eq!(refused(152.0, [-181.0, 180.0]), TapeError::Length(361));
    assert!(matches!(refused(152.0, [-10.0, 49.5]), TapeError::BetweenDegrees { option: "--to", .. }));
}

#[test]
fn nothing_is_drawn_where_a_printer_leaves_white_nor_outside_ascii() {
    for (diameter, ends) in [(40.0, [-180.0, 180.0]), (152.0, [-10.0, 50.0]), (600.0, [-180.0, 180.0])] {
        for rotation in [Rotation::Clockwise, Rotation::Anticlockwise] {
            let drawing = Drawing::of(&Tape::new(diameter, ends, rotation, Carrier::Pulley).expect("a tape"));
            for shape in drawing.pages.iter().flat_map(|page| &page.shapes) {
                let (low, high) = match shape {
                    Shape::Bar([x, y, width, height]) => ([*x, *y], [x + width, y + height]),
                    Shape::Polygon(corners) => (corners[0], corners[1]),
                    Shape::Text { at, text, .. } => {
                        assert!(text.chars().all(|letter| (' '..='~').contains(&letter)), "{text}");
                        (*at, *at)
                    }
                };
                assert!(low[0] > 6.0 && low[1] > 6.0, "{shape:?}");
                assert!(high[0] < TAPE_PAPER_MM[0] - 6.0 && high[1] < TAPE_PAPER_MM[1] - 6.0, "{shape:?}");
            }
        }
    }
}

/// The height is that of MIL-STD-1472 for scales that move, in poor light from 0.71 m: 5 to 8 mm (from memory).
#[test]
fn numerals_are_five_millimetres_high_and_touch_nothing() {
    for (diameter, ends, step, height) in [
        (152.0, [-10.0, 50.0], 10, 5.0),
        (60.0, [-20.0, 60.0], 20, 5.0),
        (40.0, [-20.0, 60.0], 30, 5.0),
        // Three digits on the smallest rim are as high as they have room.
        (40.0, [-180.0, 180.0], 30, 3.8),
    ] {
        let tape = Tape::new(diameter, ends, Rotation::Clockwise, Carrier::Pulley).expect("a tape");
        let numerals = layout::Numerals::of(&tape);
        let drawn = Drawing::of(&tape);
        let mut numbers = Vec::new();
        for shape in drawn.pages.iter().flat_map(|page| &page.shapes) {
            if let Shape::Text { at, size, text, centred: true } = shape
                && text.parse::<i32>().is_ok()
            {
                numbers.push((*at, *size, text.clone()));
            }
        }
        assert!(numerals.step == step && numbers.len() >= 2, "{diameter}: {numbers:?}");
        for (_, size, text) in &numbers {
            assert!((size * 0.703 - height).abs() < 0.1, "{diameter}: {text} of {size} mm");
        }
        for pair in numbers.windows(2) {
            let [(one, size, text), (other, _, _)] = pair else { continue };
            #[expect(clippy::cast_precision_loss, reason = "three digits")]
            let breadth = 0.556 * size * text.len() as f64;
            assert!((one[1] - other[1]).abs() > 1.0 || other[0] - one[0] > breadth, "{diameter}: {pair:?}");
        }
    }
}
