"""The whole plan with equal clocks, judged again from the rig's own trace, where nothing of ours has a part in the judging.

First a run is interrupted, so that the one which counts is a second run at the same serial port. Then the angles are read off the trace
(IEEE 1364) with `pyvcd`, and the stimulator's events off a copy of what it sent, by the wire's page. Held within one tick of the stimulator,
half a microsecond: every flank and every edge of the coil between trace and events; and at every test point the mean angle in the trace against the
tool's. Last the tool judges the trace itself, `bench --trace`: its means at every test point are held to the same tick.
"""

import json
import pathlib
import signal
import subprocess
import sys
import time

import wire_page as wire
from pin_trace import changes
from two_chips import TOOL, Bench, Rig, bench, greatest_mean, passes, sheet_at

TICK_NS = 500.0
# The demo's flank, and its pulses in two turns.
FLANK, PULSE_DEGREES = 60.0, 180.0


def same_times(seen: list[int], told: list[int], start: float) -> float:
    """The greatest distance in ticks between what the trace shows and what the stimulator told, which is every change but for some at the ends."""
    worst, place = 0.0, 0
    for ticks in told:
        ns = ticks * TICK_NS + start
        while place + 1 < len(seen) and abs(seen[place + 1] - ns) <= abs(seen[place] - ns):
            place += 1
        worst = max(worst, abs(seen[place] - ns) / TICK_NS)
    return worst


def wait_until_it_turns(sent: pathlib.Path, seconds: float = 60) -> None:
    """Waits for the first flanks that the stimulator tells of: long before a test point, which must stand in the trace once."""
    end = time.monotonic() + seconds
    while True:
        receiver = wire.Receiver()
        receiver.take(sent.read_bytes())
        if any(event.kind == "Timing" for event in receiver.events):
            return
        assert time.monotonic() < end, f"the engine does not turn within {seconds} s"
        time.sleep(0.01)


def main() -> None:
    sheet = sheet_at("0.3")
    files = sheet.parent
    with Rig("--vcd", str(files / "trace.vcd"), "--copy", str(files / "sent")) as rig:
        first = Bench(sheet, rig.port)
        wait_until_it_turns(files / "sent")
        first.process.send_signal(signal.SIGINT)
        assert first.end().status == 130, f"interrupted, it ended with {first.status}: {first.err}"
        result = bench(sheet, rig.port)
    passes(result)
    print(f"greatest mean {greatest_mean(result):.3f} crank degrees")

    receiver = wire.Receiver()
    receiver.take((files / "sent").read_bytes())
    assert not receiver.faults and receiver.lost == 0, (receiver.faults[:3], receiver.lost)
    events = receiver.events
    trace = changes(files / "trace.vcd")
    falls = [ns for ns, level in trace["pickup"] if not level]
    rises = [ns for ns, level in trace["pickup"] if level]
    on = [ns for ns, level in trace["coil"] if level]
    off = [ns for ns, level in trace["coil"] if not level]

    def times(*kinds: str) -> list[int]:
        return [event.at for event in events if event.kind in kinds]

    # The board's clock begins somewhere in the trace: where the first flanks agree.
    start = falls[0] - times("Timing", "LostTiming")[0] * TICK_NS
    for what, seen, told in (
        ("timing flanks", falls, times("Timing", "MovedTiming", "StrayTiming")),
        ("second flanks", rises, times("Second", "MovedSecond", "StraySecond")),
        ("coil on", on, times("CoilOn")),
        ("coil off", off, times("CoilOff")),
    ):
        worst = same_times(seen, told, start)
        print(f"{what}: {len(told)} told, {len(seen)} in the trace, {worst:.3f} ticks apart at most")
        assert len(told) > 1000 and worst <= 1.0, what
    judge_points(result["test_points"], events, falls, off, start)
    judge_by_trace(sheet, files / "trace.vcd", result["test_points"])


def judge_by_trace(sheet, trace, points) -> None:
    """The tool's own judgement of the trace. It knows no depression but the planned one, so what is compared is where the sparks came."""
    command = [TOOL, "bench", sheet, "--trace", trace, "--pickup", "pickup", "--coil", "coil", "--depression", "as planned", "--json", "-"]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert run.returncode == 0, f"exit {run.returncode}: {run.stderr}"
    result = json.loads(run.stdout)
    counts = result["counts"]
    assert counts["passed"] == counts["planned_test_points"] == len(points) and counts["missing"] == counts["extra"] == 0, counts
    worst = 0.0
    for seen, told in zip(result["test_points"], points, strict=True):
        assert abs(seen["speed_crank_rpm"] / told["speed_crank_rpm"] - 1) < 1e-4 and seen["direction"] == told["direction"], (seen, told)
        apart = abs(spark(seen) - spark(told)) / (6 * told["speed_crank_rpm"] * TICK_NS / 1e9)
        worst = max(worst, apart)
        assert apart <= 1.0, f"{apart:.2f} ticks apart: {seen} {told}"
    print(f"bench --trace: {len(points)} test points, mean angles {worst:.3f} ticks apart at most")


def spark(point: dict) -> float:
    return point["wanted_crank_degrees"] + point["mean_error_crank_degrees_early"]


def judge_points(points, events, falls, off, start: float) -> None:
    """Each test point is a run over whole cycles, from its `Begun` to its `Finished`."""
    runs, begun = [], None
    for event in events:
        if event.kind == "Begun":
            begun = event.at
        elif event.kind == "Finished":
            runs.append((begun * TICK_NS + start, event.at * TICK_NS + start))
    worst = 0.0
    remaining = iter(runs)
    for point in points:
        # Between the test points lie shorter runs in which the ignition settles. Of the run that is measured the tool uses all cycles but one, whose
        # last spark belongs to a flank after it.
        cycles = point["cycles"] + 1
        length = cycles * 120e9 / point["speed_crank_rpm"]
        begin, end = next(run for run in remaining if abs((run[1] - run[0]) / length - 1) < 1e-4)
        flanks = [ns for ns in falls if begin - 250 <= ns <= end + 250]
        angles = []
        for flank, after in zip(flanks, flanks[1:]):
            sparks = [ns for ns in off if flank <= ns < after]
            angles += [FLANK - (spark - flank) / (after - flank) * PULSE_DEGREES for spark in sparks]
        assert len(angles) == round(cycles * 720 / PULSE_DEGREES), f"{len(angles)} sparks at {point}"
        told = spark(point)
        tick = 6 * point["speed_crank_rpm"] * TICK_NS / 1e9
        apart = abs(sum(angles) / len(angles) - told) / tick
        worst = max(worst, apart)
        assert apart <= 1.0, f"{apart:.2f} ticks apart at {point}"
    print(f"{len(points)} test points: mean angles {worst:.3f} ticks apart at most")


if __name__ == "__main__":
    sys.exit(main())
