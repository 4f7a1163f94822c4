"""A curve into the ignition over its serial port and back, then the bench, as the README gives it; and power cut in the middle. One part by its name.

What is expected of a cut: the old curve or the new one at the next key-on, never a mixture. Its source is the promise of the core's `store`; there
is no outside source. The angles are those of the sheets.
"""

import json
import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import threading

import jsonschema
from two_chips import FOLDER, SEED, TOOL, Bench, Rig, bench, greatest_mean, passes, sheet_at

STORED = "ignition_stored.elf"
SCHEMA = json.loads(pathlib.Path("bench-cli/ignition.schema.json").read_text())
# A speed at which the two curves are one crank degree apart, and what they give there with 8 initial.
SPEED, OLD, NEW = 1700, 20.0, 19.0


def tool(*arguments: object) -> subprocess.CompletedProcess:
    return subprocess.run([TOOL, *map(str, arguments)], capture_output=True, text=True, timeout=120, check=False)


def write(sheet: pathlib.Path, port: str) -> subprocess.CompletedProcess:
    return tool("write", sheet, "--serial", port, "--acknowledge-cautions")


def written(sheet: pathlib.Path, port: str) -> None:
    run = write(sheet, port)
    assert run.returncode == 0, run.stderr
    print(run.stdout)


def checksum(port: str) -> str | None:
    """Which curve is in it; `None` where there is none."""
    run = tool("read", "--serial", port, "--acknowledge-cautions", "--json", "-")
    if run.returncode == 1:
        return None
    assert run.returncode == 0, run.stderr
    report = json.loads(run.stdout)
    jsonschema.validate(report, SCHEMA)
    return report["now"]["checksum"]


def key_on(store: pathlib.Path, *options: str) -> Rig:
    """The ignition is switched on, with what its EEPROM held at key-off."""
    return Rig("--eeprom", str(store), *options, ignition=STORED)


def advance(store: pathlib.Path, crank_rpm: float) -> float | None:
    """What the ignition gives at a steady speed without vacuum, or `None` without a spark; nobody asks at its serial port."""
    command = [FOLDER / "alone", FOLDER / STORED, str(crank_rpm), "4", "60", "8", "1.2", f"eeprom={store}"]
    run = subprocess.run(command, capture_output=True, text=True, check=True)
    sparks = [float(line.split()[1]) for line in run.stdout.splitlines()]
    return sparks[-1] if sparks else None


def changed(sheet: pathlib.Path, changes: dict[str, str]) -> pathlib.Path:
    text = sheet.read_text()
    for old, new in changes.items():
        assert text.count(old) == 1, f"{old} stands {text.count(old)} times in the sheet"
        text = text.replace(old, new)
    other = sheet.with_name("other.toml")
    other.write_text(text)
    return other


class Asking(threading.Thread):
    """A host that asks again and again which curve is in it, while the engine turns."""

    def __init__(self, port: str) -> None:
        super().__init__()
        self.port, self.ends, self.answers = port, threading.Event(), []

    def run(self) -> None:
        while not self.ends.is_set():
            self.answers.append(checksum(self.port))
            self.ends.wait(0.3)

    def end(self) -> list[str | None]:
        self.ends.set()
        self.join()
        return self.answers


def part_bench(folder: pathlib.Path) -> None:
    """An empty board gets its curve; after key-off and key-on the whole plan passes, while another host keeps asking which curve is in it."""
    sheet, store = sheet_at("0.3"), FOLDER / "stored.bin"
    store.unlink(missing_ok=True)
    with key_on(store) as rig:
        assert checksum(rig.ignition_port) is None, "an empty board has a curve"
        written(sheet, rig.ignition_port)
    with key_on(store) as rig:
        same = tool("read", "--serial", rig.ignition_port, "--against", sheet, "--acknowledge-cautions")
        assert same.returncode == 0, same.stderr
        print(same.stdout)
        asking = Asking(rig.ignition_port)
        asking.start()
        result = bench(sheet, rig.port)
        answers = asking.end()
    passes(result)
    assert len(answers) > 20 and answers[0] and set(answers) == {answers[0]}, answers
    print(f"greatest mean {greatest_mean(result):.3f} crank degrees, while the curve was read {len(answers)} times")
    engine_turns(sheet, store, answers[0])
    most_breakpoints(sheet, folder / "most.bin")


def engine_turns(sheet: pathlib.Path, store: pathlib.Path, held: str) -> None:
    """No curve is written beside an engine that turns, and it says so."""
    before = store.read_bytes()
    with key_on(store) as rig:
        run = Bench(sheet, rig.port)
        assert run.measures(), run.end().err
        refused = write(changed(sheet, {"[1700, 12]": "[1700, 11]"}), rig.ignition_port)
        run.process.terminate()
        run.end()
        assert checksum(rig.ignition_port) == held
    assert refused.returncode == 3 and "the engine turns" in refused.stderr, refused.stderr
    assert store.read_bytes() == before


def most_breakpoints(sheet: pathlib.Path, store: pathlib.Path) -> None:
    """As many breakpoints as there is room for: the longest image, and the longest time until it is worked out."""
    line = [[1000 + 200 * k, k] for k in range(16)]
    vacuum = [[5 + 0.5 * k, 0.5 * k] for k in range(16)]
    sensor = [[round(0.5 + 4 * k / 15, 3), 20 + 6 * k] for k in range(16)]
    dwell = [[8 + 0.5 * k, round(9.7 - 0.4 * k, 2)] for k in range(16)]
    most = changed(sheet, {
        "breakpoints = [[900, 0], [1700, 12], [3300, 20]]": f"breakpoints = {line}",
        "breakpoints = [[5, 0], [12, 10]]": f"breakpoints = {vacuum}",
        "calibration = [[0.5, 20], [4.5, 110]]": f"calibration = {sensor}",
        "dwell = [[8, 9.7], [10, 5.5], [12, 3.9], [14, 3.1], [16, 2.6]]": f"dwell = {dwell}",
    })
    with key_on(store) as rig:
        written(most, rig.ignition_port)
    found = advance(store, 2000)
    assert found is not None and abs(found - 13) <= 0.1, found


def part_cuts(folder: pathlib.Path) -> None:
    """Power goes in the write of the second curve. The byte that was being written is left random, or was just done."""
    store = folder / "cuts.bin"
    old = sheet_at("0.3")
    new = changed(old, {"[1700, 12]": "[1700, 11]"})
    with key_on(store) as rig:
        written(old, rig.ignition_port)
        first = checksum(rig.ignition_port)
    before = store.read_bytes()
    with key_on(store) as rig:
        written(new, rig.ignition_port)
        second = checksum(rig.ignition_port)
    whole = int(re.search(r"(\d+) bytes written to the EEPROM", rig.said)[1])
    assert first and second and first != second
    found = {OLD: 0, NEW: 0}

    def judge(what: str) -> None:
        with key_on(store) as rig:
            now = checksum(rig.ignition_port)
        sparks_at = advance(store, SPEED)
        expected = {first: OLD, second: NEW}.get(now)
        assert expected is not None and abs(sparks_at - expected) <= 0.1, f"{what}: it says {now} and sparks at {sparks_at}"
        found[expected] += 1

    def cut(at: int, option: str = "--cut") -> None:
        rig = key_on(store, option, str(at))
        assert write(new, rig.ignition_port).returncode == 3, "power went, and the tool did not notice"
        assert rig.process.wait(10) == 0

    # The commitment is the last six bytes.
    sampled = random.Random(SEED).sample(range(1, whole - 5), int(os.environ.get("BOBWEIGHT_CUTS", "6")))
    cuts = [(at, "--cut") for at in sampled + list(range(whole - 5, whole + 1))]
    for at, option in cuts + [(whole - 1, "--cut-after"), (whole, "--cut-after")]:
        store.write_bytes(before)
        cut(at, option)
        judge(f"{option} {at}")
    print(f"{len(cuts) + 2} cuts in a write of {whole} bytes: {found[OLD]} times the old curve, {found[NEW]} times the new one, nothing else")
    assert found[NEW] >= 1 and found[OLD] >= 1
    found.update({OLD: 0, NEW: 0})
    for at in sampled[:2]:
        store.write_bytes(before)
        cut(at)
        cut(whole - at)
        judge(f"cut at {at} and again at {whole - at}")
    print(f"2 pairs of cuts: {found[OLD]} times the old curve, {found[NEW]} times the new one")
    edge_in_a_write(store, before, new, whole, first)


def edge_in_a_write(store: pathlib.Path, before: bytes, new: pathlib.Path, whole: int, first: str) -> None:
    """An edge of the pickup ends a write, at the commitment's last byte but one too; the old curve stays."""
    for at in (whole // 2, whole - 1):
        store.write_bytes(before)
        with key_on(store, "--edge", str(at)) as rig:
            given_up = write(new, rig.ignition_port)
            assert given_up.returncode == 3 and "the engine turns" in " ".join(given_up.stderr.split()), given_up.stderr
            assert checksum(rig.ignition_port) == first
        assert f"\n{at} bytes written to the EEPROM" in rig.said, rig.said
        assert abs(advance(store, SPEED) - OLD) <= 0.1
    print("2 edges in a write: given up at that byte, and the old curve stays")


if __name__ == "__main__":
    {"bench": part_bench, "cuts": part_cuts}[sys.argv[1]](pathlib.Path(tempfile.mkdtemp(prefix="curve-", dir=FOLDER)))
