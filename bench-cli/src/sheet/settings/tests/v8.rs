//! Ordinary V8s: eight pulses in the distributor under one cap, one coil. All of them are invented.

use super::*;
use crate::sheet::parse;
use crate::sheet::tests::demo_text;

/// An engine with eight cylinders.
#[derive(Clone, Copy, Debug)]
struct V8 {
    initial: u32,
    centrifugal: u32,
    vacuum: u32,
    greatest_speed: u32,
    /// At 12 V, milliseconds.
    dwell: f64,
    angle: f64,
    /// Whether the vane's other flank, at the initial timing, times cranking.
    second_flank: bool,
}

/// The one whose owner found no angle that did.
const ORDINARY: V8 =
    V8 { initial: 10, centrifugal: 24, vacuum: 18, greatest_speed: 5000, dwell: 3.9, angle: 60.0, second_flank: true };

impl V8 {
    /// Its sheet: the demo's with this engine in it.
    fn sheet(&self) -> String {
        let Self { initial, centrifugal, vacuum, greatest_speed, dwell, angle, .. } = *self;
        let full_throttle = initial + centrifugal;
        let longer = dwell / 3.9;
        let points = [(8, 9.7), (10, 5.5), (12, 3.9), (14, 3.1), (16, 2.6)];
        let points: Vec<_> = points.iter().map(|(volts, ms)| format!("[{volts}, {:.2}]", ms * longer)).collect();
        let written = [
            ("cylinders", "8".to_owned()),
            ("firing_order", "[1, 8, 4, 3, 6, 5, 7, 2]".to_owned()),
            ("greatest_speed", format!("\"{greatest_speed} crank rpm\"")),
            ("pulses_in_two_turns", "8".to_owned()),
            ("angle", format!("\"{angle} crank degrees BTDC\"")),
            ("second_flank_angle", format!("\"{initial} crank degrees BTDC\"")),
            ("initial", format!("\"{initial} crank degrees\"")),
            ("cranking", format!("\"{initial} crank degrees\"")),
            ("held", format!("\"{initial} crank degrees\"")),
            ("no_spark_above", format!("\"{} crank rpm\"", greatest_speed + 200)),
            ("spark_again_below", format!("\"{} crank rpm\"", greatest_speed + 100)),
            ("greatest", format!("\"{} crank degrees\"", full_throttle + vacuum)),
            ("greatest_without_vacuum", format!("\"{full_throttle} crank degrees\"")),
            ("greatest_cranking", format!("\"{initial} crank degrees\"")),
            ("dwell", format!("[{}]", points.join(", "))),
            ("largest_dwell", format!("\"{:.1} ms\"", 10.0 * longer)),
        ];
        let text = demo_text()
            .replace("[[900, 0], [1700, 12], [3300, 20]]", &format!("[[800, 0], [3000, {centrifugal}]]"))
            .replace("[[5, 0], [12, 10]]", &format!("[[5, 0], [14, {vacuum}]]"));
        let text = written.iter().fold(text, |text, (key, value)| write_into(&text, key, value));
        let without = |line: &&str| self.second_flank || !line.starts_with("second_flank_angle");
        text.lines().filter(without).collect::<Vec<_>>().join("\n") + "\n"
    }
}

/// Writes a key where it first stands, or below the pickup's angle.
fn write_into(sheet: &str, key: &str, value: &str) -> String {
    let begins = format!("{key} = ");
    let written = format!("{begins}{value}");
    let mut lines: Vec<String> = sheet.lines().map(str::to_owned).collect();
    let first = |begins: &str| lines.iter().position(|line| line.starts_with(begins));
    match (first(&begins), first("angle = ")) {
        (Some(stands), _) => lines[stands] = written,
        (None, angle) => lines.insert(angle.expect("an angle") + 1, written),
    }
    lines.join("\n") + "\n"
}

fn settings(sheet: &str) -> Result<Settings, SheetError> {
    Settings::from_sheet(&parse("v8.toml", sheet)?)
}

/// The advances, speeds and coils of ordinary V8s; the flank stands 8 crank degrees before the greatest advance.
fn family(second_flank: bool) -> Vec<V8> {
    let mut all = Vec::new();
    for initial in (4..=12).step_by(2) {
        for (centrifugal, vacuum) in (18..=28).step_by(2).flat_map(|c| (10..=20).step_by(2).map(move |v| (c, v))) {
            for greatest_speed in [4500, 5000, 5500, 6000] {
                for dwell in [3.0, 3.9, 5.0] {
                    let angle = f64::from(initial + centrifugal + vacuum + 8);
                    all.push(V8 { initial, centrifugal, vacuum, greatest_speed, dwell, angle, second_flank });
                }
            }
        }
    }
    all
}

/// What the help of a refusal says to write, each way that it names; nothing where the sheet is accepted.
fn remedies(sheet: &str) -> Vec<Vec<(String, String)>> {
    let Err(SheetError::Key(refusal)) = settings(sheet) else { return Vec::new() };
    let written = |way: &str| {
        let written = way.split('`').skip(1).step_by(2).filter_map(|said| said.split_once(" = "));
        written.map(|(key, value)| (key.to_owned(), value.to_owned())).collect()
    };
    refusal.help.split("; or, ").map(written).collect()
}

/// Follows a refusal to the letter, every way that its help names.
#[track_caller]
fn refused_and_mended(sheet: &str) -> usize {
    let remedies = remedies(sheet);
    let refusal = settings(sheet).err().map(|error| format!("{error:?}")).unwrap_or_default();
    for remedy in &remedies {
        assert!(!remedy.is_empty(), "nothing to write: {refusal}");
        let mended = remedy.iter().fold(sheet.to_owned(), |text, (key, value)| write_into(&text, key, value));
        if let Err(error) = settings(&mended) {
            panic!("{remedy:?} leads on to {error:?}\nfrom {refusal}");
        }
    }
    remedies.len()
}

#[test]
fn an_ordinary_v8_is_accepted_at_every_angle_that_its_advance_and_its_box_leave() {
    // Arithmetic, no source: latency takes 6 x 5 200 x 100 us = 3.12 crank degrees before 52; burn time 6 x 5 200 x 1.5 ms =
    // 46.8 of the 90 after the 34 that are left without vacuum.
    for (angle, accepted) in [(55.0, false), (55.25, true), (60.0, true), (70.0, true), (77.0, true), (77.25, false)] {
        let found = settings(&V8 { angle, ..ORDINARY }.sheet());
        assert_eq!(found.is_ok(), accepted, "{angle}: {:?}", found.err());
    }
}

#[test]
fn every_v8_of_a_family_with_a_second_flank_is_accepted_as_it_stands() {
    let family = family(true);
    let accepted = family.iter().filter(|v8| settings(&v8.sheet()).is_ok()).count();
    println!("{accepted} of {}", family.len());
    assert_eq!((accepted, family.len()), (2160, 2160));
}

/// Without a second flank, cranking asks for a flank within 3/8 of a pulse of its advance, and the whole advance for one beyond it.
#[test]
fn a_v8_without_a_second_flank_is_told_what_to_write_and_is_accepted_then() {
    let (mut turned, mut flanked) = (0, 0);
    for v8 in family(false).iter().filter(|v8| v8.dwell > 3.0 && v8.dwell < 5.0) {
        let sheet = v8.sheet();
        assert_eq!(refused_and_mended(&sheet), 1, "{v8:?}");
        let by_flank = remedies(&sheet)[0].iter().any(|(key, _)| key == "second_flank_angle");
        *(if by_flank { &mut flanked } else { &mut turned }) += 1;
    }
    println!("{turned} by its angle, {flanked} by a second flank");
    assert!(turned > 0 && flanked > 0, "{turned}, {flanked}");
}

#[test]
fn a_remedy_is_accepted_whatever_was_wrong() {
    let with = |v8: V8, key: &str, value: &str| write_into(&v8.sheet(), key, value);
    let no_flank = V8 { second_flank: false, ..ORDINARY };
    for (what, sheet, ways, writes) in [
        ("angle too late", V8 { angle: 40.0, ..ORDINARY }.sheet(), 1, "angle"),
        ("angle too early", V8 { angle: 85.0, ..ORDINARY }.sheet(), 1, "angle"),
        ("no second flank, and a flank more than a pulse before", V8 { angle: 110.0, ..no_flank }.sheet(), 1, "angle"),
        ("no second flank", no_flank.sheet(), 1, "second_flank_angle"),
        ("a coil pickup", with(no_flank, "kind", "\"coil\""), 1, "kind"),
        ("held too late", with(ORDINARY, "held", "\"-25 crank degrees\""), 1, "held"),
        ("a long burn time", with(ORDINARY, "burn_time", "\"2.5 ms\""), 2, "no_spark_above"),
        ("both", with(no_flank, "burn_time", "\"2.5 ms\""), 2, "second_flank_angle"),
        ("fast", V8 { greatest_speed: 7500, ..ORDINARY }.sheet(), 2, "no_spark_above"),
        ("a slow box", with(ORDINARY, "latency", "\"900 us\""), 2, "no_spark_above"),
    ] {
        assert_eq!(refused_and_mended(&sheet), ways, "{what}: {:?}", settings(&sheet).err());
        let keys: Vec<_> = remedies(&sheet).into_iter().flatten().map(|(key, _)| key).collect();
        assert!(keys.iter().any(|key| key == writes), "{what}: {keys:?}");
    }
}

/// Speeds, burn times and latencies well beyond those of an ordinary V8.
#[test]
fn no_refusal_of_a_v8_is_left_without_a_remedy() {
    let (mut refused, mut accepted) = (0, 0);
    for (greatest_speed, angle) in [(4500, 55.0), (6000, 62.0), (7500, 70.0)] {
        for second_flank in [true, false] {
            for (burn, latency) in [(1.0, 50), (1.5, 300), (2.0, 100), (2.0, 900), (3.0, 300)] {
                let sheet = V8 { greatest_speed, angle, second_flank, ..ORDINARY }.sheet();
                let sheet = write_into(&sheet, "burn_time", &format!("\"{burn} ms\""));
                let sheet = write_into(&sheet, "latency", &format!("\"{latency} us\""));
                if refused_and_mended(&sheet) > 0 { refused += 1 } else { accepted += 1 }
            }
        }
    }
    println!("{accepted} accepted, {refused} refused and mended");
    assert!(refused > 15 && accepted > 3, "{accepted}, {refused}");
}
