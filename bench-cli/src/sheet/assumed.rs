//! `assumed`: which values of the sheet nobody knows so far. They serve to look at a curve and to bench it in simulation; an ignition is
//! given none of those that it lives by.

use super::Sheet;
use super::error::SheetError;
use super::guide::how_to_know;
use super::key::{Key, Place};
use super::table::Table;
use super::value::{article, elements, list};
use toml_edit::{Item, TableLike};

/// The tables whose values may be assumed. A limit is what somebody answers for, and what was found, or stands in a book, is no
/// assumption.
const TABLES: [&str; 11] = [
    "engine",
    "distributor",
    "pickup",
    "ignition",
    "advance",
    "centrifugal",
    "vacuum",
    "sensor",
    "starter",
    "battery",
    "coil",
];
/// Tolerances judge a bench run and are given to nobody.
const JUDGES: &str = "tolerance";

/// Reads the list, and looks that each of its keys stands in the sheet, once, and may be assumed.
pub(super) fn assumed(top: &Table, sheet: &dyn TableLike) -> Result<Key<Vec<String>>, SheetError> {
    top.read("assumed", |place, item| {
        let array = list(&place, item, "keys with their tables, such as [\"coil.burn_time\"]")?;
        let mut keys: Vec<String> = Vec::new();
        for (place, item) in elements(&place, array) {
            let key = one(&place, &item, sheet)?;
            if keys.contains(&key) {
                return Err(place.refuse(
                    format!("names `{key}` twice"),
                    "stands there already",
                    "take one of them out",
                ));
            }
            keys.push(key);
        }
        Ok(keys)
    })
}

fn one(place: &Place, item: &Item, sheet: &dyn TableLike) -> Result<String, SheetError> {
    let Some(key) = item.as_str() else {
        let help = "write the key with its table in quotes, such as `\"coil.burn_time\"`";
        return Err(place.refuse(format!("has {} here", article(item)), "a key in quotes is wanted here", help));
    };
    let (table, name) = key.rsplit_once('.').unwrap_or(("", key));
    if table == "limits" {
        return Err(place.refuse(
            format!("names `{key}`, and a limit is never assumed"),
            "is a limit of the engine",
            "take it out of the list: find out what the engine stands, by its book or whoever knows it, and write that",
        ));
    }
    if !TABLES.contains(&table) && table != JUDGES {
        return Err(place.refuse(
            format!("names `{key}`, which is nothing that can be assumed"),
            "here",
            format!("name keys of {} and {JUDGES}, each with its table, such as `coil.burn_time`", TABLES.join(", ")),
        ));
    }
    let there = sheet.get(table).and_then(Item::as_table_like).and_then(|table| table.get(name));
    if there.is_none_or(Item::is_none) {
        let help = "write the value that is assumed, or take the key out of the list";
        return Err(place.refuse(format!("names `{key}`, which is not in the sheet"), "has no value", help));
    }
    Ok(key.to_owned())
}

impl Sheet {
    /// The keys whose values nobody knows so far, as the sheet lists them.
    pub fn assumptions(&self) -> &[String] {
        self.assumed.value().map_or(&[], Vec::as_slice)
    }

    /// Refuses to give an ignition what is only assumed.
    ///
    /// # Errors
    /// Where an assumption stands in what an ignition lives by; it names each with the way to know it.
    pub fn refuse_assumed(&self, so: &str) -> Result<(), SheetError> {
        let held: Vec<&String> = self.assumptions().iter().filter(|key| is_lived_by(key)).collect();
        if held.is_empty() {
            return Ok(());
        }
        let ways: Vec<String> =
            held.iter().map(|key| format!("`{key}`: {}", how_to_know(key).trim_end_matches('.'))).collect();
        let (count, is) = if held.len() == 1 { ("a value", "is") } else { ("values", "are") };
        Err(self.assumed.refuse(
            format!("names {count} that {is} only assumed and that an ignition lives by, so {so}"),
            "nobody knows these so far",
            format!(
                "find out what follows, then answer it in `bobweight begin`, or write it into the sheet and take its key out of `assumed`. {}",
                ways.join(". ")
            ),
        ))
    }
}

/// Whether a wrong value here could spark at a wrong moment, or burn a coil or its driver.
fn is_lived_by(key: &str) -> bool {
    let table = key.split('.').next().unwrap_or_default();
    ["pickup", "coil", "sensor", "limits"].contains(&table)
        || ["distributor.old_advance", "engine.supply", "engine.cylinders"].contains(&key)
}

#[cfg(test)]
mod tests {
    use crate::sheet::tests::demo_text;
    use crate::sheet::{Sheet, parse};

    fn with(list: &str) -> Result<Sheet, crate::sheet::SheetError> {
        let text = demo_text().replacen("[engine]", &format!("assumed = {list}\n\n[engine]"), 1);
        parse("engine.toml", &text)
    }

    #[test]
    fn what_an_ignition_lives_by_is_held_back_with_the_way_to_know_it() {
        let sheet = with("[\"advance.held\", \"coil.burn_time\", \"pickup.angle\"]").expect("a sheet");
        assert_eq!(sheet.assumptions().len(), 3);
        let refused = sheet.refuse_assumed("nothing is written").expect_err("two of them");
        assert_eq!(refused.key(), Some("assumed"));
        let help = miette::Diagnostic::help(&refused).expect("a remedy").to_string();
        assert!(help.contains("`coil.burn_time`: ") && help.contains("`pickup.angle`: "), "{help}");
        assert!(!help.contains("advance.held"), "degrees are held by the limits: {help}");
        with("[\"advance.held\", \"tolerance.bench\"]").expect("a sheet").refuse_assumed("").expect("nothing of it");
        with("[]").expect("a sheet").refuse_assumed("").expect("nothing is assumed");
    }

    #[test]
    fn an_assumption_changes_what_a_sheet_says_and_none_changes_nothing() {
        let plain = parse("engine.toml", demo_text()).expect("the demo").digest();
        assert_eq!(with("[]").expect("a sheet").digest(), plain);
        assert_ne!(with("[\"coil.burn_time\"]").expect("a sheet").digest(), plain);
    }
}
