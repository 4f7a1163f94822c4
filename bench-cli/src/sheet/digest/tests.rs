use crate::sheet::{Sheet, parse, questions};
use std::collections::BTreeSet;
use std::fmt::Write;
use toml_edit::{Array, DocumentMut, Item, Table, Value};

/// Every key that a sheet can have. Invented.
const EVERY_KEY: &str = include_str!("every_key.toml");

/// The same with the keys that a pickup of this kind alone has.
fn of_a_coil() -> String {
    [
        ("kind = \"vane\"", "kind = \"coil\""),
        ("angle = \"60 crank degrees BTDC\"", "angle = \"8 crank degrees BTDC\""),
        (
            "second_flank_angle = \"8 crank degrees BTDC\"",
            "moving_flank = [\"18 crank degrees BTDC\", \"13 crank degrees BTDC\"]\nsignal_from = \"40 crank rpm\"",
        ),
    ]
    .iter()
    .fold(EVERY_KEY.to_owned(), |text, (old, new)| {
        let changed = text.replacen(old, new, 1);
        assert_ne!(changed, text, "{old}");
        changed
    })
}

fn sheet(text: &str) -> Sheet {
    parse("sheet.toml", text).unwrap_or_else(|error| panic!("{error:?}\n{text}"))
}

/// One value of a sheet, by the keys and places that lead to it.
type Way = Vec<Step>;

#[derive(Clone, Debug, PartialEq)]
enum Step {
    Key(String),
    At(usize),
}

fn name(way: &Way) -> String {
    let step = |step: &Step| match step {
        Step::Key(key) => key.clone(),
        Step::At(at) => at.to_string(),
    };
    way.iter().map(step).collect::<Vec<_>>().join(".")
}

/// The same without the places in lists.
fn keys(way: &Way) -> String {
    name(&way.iter().filter(|step| matches!(step, Step::Key(_))).cloned().collect())
}

fn ways_of_value(value: &Value, way: &Way, ways: &mut Vec<Way>) {
    match value {
        Value::Array(array) => {
            for (at, value) in array.iter().enumerate() {
                ways_of_value(value, &[&way[..], &[Step::At(at)]].concat(), ways);
            }
        }
        _ => ways.push(way.clone()),
    }
}

fn ways_of_table(table: &Table, way: &Way, ways: &mut Vec<Way>) {
    for (key, item) in table {
        let way = [&way[..], &[Step::Key(key.to_owned())]].concat();
        match item {
            Item::Value(value) => ways_of_value(value, &way, ways),
            Item::Table(table) => ways_of_table(table, &way, ways),
            Item::ArrayOfTables(tables) => {
                for (at, table) in tables.iter().enumerate() {
                    ways_of_table(table, &[&way[..], &[Step::At(at)]].concat(), ways);
                }
            }
            Item::None => {}
        }
    }
}

fn value_at<'d>(document: &'d mut DocumentMut, way: &Way) -> &'d mut Value {
    fn in_value<'v>(value: &'v mut Value, way: &[Step]) -> &'v mut Value {
        match way {
            [Step::At(at), rest @ ..] => {
                in_value(value.as_array_mut().and_then(|array| array.get_mut(*at)).expect("an element"), rest)
            }
            _ => value,
        }
    }
    let mut item = document.as_item_mut();
    for (depth, step) in way.iter().enumerate() {
        if item.is_value() {
            return in_value(item.as_value_mut().expect("a value"), &way[depth..]);
        }
        item = match step {
            Step::Key(key) => &mut item[key.as_str()],
            Step::At(at) => &mut item[*at],
        };
    }
    item.as_value_mut().expect("a value")
}

/// Other values that may stand in a value's place.
fn others(value: &Value) -> Vec<Value> {
    const WORDS: [&str; 33] = [
        "coil.dwell",
        "clockwise",
        "anticlockwise",
        "locked",
        "working",
        "distributor",
        "cam",
        "crank",
        "vane",
        "coil",
        "slot",
        "points",
        "kept",
        "bypassed",
        "rising",
        "falling",
        "manifold",
        "ported",
        "none",
        "closed",
        "open",
        "absolute",
        "differential",
        "94 kPa absolute",
        "distributor rpm",
        "distributor degrees",
        "kPa depression",
        "mmHg absolute",
        "mV",
        "us",
        "s",
        "further from the middle",
        "less compact",
    ];
    let near = |number: f64| {
        let factors = [1.02, 0.98, 1.1, 0.9].map(|factor| number * factor);
        factors.into_iter().chain([number + 1.0]).filter(move |other| other.to_bits() != number.to_bits())
    };
    match value {
        Value::Integer(whole) => {
            let whole = *whole.value();
            [whole + 1, whole - 1, 2 * whole].map(Value::from).to_vec()
        }
        Value::Float(number) => near(*number.value()).map(Value::from).collect(),
        Value::String(text) => {
            let text = text.value();
            let digits = |c: char| c.is_ascii_digit() || c == '.';
            let end = text.find(|c| !digits(c)).unwrap_or(text.len());
            let mut others: Vec<Value> = match text[..end].parse::<f64>() {
                Ok(number) => near(number).map(|other| Value::from(format!("{other}{}", &text[end..]))).collect(),
                Err(_) => Vec::new(),
            };
            others.extend(WORDS.iter().filter(|word| **word != text).map(|word| Value::from(*word)));
            others.push(Value::from(format!("{text}, more")));
            others
        }
        _ => Vec::new(),
    }
}

#[test]
fn every_key_is_in_the_sheet_of_this_test() {
    let mut ways = Vec::new();
    for text in [EVERY_KEY, &of_a_coil()] {
        let document: DocumentMut = text.parse().expect("TOML");
        ways_of_table(document.as_table(), &Vec::new(), &mut ways);
    }
    let there: BTreeSet<String> = ways.iter().map(keys).collect();
    for (table, key) in questions::every_key() {
        let key = if table.is_empty() { key.to_owned() } else { format!("{table}.{key}") };
        assert!(there.contains(&key), "{key} is asked for by a new sheet and not in the sheet of this test");
    }
}

/// The values of a sheet that no other value alone may stand for; every other one that changes must change the digest.
fn held_fast(text: &str) -> Vec<String> {
    let before = sheet(text).digest();
    let document: DocumentMut = text.parse().expect("TOML");
    let mut ways = Vec::new();
    ways_of_table(document.as_table(), &Vec::new(), &mut ways);
    let mut fast = Vec::new();
    for way in &ways {
        let old = value_at(&mut document.clone(), way).clone();
        let changed = others(&old).into_iter().find_map(|other| {
            let mut document = document.clone();
            *value_at(&mut document, way) = other;
            parse("sheet.toml", &document.to_string()).ok()
        });
        match changed {
            Some(changed) => assert_ne!(changed.digest(), before, "{} of {old} is changed", name(way)),
            None => fast.push(name(way)),
        }
    }
    fast
}

#[test]
fn every_value_that_changes_changes_the_digest() {
    let fast = held_fast(EVERY_KEY);
    // What no other value alone may stand for: the version of the form and the supply, of which no other has a name near it; the units, which
    // the numbers beside them follow below; and what hangs together with another key, and is changed with it below.
    let expected = [
        "bobweight_sheet",
        "engine.cylinders",
        "engine.firing_order.0",
        "engine.firing_order.1",
        "engine.firing_order.2",
        "engine.firing_order.3",
        "engine.firing_intervals.0",
        "engine.firing_intervals.1",
        "engine.firing_intervals.2",
        "engine.firing_intervals.3",
        "engine.supply",
        "pickup.pulses_in_two_turns",
        "pickup.second_flank_angle",
        "advance.cranking",
        "sensor.kind",
        "sensor.unit.0",
        "coil.unit.0",
        "coil.unit.1",
    ];
    assert_eq!(fast, expected);
    // No other pickup has the coil's keys, and it cranks at its crossing.
    let mut of_a_coil =
        expected.map(|key| if key == "pickup.second_flank_angle" { "pickup.angle" } else { key }).to_vec();
    let pickup = of_a_coil.iter().position(|key| key.starts_with("pickup.")).expect("a key of the pickup");
    of_a_coil.insert(pickup, "pickup.kind");
    assert_eq!(held_fast(&self::of_a_coil()), of_a_coil);
}

#[test]
fn values_that_hang_together_change_the_digest_together() {
    let differ = |changes: &[(&str, &str)], others: &[(&str, &str)]| {
        let changed = |changes: &[(&str, &str)]| {
            changes.iter().fold(EVERY_KEY.to_owned(), |text, (old, new)| {
                let changed = text.replacen(old, new, 1);
                assert_ne!(changed, text, "{old}");
                changed
            })
        };
        assert_ne!(sheet(&changed(changes)).digest(), sheet(&changed(others)).digest(), "{changes:?}");
    };
    differ(&[("[1, 3, 4, 2]", "[1, 2, 4, 3]")], &[]);
    let even = "[\"180 crank degrees\", \"180 crank degrees\"";
    differ(&[(even, "[\"150 crank degrees\", \"210 crank degrees\"")], &[]);
    differ(&[("12 V negative", "6 V negative")], &[]);
    differ(&[("12 V negative", "12 V positive")], &[]);
    let flank = "second_flank_angle = \"8 crank degrees BTDC\"";
    let cranking = "cranking = \"8 crank degrees\"";
    differ(
        &[(flank, "second_flank_angle = \"7 crank degrees BTDC\""), (cranking, "cranking = \"7 crank degrees\"")],
        &[],
    );
    differ(&[(flank, ""), (cranking, "cranking = \"7 crank degrees\"")], &[(flank, "")]);
    let unordered = [("firing_order = [1, 3, 4, 2]", ""), ("firing_intervals = ", "# ")];
    let with = |cylinders, pulses| {
        let counted = [("cylinders = 4", cylinders), ("pulses_in_two_turns = 4", pulses)];
        [&counted, &unordered[..]].concat()
    };
    differ(&with("cylinders = 1", "pulses_in_two_turns = 2"), &with("cylinders = 2", "pulses_in_two_turns = 2"));
    differ(&with("", "pulses_in_two_turns = 8"), &with("", "pulses_in_two_turns = 6"));
    let atmosphere = "atmosphere = \"read at key-on\"\n";
    let differential =
        [("\"kPa absolute\"", "\"kPa depression\""), ("\"absolute\"", "\"differential\""), (atmosphere, "")];
    differ(&differential, &[(atmosphere, "")]);
}

#[test]
fn every_key_that_goes_changes_the_digest() {
    let gone = [EVERY_KEY.to_owned(), of_a_coil()].map(|text| keys_that_go(&text));
    assert!(gone.iter().all(|&gone| gone > 45), "{gone:?}");
}

/// Takes every key out that the sheet can do without, and counts them.
fn keys_that_go(text: &str) -> usize {
    let before = sheet(text).digest();
    let document: DocumentMut = text.parse().expect("TOML");
    let mut gone = 0;
    for table in
        ["engine", "distributor", "pickup", "ignition", "advance", "limits", "coil", "tolerance", "sensor", "changed"]
    {
        let keys: Vec<String> =
            document[table].as_table().expect("a table").iter().map(|(key, _)| key.to_owned()).collect();
        for key in keys {
            let mut document = document.clone();
            document[table].as_table_mut().expect("a table").remove(&key);
            // A list without its unit is no list.
            let Ok(sheet) = parse("sheet.toml", &document.to_string()) else { continue };
            assert_ne!(sheet.digest(), before, "{table}.{key} is gone");
            gone += 1;
        }
    }
    gone
}

/// A table with its keys the other way round, and blanks and comments wherever TOML lets them stand.
fn written_otherwise(table: &Table, path: &str, heading: &str, text: &mut String) {
    let of_kind = |wanted: fn(&Item) -> bool| table.iter().filter(move |(_, item)| wanted(item)).collect::<Vec<_>>();
    if !path.is_empty() {
        let _ = write!(text, "\n# another word on {path}\n  {heading}   # and here\n");
    }
    for (key, item) in of_kind(Item::is_value).into_iter().rev() {
        let mut value = item.as_value().expect("a value").clone();
        value.decor_mut().clear();
        let _ = write!(text, "\n   {key}   =  {}   # a comment, {key} = 1\n", spaced(&value));
    }
    for (key, item) in of_kind(|item| !item.is_value()).into_iter().rev() {
        let path = if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
        match item {
            Item::Table(table) => written_otherwise(table, &path, &format!("[ {path} ]"), text),
            Item::ArrayOfTables(tables) => {
                tables.iter().for_each(|table| written_otherwise(table, &path, &format!("[[ {path} ]]"), text));
            }
            _ => {}
        }
    }
}

fn spaced(value: &Value) -> String {
    match value {
        Value::Array(array) => {
            let spaced: Vec<String> = Array::iter(array).map(spaced).collect();
            format!("[  {}\n ]", spaced.join("  ,\n  "))
        }
        value => value.to_string().trim().to_owned(),
    }
}

#[test]
fn comments_blanks_order_and_other_units_of_the_same_change_nothing() {
    let before = sheet(EVERY_KEY).digest();
    let document: DocumentMut = EVERY_KEY.parse().expect("TOML");
    let mut otherwise = String::new();
    written_otherwise(document.as_table(), "", "", &mut otherwise);
    assert_ne!(otherwise.lines().count(), EVERY_KEY.lines().count());
    assert_eq!(sheet(&otherwise).digest(), before, "{otherwise}");
    assert_eq!(sheet(&EVERY_KEY.replace('\n', "\r\n")).digest(), before);
    for (written, otherwise) in [
        ("\"650 crank rpm\"", "\"325 distributor rpm\""),
        ("\"0.5 us\"", "\"500 ns\""),
        ("\"10 ms\"", "\"10000 us\""),
        ("\"6 mH\"", "\"0.006 H\""),
        ("\"8 crank degrees\"", "\"4 distributor degrees\""),
        ("[\"V\", \"ms\"]\ndwell = [[8, 9.7], [16, 2.6]]", "[\"mV\", \"us\"]\ndwell = [[8000, 9700], [16000, 2600]]"),
    ] {
        let changed = EVERY_KEY.replace(written, otherwise);
        assert_ne!(changed, EVERY_KEY, "{written}");
        assert_eq!(sheet(&changed).digest(), before, "{otherwise}");
    }
}

#[test]
fn the_digest_of_a_sheet_is_the_same_in_every_version() {
    // Results carry it: a change of it calls every result that was ever saved stale. What a later version adds to the sheet
    // and this sheet does not say is left out of it.
    let text = "bobweight_sheet = 1\nname = \"an engine\"\n[engine]\nidle = \"650 crank rpm\"\n[found.advance]\n";
    let said = r#"{"engine":{"idle_crank_rpm":"6.50000000e2"},"name":"an engine"}"#;
    assert_eq!(sheet(text).digest(), format!("settings-{}", crate::files::digest::digest(said.as_bytes())));
}

#[test]
fn a_result_of_before_knows_the_bytes_of_the_file() {
    let before = crate::files::digest::digest(EVERY_KEY.as_bytes());
    assert!(sheet(EVERY_KEY).has_digest(&before));
    assert!(!sheet(&format!("{EVERY_KEY}\n# a comment\n")).has_digest(&before));
    let now = sheet(EVERY_KEY).digest();
    assert!(sheet(&format!("{EVERY_KEY}\n# a comment\n")).has_digest(&now));
    assert!(!sheet(EVERY_KEY).has_digest("sha-3:00") && !sheet(EVERY_KEY).has_digest(""));
}
