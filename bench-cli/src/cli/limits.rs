//! How a curve keeps the limits of its sheet, in words.

use bobweight::{AdvanceModel, Corner, Judgement, Limit};

/// One line for each limit, the broken ones marked, under a heading.
pub fn judged_in_words(model: &AdvanceModel) -> String {
    let judgements = model.judge();
    let mut text = "Limits, judged on the sum of all parts at every speed and depression:\n".to_owned();
    for judgement in &judgements.0 {
        text.push_str("  ");
        text.push_str(&line(judgement));
        text.push('\n');
    }
    text
}

fn line(judgement: &Judgement) -> String {
    let Judgement { limit, allowed, worst, .. } = judgement;
    let (name, bound, reaches) = match limit {
        Limit::Greatest => ("greatest", "at most", "rises to"),
        Limit::GreatestWithoutVacuum => ("greatest without vacuum", "at most", "rises to"),
        Limit::GreatestCranking => ("greatest cranking", "at most", "is"),
        Limit::Least => ("least", "at least", "falls to"),
    };
    let kept = if judgement.holds() { "kept  " } else { "BROKEN" };
    format!("{kept}  {name}: {bound} {allowed}; the sum {reaches} {} {}", worst.sum, place(worst, *limit))
}

fn place(corner: &Corner, limit: Limit) -> String {
    match (corner, limit) {
        (_, Limit::GreatestCranking) => "while cranking".to_owned(),
        (Corner { running: false, .. }, _) => "while held".to_owned(),
        (Corner { speed, depression: Some(depression), .. }, _) => format!("at {speed}, {depression}"),
        (Corner { speed, depression: None, .. }, _) => format!("at {speed} without vacuum"),
    }
}
