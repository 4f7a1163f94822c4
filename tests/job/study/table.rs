//! Counts and widths of a class, and how they are printed.

use bobweight_tests::seeds::Tally;

/// A share as a percentage, with what it is of; a dash of none.
pub fn percent(tally: Tally) -> String {
    if tally.of == 0 { "-".to_owned() } else { format!("{:.1}", 100.0 * tally.share()) }
}

/// The middle of some values; nothing of none.
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied()
}

/// The middle, to so many places; a dash of none.
pub fn width(values: &[f64], places: usize) -> String {
    median(values).map_or("-".to_owned(), |value| format!("{value:.places$}"))
}

/// Prints rows under their heads, each column as wide as its widest cell.
pub fn print(title: &str, rows: &[Vec<String>]) {
    println!("\n{title}");
    let columns = rows.first().map_or(0, Vec::len);
    let widest = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    for row in rows {
        let cells = (0..columns).map(|column| {
            let width = widest(column);
            if column == 0 { format!("{:<width$}", row[column]) } else { format!("{:>width$}", row[column]) }
        });
        println!("  {}", cells.collect::<Vec<_>>().join("  "));
    }
}
