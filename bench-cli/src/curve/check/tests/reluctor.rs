//! A reluctor: where its cranking sparks come, and whether its signal is there by then.

use crate::curve::check::check;
use crate::record::check::{CheckResult, LimitName};
use crate::sheet;
use crate::sheet::tests::reluctor_text;

fn checked(changes: &[(&str, &str)]) -> CheckResult {
    let text = changes.iter().fold(reluctor_text(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replacen(from, to, 1)
    });
    let sheet = sheet::parse("sheet.toml", &text).unwrap_or_else(|error| panic!("{error:?}"));
    check(&sheet).unwrap_or_else(|error| panic!("{error:?}"))
}

/// The cranking spark is never before its crossing: a law of the core, held by `tests/laws/reluctor_cranking.rs`.
#[test]
fn the_cranking_limit_is_held_to_the_crossing() {
    let result = checked(&[]);
    let limit = result.limits.iter().find(|limit| limit.limit == LimitName::GreatestCranking).expect("the limit");
    assert!(limit.kept && (limit.sum_crank_degrees - 8.0).abs() < 1e-3, "{limit:?}");
    assert!(result.limits.iter().all(|limit| limit.kept) && result.warnings.is_empty(), "{:?}", result.warnings);
    let cranking = result.cranking.expect("cranking");
    assert!(cranking.by_zero_crossing && !cranking.by_second_flank);
    assert!(cranking.statement.contains("their dwell begins at the crossing"), "{}", cranking.statement);
}

/// A coil cannot have what a vane is told to get.
#[test]
fn a_coil_by_its_crossing_alone_is_told_of_its_moving_flank() {
    let alone = checked(&[
        ("moving_flank", "# moving_flank"),
        ("\nangle = \"8 ", "\nangle = \"60 "),
        ("readings =", "# readings ="),
    ]);
    assert!(!alone.kept, "{:?}", alone.limits);
    assert!(alone.warnings.iter().any(|warning| warning.contains("as `moving_flank`")), "{:?}", alone.warnings);
}

#[test]
fn a_moving_flank_within_the_limit_begins_the_dwell() {
    let cranking = checked(&[("greatest_cranking = \"10 ", "greatest_cranking = \"18 ")]).cranking.expect("cranking");
    assert!(cranking.statement.contains("their dwell begins by the moving flank"), "{}", cranking.statement);
}

/// 220 crank rpm over whole compressions, swinging by 3 to 1, are 220 / sqrt(3) = 127.0 at the slowest: the integral of `core/src/sparks/swing.rs`.
#[test]
fn a_signal_that_the_starter_does_not_reach_is_named_and_fails_nothing() {
    let from = |speed| ("signal_from = \"40 crank rpm\"", speed);
    assert!(checked(&[from("signal_from = \"126 crank rpm\"")]).warnings.is_empty());
    let weak = checked(&[from("signal_from = \"128 crank rpm\"")]);
    let [warning] = &weak.warnings[..] else { panic!("{:?}", weak.warnings) };
    assert!(warning.contains("too weak for the starter") && warning.contains("127 at its slowest"), "{warning}");
    assert!(weak.limits.iter().all(|limit| limit.kept));
    // An even starter has no slower moment.
    let even = ("swing = \"3 to 1\"", "swing = \"1 to 1\"");
    assert!(checked(&[from("signal_from = \"219 crank rpm\""), even]).warnings.is_empty());
    assert!(!checked(&[from("signal_from = \"221 crank rpm\""), even]).warnings.is_empty());
}

#[test]
fn a_signal_that_nobody_measured_is_asked_for() {
    let result = checked(&[("signal_from", "# signal_from")]);
    assert!(result.not_told.iter().any(|what| what.contains("pickup.signal_from")), "{:?}", result.not_told);
}
