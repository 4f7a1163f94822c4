//! Points of a curve as somebody types them: `0 at 450, 6 at 850, 10 at 1650, distributor`. What is added stands first, then where.

/// Points, and what stands behind them.
#[derive(Clone, Debug, PartialEq)]
pub struct TypedPoints {
    /// Where, and what is added there, in the order in which they were typed.
    pub points: Vec<[f64; 2]>,
    /// The words behind the last point, each between commas.
    pub words: Vec<String>,
}

/// As many breakpoints as a curve may have.
const MOST: usize = 16;

/// Reads them.
///
/// # Errors
/// What is no point, fewer than two, more than sixteen, and a place that is not beyond the one before.
pub fn points_from(text: &str) -> Result<TypedPoints, String> {
    let mut read = TypedPoints { points: Vec::new(), words: Vec::new() };
    for part in text.split(',') {
        let part = part.trim();
        if let Some((adds, at)) = part.split_once(" at ") {
            if !read.words.is_empty() {
                return Err(format!("`{part}` stands behind a unit: points first, then units"));
            }
            let [at, adds] = [number(at)?, number(adds)?];
            if read.points.last().is_some_and(|last| last[0] >= at) {
                return Err(format!("`{part}` is not beyond the point before it: the least speed or vacuum first"));
            }
            read.points.push([at, adds]);
        } else if !part.is_empty() {
            read.words.push(part.to_lowercase());
        }
    }
    if (2..=MOST).contains(&read.points.len()) {
        Ok(read)
    } else {
        Err(format!("a curve has 2 to {MOST} points, and here are {}", read.points.len()))
    }
}

fn number(text: &str) -> Result<f64, String> {
    let text = text.trim();
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => Err(format!("`{text}` is no number: write a point as `6 at 850`, and the units behind the last point")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_are_read_in_order_and_what_is_none_is_told() {
        let read = points_from("0 at 450, 6 at 850, 10 at 1650, Distributor").expect("points");
        assert_eq!(read.points, [[450.0, 0.0], [850.0, 6.0], [1650.0, 10.0]]);
        assert_eq!(read.words, ["distributor"]);
        for (wrong, what) in [
            ("", "2 to 16 points, and here are 0"),
            ("6 at 850", "here are 1"),
            ("0 at 450, 6 at 400", "not beyond"),
            ("0 at 450, 6 at 450", "not beyond"),
            ("0 at 450, crank, 6 at 850", "points first"),
            ("0 at 450, six at 850", "no number"),
            ("0 at 450, 6 at inf", "no number"),
            ("0 at 450, NaN at 850", "no number"),
        ] {
            let error = points_from(wrong).expect_err(wrong);
            assert!(error.contains(what), "{wrong}: {error}");
        }
    }
}
