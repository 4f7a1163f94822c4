"""Counts the sparks of a trace in Python, and holds `bench --trace` to them within one tick at every test point.

    python trace.py [TRACE.vcd]

Without a file it asks the example `simulated_trace` for one: the demo's ignition, simulated, with a
lag and a pickup that is set wrong. Nothing of ours measures here: flanks and sparks are read off the dump, and a spark's angle
is the pickup's less 6 N t (an engine of N crank rpm turns 6 N degrees a second; arithmetic).
"""

import json
import pathlib
import subprocess
import sys
import tempfile
import tomllib

import numpy as np
from programs import example, tool

ROOT = pathlib.Path(__file__).resolve().parents[3]
SHEET = ROOT / "bench-cli" / "demo" / "fire-float.toml"
# The simulated stimulator's, seconds: both witnesses see its wires by this clock.
TICK = 0.5e-6
# The result has no fewer digits; this is for two orders of summation.
ROUNDING = 1e-6
# Cycles of two crank turns: left out after a change of speed, taken from the beginning, and from the end but one.
SETTLE, FIRST, LAST = 2, 12, 12


def edges(path):
    """Times in seconds at which the pickup falls, and the coil is cut."""
    head, body = path.read_text().split("$enddefinitions $end", 1)
    words = head.split()
    number, unit = words[words.index("$timescale") + 1 : words.index("$timescale") + 3]
    step = int(number) * {"ns": 1e-9, "us": 1e-6, "ps": 1e-12}[unit]
    code = {words[i + 4]: words[i + 3] for i, word in enumerate(words) if word == "$var"}
    falls, cuts, now, last = [], [], 0, {}
    for word in body.split():
        if word.startswith("#"):
            now = int(word[1:])
        elif last.get(word[1:]) not in (None, word[0]) and word[0] == "0":
            {code["pickup"]: falls, code["coil"]: cuts}[word[1:]].append(now * step)
        last[word[1:]] = word[0]
    return np.array(falls), np.array(cuts)


def stretches(falls, pulses):
    """First and last flank of each run of cycles that take the same time."""
    cycles = falls[pulses:] - falls[:-pulses]
    same = np.abs(np.diff(cycles)) < 2e-4 * cycles[:-1]
    begin = None
    for at, alike in enumerate(np.append(same, False)):
        if alike and begin is None:
            begin = at
        elif not alike and begin is not None:
            if at - begin > (SETTLE + FIRST) * pulses:
                yield begin, at + pulses
            begin = None


def advance(falls, cuts, first, last, angle, pulses):
    """Mean angle of the sparks that follow the flanks from `first` to before `last`, crank degrees BTDC; and the speed."""
    rpm = 120.0 * (last - first) / (pulses * (falls[last] - falls[first]))
    sparks = cuts[(cuts > falls[first]) & (cuts < falls[last])]
    flank = np.searchsorted(falls, sparks) - 1
    return angle - np.mean(6.0 * rpm * (sparks - falls[flank])), rpm


def made_by_the_bench(path):
    command = [*tool(), "bench", SHEET, "--trace", path]
    command += ["--pickup", "pickup", "--coil", "coil", "--depression", "as planned", "--json", "-"]
    # A pickup that is set wrong fails, which is what the ignition deserves.
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=False)
    return json.loads(done.stdout)["test_points"]


def compared(path):
    """Each test point of the result: where it is, and what Python and the bench have for it."""
    pickup = tomllib.loads(SHEET.read_text())["pickup"]
    angle, pulses = float(pickup["angle"].split()[0]), pickup["pulses_in_two_turns"]
    falls, cuts = edges(path)
    points = made_by_the_bench(path)
    for begin, end in stretches(falls, pulses):
        start = begin + SETTLE * pulses
        mean, rpm = advance(falls, cuts, start, start + FIRST * pulses, angle, pulses)
        if not points or abs(points[0]["speed_crank_rpm"] - rpm) > 1:
            continue
        yield points.pop(0), mean, rpm
        # The plan goes on at its highest and at its lowest speed: the end of the stretch is the next test point's.
        if points and abs(points[0]["speed_crank_rpm"] - rpm) <= 1:
            mean, rpm = advance(falls, cuts, end - (LAST + 1) * pulses, end - pulses, angle, pulses)
            yield points.pop(0), mean, rpm
    if points:
        raise SystemExit(f"{len(points)} test points of the result are not in the trace")


def main():
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "trace.vcd"
        if sys.argv[1:]:
            path = pathlib.Path(sys.argv[1])
        else:
            subprocess.run([*example("simulated_trace"), path], cwd=ROOT, check=True)
        passed, failed, worst = 0, 0, 0.0
        for point, mean, rpm in compared(path):
            theirs = point["wanted_crank_degrees"] + point["mean_error_crank_degrees_early"]
            ticks = max(abs(mean - theirs) - ROUNDING, 0.0) / (6.0 * rpm * TICK)
            worst = max(worst, ticks)
            if ticks <= 1.0:
                passed += 1
                continue
            failed += 1
            print(f"FAIL  {rpm:.0f} crank rpm, {point['depression_kpa']:.1f} kPa: Python {mean:.4f}, the bench {theirs:.4f}")
    print(f"counted in Python and by the bench: at most {worst:.3f} ticks of 0.5 us apart")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or passed < 78 else 0


if __name__ == "__main__":
    sys.exit(main())
