"""A curve into the ignition over its serial port and back, then the bench, as the README gives it; and power cut in the middle.

What is expected of a cut: the old curve or the new one at the next key-on, never a mixture, and no spark where there was no curve. Its source is the
promise of the core's page on the two slots; there is no outside source.
"""

import json
import pathlib
import random
import subprocess
import sys
import tempfile
import time

from two_chips import FOLDER, SEED, TOOL, Bench, Rig, bench, passes, sheet_at

STORED = "ignition_stored.elf"


def tool(*arguments: object) -> subprocess.CompletedProcess:
    run = subprocess.run([TOOL, *map(str, arguments)], capture_output=True, text=True, timeout=120, check=False)
    print(run.stdout, run.stderr)
    return run


def write(sheet: pathlib.Path, port: str) -> subprocess.CompletedProcess:
    return tool("write", sheet, "--serial", port, "--acknowledge-cautions")


def checksum(port: str) -> str | None:
    """Which curve is in it; `None` where there is none."""
    run = tool("read", "--serial", port, "--acknowledge-cautions", "--json", "-")
    if run.returncode == 1:
        return None
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)["now"]["checksum"]


def written_and_benched(sheet: pathlib.Path, store: pathlib.Path) -> None:
    """An empty board gets its curve; after key-off and key-on the whole plan passes, while a host keeps asking which curve is in it."""
    with Rig("--eeprom", str(store), ignition=STORED) as rig:
        assert checksum(rig.ignition_port) is None, "an empty board has a curve"
        assert write(sheet, rig.ignition_port).returncode == 0
    with Rig("--eeprom", str(store), ignition=STORED) as rig:
        assert tool("read", "--serial", rig.ignition_port, "--against", sheet, "--acknowledge-cautions").returncode == 0
        result = bench(sheet, rig.port)
    passes(result)


def engine_turns(sheet: pathlib.Path, store: pathlib.Path) -> None:
    """No curve is written beside an engine that turns, and it says so."""
    with Rig("--eeprom", str(store), ignition=STORED) as rig:
        run = Bench(sheet, rig.port)
        time.sleep(4)
        refused = write(sheet, rig.ignition_port)
        run.process.terminate()
        run.end()
    assert refused.returncode == 3 and "turns" in refused.stderr, refused.stderr


def power_cuts(old: pathlib.Path, new: pathlib.Path, store: pathlib.Path, cuts: int) -> None:
    """Power goes in the write of a byte of the second curve, which is left random."""
    with Rig("--eeprom", str(store), ignition=STORED) as rig:
        assert write(old, rig.ignition_port).returncode == 0
        first = checksum(rig.ignition_port)
    before = store.read_bytes()
    with Rig("--eeprom", str(store), ignition=STORED) as rig:
        assert write(new, rig.ignition_port).returncode == 0
        second = checksum(rig.ignition_port)
    assert first and second and first != second
    all_bytes = sum(a != b for a, b in zip(before, store.read_bytes(), strict=True))
    chosen = random.Random(SEED).sample(range(1, all_bytes - 6), cuts) + list(range(all_bytes - 6, all_bytes + 1))
    found = {first: 0, second: 0}
    for cut in chosen:
        store.write_bytes(before)
        rig = Rig("--eeprom", str(store), "--cut", str(cut), ignition=STORED)
        assert write(new, rig.ignition_port).returncode == 3, "power went, and the tool did not notice"
        rig.process.wait(10)
        with Rig("--eeprom", str(store), ignition=STORED) as rig:
            now = checksum(rig.ignition_port)
        assert now in found, f"cut in byte {cut}: {now}"
        found[now] += 1
    print(f"{len(chosen)} cuts of {all_bytes} bytes: the old curve {found[first]} times, the new one {found[second]} times, nothing else")


def main() -> None:
    folder = pathlib.Path(tempfile.mkdtemp(prefix="curve-", dir=FOLDER))
    sheet = sheet_at("0.3")
    other = sheet_at("0.3")
    text = other.read_text()
    changed = text.replace('"6000 crank rpm per s"', '"5900 crank rpm per s"')
    assert changed != text, "the sheet's acceleration is not where it was"
    other.write_text(changed)
    parts = {
        "bench": lambda: (written_and_benched(sheet, folder / "bench.bin"), engine_turns(sheet, folder / "bench.bin")),
        "cuts": lambda: power_cuts(sheet, other, folder / "cuts.bin", int(sys.argv[2]) if len(sys.argv) > 2 else 10),
    }
    parts[sys.argv[1]]()


if __name__ == "__main__":
    main()
