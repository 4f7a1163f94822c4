"""Both chips, wired together: what the rig's program and the host's tool do with each other.

`BOBWEIGHT_RIG` is the folder of the rig's programs and firmware, `BOBWEIGHT` the host's tool.
"""

import json
import os
import pathlib
import signal
import subprocess
import tempfile
import threading
import time

FOLDER = pathlib.Path(os.environ.get("BOBWEIGHT_RIG", "target/rig")).resolve()
TOOL = os.environ.get("BOBWEIGHT", "target/debug/bobweight")
DEMO = pathlib.Path("bench-cli/demo/fire-float.toml")
SEED = int(os.environ.get("BOBWEIGHT_SEED", "1"))

# No faster than this times real time: a host that is held up for a moment must not be taken for silent.
SPEED = 12


class Rig:
    """The rig's program; ends with the `with` block."""

    def __init__(self, *options: str, ignition: str = "ignition.elf", speed: float = SPEED) -> None:
        # The ignition is switched on at a moment of the seed's choice.
        phase = str((SEED * 7_919_137) % 50_000_000)
        command = [
            FOLDER / "rig", "--ignition", FOLDER / ignition, "--stimulator", FOLDER / "stimulator.elf", "--phase", phase,
            "--speed", str(speed), *options,
        ]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        line = self.process.stdout.readline()
        assert line.startswith("stimulator: "), line
        self.port = line.split()[1]
        self.ignition_port = self.process.stdout.readline().split()[1]
        self.said = ""

    def __enter__(self) -> "Rig":
        return self

    def __exit__(self, *_) -> None:
        if self.process.poll() is None:
            self.end()

    def end(self) -> None:
        self.process.send_signal(signal.SIGINT)
        _, self.said = self.process.communicate(timeout=60)
        print(self.said)
        assert self.process.returncode == 0, self.said

    def unplug(self) -> None:
        self.process.kill()
        self.process.wait()


def sheet_at(tolerance: str, sheet: pathlib.Path = DEMO) -> pathlib.Path:
    """The sheet at another tolerance, in a folder beside its readings."""
    folder = pathlib.Path(tempfile.mkdtemp(prefix="sheet-", dir=FOLDER))
    text = sheet.read_text()
    changed = text.replace('bench = "0.5 crank degrees"', f'bench = "{tolerance} crank degrees"')
    assert text != changed, "the sheet's tolerance is not where it was"
    (folder / sheet.name).write_text(changed)
    readings = sheet.parent / "fire-float-readings.csv"
    if readings.exists():
        (folder / readings.name).write_text(readings.read_text())
    return folder / sheet.name


class Bench:
    """A run of `bobweight bench --serial`."""

    def __init__(self, sheet: pathlib.Path, port: str) -> None:
        self.result_file = sheet.parent / f"result-{time.monotonic_ns()}.json"
        command = [TOOL, "bench", sheet, "--serial", port, "--acknowledge-cautions", "--details", "--json", self.result_file]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    def measures(self, seconds: float = 120) -> bool:
        """Waits for the first row of its table: the engine turns, and a test point is judged. False where it has ended without one."""
        alarm = threading.Timer(seconds, self.process.kill)
        alarm.start()
        try:
            for line in self.process.stdout:
                if line.rstrip().endswith((" pass", " fail", " undecided")):
                    return True
        finally:
            alarm.cancel()
        assert self.process.wait(10) != -signal.SIGKILL, f"no test point was judged in {seconds} s"
        return False

    def end(self, seconds: float = 400) -> "Bench":
        self.out, self.err = self.process.communicate(timeout=seconds)
        self.status = self.process.returncode
        return self

    def result(self) -> dict:
        return json.loads(self.result_file.read_text())


def bench(sheet: pathlib.Path, port: str) -> dict:
    """A whole run that gives a verdict: pass or fail."""
    run = Bench(sheet, port).end()
    print(run.out)
    assert run.status in (0, 1), f"exit {run.status}: {run.err}"
    return run.result() | {"status": run.status}


def passes(result: dict) -> None:
    counts = result["counts"]
    assert result["status"] == 0 and result["verdict"] == "pass", result["verdict"]
    assert counts["passed"] == counts["planned_test_points"] and counts["missing"] == counts["extra"] == 0, counts


def greatest_mean(result: dict) -> float:
    return max(abs(point["mean_error_crank_degrees_early"]) for point in result["test_points"])
