//! Numbers as people read them. Every number of a text goes through here, or through a format with its places: what a
//! conversion leaves behind the last digit is shown to nobody, and nothing is "-0".

/// A number to so many places.
pub fn fixed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(size) if size.chars().all(|digit| matches!(digit, '0' | '.')) => size.to_owned(),
        _ => text,
    }
}

/// A number to at most so many places, without noughts at its end.
pub fn short(value: f64, places: usize) -> String {
    let text = fixed(value, places);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_nought_has_no_side_and_a_conversion_no_tail() {
        assert_eq!([-0.0, -0.004, 0.004, -0.006].map(|value| fixed(value, 2)), ["0.00", "0.00", "0.00", "-0.01"]);
        assert_eq!([-0.4, 0.0, -1.0].map(|value| fixed(value, 0)), ["0", "0", "-1"]);
        assert_eq!(
            [7.0 * 25.4, 180.0, 0.5, -0.0, 8.25].map(|value| short(value, 3)),
            ["177.8", "180", "0.5", "0", "8.25"]
        );
        assert_eq!(short(1200.0, 0), "1200");
    }
}
