//! Reads one table of the sheet key by key, and finds what nobody asked for.

use super::error::SheetError;
use super::key::{Key, Place, Source};
use super::questions;
use super::value::{Bounds, article, elements, list, quantity, whole, written, wrong_quantity};
use crate::quantity::{self, Dimension, Pressure};
use std::cell::RefCell;
use std::ops::{Range, RangeInclusive};
use std::sync::Arc;
use toml_edit::{Item, TableLike};

/// A table, or the place where it would stand.
pub(super) struct Table<'a> {
    source: Arc<Source>,
    name: String,
    items: Option<&'a dyn TableLike>,
    span: Range<usize>,
    asked: RefCell<Vec<&'static str>>,
}

impl<'a> Table<'a> {
    pub(super) fn root(source: &Arc<Source>, items: &'a dyn TableLike) -> Self {
        let span = first_line(&source.text);
        Self { source: source.clone(), name: String::new(), items: Some(items), span, asked: RefCell::default() }
    }

    /// A table of this table. One that is missing reads as one without keys.
    pub(super) fn table(&self, name: &'static str) -> Result<Self, SheetError> {
        let Some((place, item)) = self.item(name) else {
            return Ok(self.child(name, None, self.span.clone()));
        };
        let Some(items) = item.as_table_like() else {
            return Err(place.refuse(
                format!("is {}, not a table", article(item)),
                "a table is wanted here",
                format!("write `[{}]` and its keys below", place.key),
            ));
        };
        let span = item.span().unwrap_or_else(|| place.span.clone());
        Ok(self.child(name, Some(items), span))
    }

    /// The tables of an array of tables, none if it is missing.
    pub(super) fn tables(&self, name: &'static str) -> Result<Vec<Self>, SheetError> {
        let Some((place, item)) = self.item(name) else {
            return Ok(Vec::new());
        };
        let Some(tables) = item.as_array_of_tables() else {
            return Err(place.refuse(
                format!("is {}, not a list of tables", article(item)),
                "tables are wanted here",
                format!("write `[[{}]]` with two brackets above each", place.key),
            ));
        };
        let child = |table: &'a toml_edit::Table| {
            self.child(name, Some(table), table.span().unwrap_or_else(|| place.span.clone()))
        };
        Ok(tables.iter().map(child).collect())
    }

    fn child(&self, name: &str, items: Option<&'a dyn TableLike>, span: Range<usize>) -> Self {
        let name = self.path(name);
        Self { source: self.source.clone(), name, items, span, asked: RefCell::default() }
    }

    /// Whether the sheet has this table.
    pub(super) fn is_there(&self) -> bool {
        self.items.is_some()
    }

    /// A quantity of one dimension within its bounds.
    pub(super) fn quantity(
        &self,
        name: &'static str,
        dimension: &'static Dimension,
        bounds: Bounds,
    ) -> Result<Key<f64>, SheetError> {
        self.read(name, |place, item| quantity(&place, item, dimension, bounds))
    }

    /// A list of `N` quantities of one dimension within their bounds.
    pub(super) fn quantities<const N: usize>(
        &self,
        name: &'static str,
        dimension: &'static Dimension,
        bounds: Bounds,
    ) -> Result<Key<[f64; N]>, SheetError> {
        self.read(name, |place, item| {
            let form = format!("{N} quantities such as [\"{}\", …]", dimension.example);
            let values = quantities(&place, item, dimension, bounds, &form)?;
            values.try_into().map_err(|values: Vec<f64>| {
                place.refuse(format!("has {} values", values.len()), format!("{N} are wanted"), format!("write {form}"))
            })
        })
    }

    /// A list of quantities of one dimension within their bounds, as many as there are.
    pub(super) fn list_of_quantities(
        &self,
        name: &'static str,
        dimension: &'static Dimension,
        bounds: Bounds,
    ) -> Result<Key<Vec<f64>>, SheetError> {
        let form = format!("quantities such as [\"{}\", …]", dimension.example);
        self.read(name, |place, item| quantities(&place, item, dimension, bounds, &form))
    }

    /// A pressure that says its side of the atmosphere.
    pub(super) fn pressure(&self, name: &'static str) -> Result<Key<Pressure>, SheetError> {
        self.read(name, |place, item| {
            let written = written(&place, item, "47 kPa depression")?;
            quantity::parse_pressure(&written).map_err(|error| wrong_quantity(&place, &error))
        })
    }

    /// A text that a reader of its own understands.
    pub(super) fn read_text<T>(
        &self,
        name: &'static str,
        example: &str,
        read: impl FnOnce(&Place, &str) -> Result<T, SheetError>,
    ) -> Result<Key<T>, SheetError> {
        self.read(name, |place, item| {
            let text = item.as_str().ok_or_else(|| {
                place.refuse(
                    format!("is {}, not a text", article(item)),
                    "a text in quotes is wanted here",
                    format!("write it in quotes, such as `\"{example}\"`"),
                )
            })?;
            read(&place, text)
        })
    }

    /// Any text but an empty one.
    pub(super) fn text(&self, name: &'static str, example: &str) -> Result<Key<String>, SheetError> {
        self.read_text(name, example, |place, text| {
            if text.trim().is_empty() {
                return Err(place.refuse(
                    "is empty",
                    "nothing is said here",
                    format!("write, for example, `\"{example}\"`"),
                ));
            }
            Ok(text.to_owned())
        })
    }

    /// One of a few words.
    pub(super) fn word<T: Copy>(&self, name: &'static str, words: &[(&str, T)]) -> Result<Key<T>, SheetError> {
        self.read_text(name, words.first().map_or("", |(word, _)| word), |place, text| {
            words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value).ok_or_else(|| {
                let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                let help = format!("write {}", one_of(&known));
                place.refuse(format!("is `{text}`"), "is none of the words that are known here", help)
            })
        })
    }

    /// A whole number within its bounds.
    pub(super) fn whole(&self, name: &'static str, bounds: RangeInclusive<u32>) -> Result<Key<u32>, SheetError> {
        self.read(name, |place, item| whole(&place, item, &bounds))
    }

    /// A list of whole numbers within their bounds.
    pub(super) fn wholes(&self, name: &'static str, bounds: RangeInclusive<u32>) -> Result<Key<Vec<u32>>, SheetError> {
        self.read(name, |place, item| {
            elements(&place, list(&place, item, "whole numbers such as [1, 3, 4, 2]")?)
                .map(|(place, item)| whole(&place, &item, &bounds))
                .collect()
        })
    }

    /// A key that is read as it stands.
    pub(super) fn read<T>(
        &self,
        name: &'static str,
        read: impl FnOnce(Place, &Item) -> Result<T, SheetError>,
    ) -> Result<Key<T>, SheetError> {
        match self.item(name) {
            None => Ok(Key { place: self.place(name, self.span.clone()), value: None }),
            Some((place, item)) => Ok(Key { place: place.clone(), value: Some(read(place, item)?) }),
        }
    }

    /// Refuses every key that nobody asked for.
    pub(super) fn finish(self) -> Result<(), SheetError> {
        let asked = self.asked.borrow();
        let Some(items) = self.items else {
            return Ok(());
        };
        for (name, item) in items.iter() {
            if asked.contains(&name) {
                continue;
            }
            let span = items.key(name).and_then(toml_edit::Key::span).or_else(|| item.span());
            let place = self.place(name, span.unwrap_or_else(|| self.span.clone()));
            return Err(place.refuse("is not known", "unknown key", self.unknown(name, &asked)));
        }
        Ok(())
    }

    fn unknown(&self, name: &str, asked: &[&str]) -> String {
        let likeness = |key: &str| strsim::normalized_damerau_levenshtein(key, name);
        let nearest = asked.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b))).filter(|key| likeness(key) > 0.4);
        let hint = match (nearest, questions::tables_of(name).as_slice()) {
            (Some(key), _) if likeness(key) > 0.7 => format!("the nearest known key is `{key}`; "),
            (_, [table, ..]) => format!("`{name}` belongs under `[{table}]`; "),
            (Some(key), _) => format!("the nearest known key is `{key}`; "),
            (None, _) => "no known key is near it; if a newer bobweight wrote it, use that one; ".to_owned(),
        };
        format!("{hint}{} takes {}", self.title(), all_of(asked))
    }

    fn title(&self) -> String {
        if self.name.is_empty() { "the top of the sheet".to_owned() } else { format!("`[{}]`", self.name) }
    }

    fn item(&self, name: &'static str) -> Option<(Place, &'a Item)> {
        let mut asked = self.asked.borrow_mut();
        if !asked.contains(&name) {
            asked.push(name);
        }
        let item = self.items?.get(name).filter(|item| !item.is_none())?;
        let key = || self.items.and_then(|items| items.key(name)).and_then(toml_edit::Key::span);
        let span = item.span().or_else(key).unwrap_or_else(|| self.span.clone());
        Some((self.place(name, span), item))
    }

    fn place(&self, name: &str, span: Range<usize>) -> Place {
        Place { source: self.source.clone(), key: self.path(name), span }
    }

    fn path(&self, name: &str) -> String {
        if self.name.is_empty() { name.to_owned() } else { format!("{}.{name}", self.name) }
    }
}

fn quantities(
    place: &Place,
    item: &Item,
    dimension: &'static Dimension,
    bounds: Bounds,
    form: &str,
) -> Result<Vec<f64>, SheetError> {
    let array = list(place, item, form)?;
    elements(place, array).map(|(place, item)| quantity(&place, &item, dimension, bounds)).collect()
}

fn one_of(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`\"{word}\"`")).collect();
    quoted.join(" or ")
}

fn all_of(keys: &[&str]) -> String {
    let quoted: Vec<String> = keys.iter().map(|key| format!("`{key}`")).collect();
    quoted.join(", ")
}

fn first_line(text: &str) -> Range<usize> {
    0..text.lines().next().map_or(0, str::len)
}
