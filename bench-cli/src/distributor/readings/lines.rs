//! The lines of a file split into fields, each with its place.

use std::ops::Range;

use super::text::Text;

/// The fields of one line with their places in the file.
pub(crate) type Fields = Vec<(String, Range<usize>)>;

/// From the first field of a line to its last.
pub(crate) fn whole(line: &Fields) -> Range<usize> {
    line.first().map_or(0, |(_, place)| place.start)..line.last().map_or(0, |(_, place)| place.end)
}

/// The lines that hold anything, as the CSV reader splits them.
pub(crate) fn lines(text: &Text<'_>) -> Vec<Fields> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.data.as_slice());
    let mut lines = Vec::new();
    let mut record = csv::StringRecord::new();
    // The bytes are in memory, UTF-8 and flexible in length, so that a record is the only answer.
    while let Ok(true) = reader.read_record(&mut record) {
        if record.iter().all(str::is_empty) {
            continue;
        }
        let start = record.position().map_or(0, csv::Position::byte);
        let places = field_places(&text.data, usize::try_from(start).unwrap_or(0));
        let fields = record.iter().zip(places.into_iter().chain(std::iter::repeat(0..0)));
        lines.push(fields.map(|(field, place)| (field.to_owned(), place)).collect());
    }
    lines
}

/// Where the fields of the record at `start` stand; the CSV reader tells only where a record begins.
fn field_places(data: &[u8], start: usize) -> Vec<Range<usize>> {
    // The reader counts the empty lines before a record to it.
    let mut begin = start + data[start..].iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).count();
    let mut places = Vec::new();
    let mut quoted = false;
    let mut at = begin;
    loop {
        match data.get(at) {
            Some(b'"') => quoted = !quoted,
            Some(b',') if !quoted => {
                places.push(trimmed(data, begin..at));
                begin = at + 1;
            }
            Some(b'\n' | b'\r') if !quoted => break,
            None => break,
            Some(_) => {}
        }
        at += 1;
    }
    places.push(trimmed(data, begin..at));
    places
}

fn trimmed(data: &[u8], place: Range<usize>) -> Range<usize> {
    let field = &data[place.clone()];
    if field.trim_ascii().is_empty() {
        return place;
    }
    let start = place.start + (field.len() - field.trim_ascii_start().len());
    start..start + field.trim_ascii().len()
}
