//! How a curve keeps the limits of its sheet, in words.

use bobweight::{AdvanceModel, Corner, Judgement, Limit};

/// One sentence for each limit, the broken ones marked.
pub fn limits_in_words(model: &AdvanceModel) -> Vec<String> {
    model.judge().0.iter().map(sentence).collect()
}

fn sentence(judgement: &Judgement) -> String {
    let Judgement { limit, allowed, worst, .. } = judgement;
    let (name, bound, reaches) = match limit {
        Limit::Greatest => ("greatest", "at most", "rises to"),
        Limit::GreatestWithoutVacuum => ("greatest without vacuum", "at most", "rises to"),
        Limit::GreatestCranking => ("greatest cranking", "at most", "is"),
        Limit::Least => ("least", "at least", "falls to"),
    };
    let kept = if judgement.holds() { "kept" } else { "BROKEN" };
    format!("{kept}: {name}, {bound} {allowed}; the sum {reaches} {} {}", worst.sum, place(worst, *limit))
}

fn place(corner: &Corner, limit: Limit) -> String {
    match (corner, limit) {
        (_, Limit::GreatestCranking) => "while cranking".to_owned(),
        (Corner { running: false, .. }, _) => "while held".to_owned(),
        (Corner { speed, depression: Some(depression), .. }, _) => format!("at {speed}, {depression}"),
        (Corner { speed, depression: None, .. }, _) => format!("at {speed} without vacuum"),
    }
}
