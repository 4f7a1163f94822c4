"""Errors planted in the core and the driver, each of which the agreement with the independent ignition must catch.

    mutants.py QUICK_TEST...     the tests of the quick gate, which must catch nine of ten

Copies the core and what its test needs into a scratch folder, applies one mutation at a time as a literal
replacement that must match exactly once, and runs the mutation's test there. What a test of the quick gate
catches, the gate catches: it has the same cases there. Exit 0 when every mutation made its test fail, the
gate catches enough of them, and the unchanged copy passed.
"""

import pathlib
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[3]
SCRATCH = ROOT / "target" / "mutants"
COPY = SCRATCH / "tree"

MUTATIONS = [
    ("advance: vacuum advance taken off instead of added", "advance.rs",
     "initial.bits() + centrifugal.bits() + vacuum.bits()", "initial.bits() + centrifugal.bits() - vacuum.bits()", "accuracy"),
    ("advance: the clamp's upper end gone", "advance.rs",
     "let total = if sum.bits() > greatest.bits() {", "let total = if sum.bits() > Advance::MAX.bits() {", "accuracy"),
    ("limits: the least breakpoint taken for the greatest", "limits.rs",
     "advance.bits() > extreme.advance.bits()", "advance.bits() < extreme.advance.bits()", "limits"),
    ("limits: the last breakpoint forgotten", "limits.rs", "while i < curve.count() {", "while i + 1 < curve.count() {", "limits"),
    ("limits: the held advance forgotten", "limits.rs",
     "if greatest { held > sum } else { held < sum }", "if greatest { held > sum } else { false }", "limits"),
    ("limits: the vacuum advance forgotten", "limits.rs",
     "s.initial.bits() + centrifugal.advance.bits() + vacuum.advance.bits()",
     "s.initial.bits() + centrifugal.advance.bits() + 0 * vacuum.advance.bits()", "limits"),
    ("limits: no vacuum advance at full throttle, whatever the curve", "limits.rs",
     "Part { at: Depression::MIN, advance: vacuum.curve.at(Depression::MIN) }", "Part { at: Depression::MIN, advance: NONE }", "limits"),
    ("limits: a failed sensor keeps its vacuum advance", "limits.rs",
     "if beyond_nothing { Part", "if beyond_nothing || !greatest { Part", "limits"),
    ("limits: what stands on a limit breaks it", "limits.rs", "self.margin.bits() >= 0", "self.margin.bits() > 0", "limits"),
    ("limits: the least limit judged from above", "limits.rs",
     "Limit::Least => sum.bits() - allowed.bits()", "Limit::Least => allowed.bits() - sum.bits()", "limits"),
    ("limits: one broken limit overlooked", "limits.rs",
     "if !judgement.holds() {", "if !judgement.holds() && !matches!(judgement.limit, Limit::GreatestCranking) {", "limits"),
    ("limits: full throttle counted at any depression", "limits.rs",
     "if full_throttle { Some(without_vacuum) } else { None }", "Some(without_vacuum)", "limits"),
    ("limits: the trim forgotten", "limits.rs", "+ vacuum.advance.bits() + trim.bits()", "+ vacuum.advance.bits() + 0 * trim.bits()", "trim"),
    ("trim: an input that has failed given nought", "trim.rs", "            _ => least,\n", "            _ => crate::advance::NONE,\n", "trim"),
    ("trim: its bounds kept from the timetable", "advance.rs", "greatest + self.trim.greatest().bits())", "greatest)", "trim"),
    ("timetable: the clamp left out though a sum can reach it", "timetable.rs",
     "let room = if above < below { above } else { below };", "let room = if above > below { above } else { below };", "trim"),
    ("laws: broken limits not told", "strategy/laws.rs", "filter(|judgement| !judgement.holds())",
     "filter(|judgement| judgement.holds())", "limits"),
    ("laws: a spark beyond the greatest limit let pass", "strategy/laws.rs", "+ lag_q16 + 1 < least_q16", "+ lag_q16 < 0", "limits"),
    ("timetable: wrong sign of a ramp's intercept", "timetable.rs", "way * run + self.pulses() * rise * n0", "way * run - self.pulses() * rise * n0", "agreement"),
    ("timetable: a ramp's offset twice too small", "timetable.rs", "CrankSpeed::STEP as i64, 6 * run)", "CrankSpeed::STEP as i64, 12 * run)", "agreement"),
    ("timetable: the next ramp's line", "timetable.rs", "        &self.running[i]\n", "        &self.running[if i < MOST_BREAKPOINTS { i + 1 } else { i }]\n", "agreement"),
    ("timetable: lag not made up", "timetable.rs", "self.pickup.settings().lag.ticks_q16(self.rate) as i64", "0", "agreement"),
    ("timetable: the clamp's early bound gone", "timetable.rs",
     "        let earliest = self.earliest.at(period, 0, UP);\n        if delay < earliest { earliest } else { delay }",
     "        delay", "agreement"),
    ("sequencer: the second flank ignored while cranking", "sequencer.rs",
     "times.after_second_flank_q16 == 0 ||", "times.after_second_flank_q16 >= 0 ||", "agreement"),
    ("sequencer: the dwell from the second flank not kept to its room", "sequencer.rs",
     "Some(if dwell < room { dwell } else { room })", "Some(if room > 0 { dwell } else { room })", "cranking_dwell"),
    ("sequencer: vacuum advance taken away slowly", "sequencer.rs",
     "        if more <= 0 {\n            self.set_vacuum(wanted);\n            self.vacuum_since = Some(now);\n            return;\n        }\n",
     "        if more <= 0 {\n            self.vacuum_since = Some(now);\n            return;\n        }\n", "agreement"),
    ("sequencer: the dwell not kept to the largest duty", "sequencer.rs",
     "if self.dwell < longest { self.dwell } else { longest }", "if longest > 0 { self.dwell } else { longest }", "agreement"),
    ("sequencer: the period before the last one used", "sequencer/rhythm.rs",
     "        self.period = interval;\n", "        self.period = if self.period > 0 && interval / 2 > self.period / 2 { self.period } else { interval };\n", "agreement"),
    ("pickup: a reluctor's spark timed without the whole pulse of its way", "pickup.rs",
     "let one_pulse = if self.times_next_pulse() { TWO_TURNS as i64 } else { 0 };",
     "let one_pulse = if self.times_next_pulse() { TWO_TURNS as i64 / 2 } else { 0 };", "reluctor"),
    ("timing: a dwell by a moving flank above the cranking limit", "timetable/timing.rs",
     "moving.earliest.bits() <= model", "moving.latest.bits() <= model", "reluctor_cranking"),
    ("reluctor: a cranking spark at a crossing without its moving flank", "sequencer/reluctor.rs",
     "let whole = self.flanks.risen && between >= least as u32;", "let whole = between >= least as u32;", "reluctor_cranking"),
    ("reluctor: two flanks taken for a pulse however near to each other", "sequencer/reluctor.rs",
     "let whole = self.flanks.risen && between >= least as u32;", "let whole = self.flanks.risen && least >= 0;", "reluctor_cranking"),
    ("reluctor: a false crossing ends cranking", "sequencer/reluctor.rs",
     "if runs && !sure && (cranked ||", "if runs && !sure && (cranked &&", "reluctor_cranking"),
    ("reluctor: a dwell by the moving flank too long for the slowest crossing", "sequencer/reluctor.rs",
     "later_by(expected.wrapping_add(between / 4 * 3), off) > 0", "later_by(expected, off) == i32::MAX", "reluctor_cranking"),
    ("reluctor: a dwell runs on past its crossing", "sequencer/reluctor.rs",
     "let off = latest(latest(at, useful), now);", "let off = latest(latest(at, self.coil.off()), now);", "reluctor_cranking"),
    ("reluctor: a dwell cut short at its crossing, however short it is", "sequencer/reluctor.rs",
     "wrapping_add(dwell - dwell / 4)", "wrapping_add(dwell / 4)", "reluctor_cranking"),
    ("reluctor: a crossing whose own spark is late orders none for the next pulse", "sequencer/reluctor.rs",
     "self.flanks.owes_spark = times_next && !listens;", "self.flanks.owes_spark = times_next && !listens && self.coil.is_idle();", "reluctor_cranking"),
    ("reluctor: an order that its own crossing overtakes is dropped", "sequencer/reluctor.rs",
     "if own && !listens {", "if own && !listens && cranking {", "reluctor"),
    ("image: a reluctor written as version 1", "image.rs", "{ OF_OTHER_PICKUPS } else { 1 }", "{ 1 } else { 1 }", "image"),
    ("sequencer: the first bounce after a flank ignored, the next one taken", "sequencer.rs",
     "        if !does {\n            self.touched = at;", "        if does {\n            self.touched = at.wrapping_sub(bounce);\n        } else {\n            self.touched = at;", "bounce"),
    ("sequencer: noise believed", "sequencer/rhythm.rs", "self.early >= 2", "self.early >= 200", "bursts"),
    ("sequencer: any fast rhythm believed", "sequencer/rhythm.rs", "if self.sure < 3 ||", "if self.sure < 200 ||", "bursts"),
    ("sequencer: overspeed not kept", "sequencer.rs", "_ if period < no_spark_below => Phase::Overspeed,", "_ if period == 0 => Phase::Overspeed,", "agreement"),
    ("sparks: the sign of what a falling speed brings early", "sparks/running.rs",
     "from - ((self.pulse() * least) >> 16) + self.slack(u, cell)", "from - ((self.pulse() * (2 * u - least)) >> 16) + self.slack(u, cell)", "sparks"),
    ("sparks: the change of speed halved", "sparks/running.rs", "{ x / 2 } else { x };", "{ x / 4 } else { x / 2 };", "sparks"),
    ("sparks: the delay's own change of speed forgotten", "sparks/running.rs",
     "((fastest * u + ONE - 1) >> 16) + ((x * square + 2 * ONE - 1) >> 17)", "((fastest * u + ONE - 1) >> 16)", "sparks"),
    ("sparks: a lost edge made late by nothing", "sparks/running.rs",
     "widest.take(earliest.min(self.flank() + self.spread()), latest, cell, line_up);",
     "widest.take(earliest.min(self.flank() + self.spread()), earliest, cell, line_up);", "sparks"),
    ("sparks: an uneven pickup forgotten", "sparks/running.rs",
     "self.spread() + ((2 * self.spread() * u) >> 16)", "0 * self.spread() * u", "sparks"),
    ("sparks: a key turned off counted from the spark, not from the dwell", "sparks/running.rs",
     "(ONE + soon - on).max(0)", "(ONE + soon - 0 * on).max(0)", "sparks"),
    ("sparks: a dying engine forgotten", "sparks/running.rs",
     "if run.falls { widest.and(self.dying()) } else { widest }", "widest", "sparks"),
    ("sparks: two pulses in the period of a catching engine forgotten", "sparks/cranking.rs",
     "cranking.and(by_second_flank).and(self.alone(i64::MIN / 2, latest, speeds.cranking_below))", "cranking.and(by_second_flank)", "sparks"),
    ("sparks: the starter's mean speed taken for its fastest", "sparks/cranking.rs",
     "fastest_over_mean_q16(starter.swing)) >> 16) + 1", "(1 << 16)) >> 16) + 1", "sparks"),
    ("sparks: half of the swing", "sparks/swing.rs",
     "let least = arctangent(sine, (cosine * root_q24) >> 24);", "let least = arctangent(sine, (cosine * (root_q24 + (1 << 24)) / 2) >> 24);", "sparks"),
    ("sparks: the rotor turns as fast as the crank looks past it", "sparks/cells.rs",
     "self.past = self.past.max(line_up - latest + cell.carried[1]);", "self.past = self.past.max((line_up - latest) / 2);", "sparks"),
    ("sparks: a cold winding forgotten", "sparks/coil.rs",
     "(circuit.warmed(HOT), circuit.warmed(COLD))", "(circuit.warmed(HOT), circuit.warmed(0))", "sparks"),
    ("sparks: a reluctor's whole pulse of way forgotten", "sparks/running.rs",
     "if self.pickup.times_next_pulse() { own + self.pulse() } else { own }",
     "if self.pickup.times_next_pulse() { own + self.pulse() / 2 } else { own }", "sparks"),
    ("sparks: a false crossing between the flanks of a reluctor's pulse forgotten", "sparks/reluctor.rs",
     "by_false.max(i64::from(moving))", "by_false.max(i64::from(crossing))", "sparks"),
    ("sparks: a reluctor's spark at its crossing, not up to a dwell after it", "sparks/reluctor.rs",
     "Some(crossing - slack - of_dwell.min(of_half))", "Some(crossing - slack - 0 * of_dwell.min(of_half))", "sparks"),
    ("sparks: a reluctor's crossing leaves a dwell whole", "sparks/reluctor.rs",
     "    dwell - dwell / 4\n", "    dwell - 0 * dwell / 4\n", "sparks"),
    ("sparks: the energy of half the dwell's current", "circuit.rs",
     "floored(square * self.inductance.bits() as i64, 2_000_000)", "floored(square * self.inductance.bits() as i64, 4_000_000)", "sparks"),
    ("driver: a dwell as long as it is asked for", "../driver/src/coil.rs",
     "if self.off.wrapping_sub(last).cast_signed() > 0 {", "if self.off == last && self.off != last {", "driver"),
    ("driver: a moment armed that passes while it is written", "../driver/src/coil.rs",
     "(Self::WRITE_TIME + Self::MATCH_TIME).cast_signed()", "0", "driver"),
    ("driver: a moment armed a wrap too soon", "../driver/src/coil.rs", "/ 16 * 15,", "/ 16 * 24,", "driver"),
    ("driver: an end that is near not waited for", "../driver/src/coil.rs", "        while ahead(self.off, timer) > 0 {}\n", "", "driver"),
    ("driver: an end that has passed not made up for", "../driver/src/coil.rs",
     "        self.state = State::Ending;\n        self.end_if_due(timer, watch);\n", "        self.state = State::Ending;\n", "driver"),
    ("driver: a cancelled dwell left armed", "../driver/src/coil.rs",
     "                timer.force_off();\n                true\n", "                true\n", "driver"),
    ("driver: a late match not counted", "../driver/src/watch.rs", "count(&mut self.slow_matches);", "", "driver"),
    ("driver: no poll after a coil-off", "../driver/src/ignition.rs", "if driver.with(CoilDriver::finished) {", "if driver.with(CoilDriver::finished) && !self.has_turned {", "driver"),
]


def copy() -> None:
    shutil.rmtree(COPY, ignore_errors=True)
    COPY.mkdir(parents=True)
    ignored = shutil.ignore_patterns("target", ".git", "corpus", ".venv")
    for name in ("Cargo.toml", "Cargo.lock", "core", "bench-cli", "tests"):
        source = ROOT / name
        shutil.copytree(source, COPY / name, ignore=ignored) if source.is_dir() else shutil.copy(source, COPY / name)
    # A copy keeps its time; an earlier run's last mutation would then look newer, and be taken for built.
    for source in (COPY / "core").rglob("*.rs"):
        source.touch()


def passes(test: str) -> bool:
    command = ["cargo", "test", "--quiet", "-p", "bobweight-tests", "--no-default-features", "--test", test]
    run = subprocess.run(command, cwd=COPY, capture_output=True, text=True, check=False,
                         env={**__import__("os").environ, "CARGO_TARGET_DIR": str(SCRATCH / "build"), "BOBWEIGHT_STARTS": "17500"})
    if "could not compile" in run.stderr:
        sys.exit(f"a mutation does not compile:\n{run.stderr[-3000:]}")
    return run.returncode == 0


def main(quick: set[str]) -> int:
    SCRATCH.mkdir(parents=True, exist_ok=True)
    copy()
    failed = by_quick = 0
    for test in sorted({mutation[-1] for mutation in MUTATIONS}):
        if not passes(test):
            print(f"FAILED  the unchanged core does not pass {test}")
            return 1
    for what, file, old, new, test in MUTATIONS:
        path = COPY / "core" / "src" / file
        text = path.read_text(encoding="utf-8")
        if text.count(old) != 1:
            print(f"FAILED  {what}: the text to replace stands {text.count(old)} times in {file}")
            failed += 1
            continue
        path.write_text(text.replace(old, new), encoding="utf-8")
        caught = not passes(test)
        path.write_text(text, encoding="utf-8")
        print(f"{'caught' if caught else 'FAILED'}  {what} (by {test})", flush=True)
        failed += not caught
        by_quick += caught and test in quick
    enough = 10 * by_quick >= 9 * len(MUTATIONS)
    print(f"{'ok' if enough else 'FAILED'}      the quick gate catches {by_quick} of {len(MUTATIONS)}, nine of ten are asked")
    failed += not enough
    print(f"{len(MUTATIONS) + 1 - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(set(sys.argv[1:])))
