//! What counts as yes and as no, wherever somebody is asked.

/// `yes`, `y`, `no` or `n`, in any case.
///
/// # Errors
/// What to write instead; whoever asked asks again.
pub fn yes_or_no(answer: &str) -> Result<bool, String> {
    match answer.trim().to_ascii_lowercase().as_str() {
        "yes" | "y" => Ok(true),
        "no" | "n" => Ok(false),
        _ => Err("answer yes or no".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_is_an_answer_and_a_guess_is_none() {
        for (answer, meant) in [("yes", true), ("Y", true), ("YES\r\n", true), ("No", false), (" n ", false)] {
            assert_eq!(yes_or_no(answer), Ok(meant), "{answer}");
        }
        for unclear in ["", "perhaps", "yess", "none", "ja", "1"] {
            assert_eq!(yes_or_no(unclear), Err("answer yes or no".to_owned()), "{unclear}");
        }
    }
}
