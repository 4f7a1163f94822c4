//! A reluctor through the whole built-in bench: the right ignition passes, and one that does not know its pickup is named.

use bobweight_tests::other_flank::OtherFlank;
use bobweight_tests::whole_bench::Demo;
use bobweight_tool::proof::Imperfections;
use bobweight_tool::record::bench::{BenchResult, FindingKind};
use bobweight_tool::record::verdict::Verdict;

fn kinds(result: &BenchResult) -> Vec<FindingKind> {
    result.findings.iter().map(|finding| finding.kind).collect()
}

#[test]
fn the_demo_made_a_reluctor_passes() {
    for greatest_cranking in ["10", "18"] {
        // From 18 on the dwell of a cranking spark may begin by the moving flank.
        let sheet = Demo::reluctor(|text| {
            text.replace("greatest_cranking = \"10 ", &format!("greatest_cranking = \"{greatest_cranking} "))
        });
        let result = sheet.run_wrapped(|ignition| ignition, Imperfections::default(), 1);
        assert_eq!((result.verdict, kinds(&result)), (Verdict::Pass, vec![]), "{:?}", result.findings);
        assert!(
            result
                .cranking
                .iter()
                .all(|cranking| cranking.greatest_early_crank_degrees.is_some_and(|early| early < 0.01))
        );
    }
}

#[test]
fn the_two_leads_exchanged_are_named() {
    let sheet = Demo::reluctor(|text| text);
    let result = sheet.run_wrapped(OtherFlank, Imperfections::default(), 1);
    assert_eq!((result.verdict, kinds(&result)), (Verdict::Fail, vec![FindingKind::Flank]), "{:?}", result.findings);
    assert!(result.findings[0].sentence.contains("lies 5.0 to 10.0 before its zero crossing"), "{:?}", result.findings);
    // While cranking, too: a spark before its crossing is never right.
    assert!(result.cranking.iter().all(|cranking| cranking.verdict == Verdict::Fail), "{:?}", result.cranking);
}

#[test]
fn a_crossing_at_another_angle_is_named() {
    let sheet = Demo::reluctor(|text| text);
    let early = Imperfections { pickup_early_degrees: 1.5, ..Imperfections::default() };
    let result = sheet.run_other(&sheet.settings, early, 1);
    assert_eq!((result.verdict, kinds(&result)), (Verdict::Fail, vec![FindingKind::Offset]), "{:?}", result.findings);
}
