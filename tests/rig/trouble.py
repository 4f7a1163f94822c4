"""What goes wrong on a serial line: a reason and exit 3 or 2 each time, and nothing wrong measured.

The statuses are those that the tool's README states: 2 for wrong input, 3 for a link that failed.
"""

import json
import pathlib
import random
import sys
import time

import serial
from two_chips import Bench, Rig, sheet_at


def ends(run: Bench, statuses: tuple[int, ...], *words: str) -> None:
    run.end(120)
    print(f"exit {run.status}: {run.err.strip()}")
    assert run.status in statuses, run.status
    assert run.err.strip(), "no reason"
    for word in words:
        assert word in run.err, f"the reason does not say {word}"
    # What was not measured is not reported as measured: no verdict.
    assert not run.result_file.exists() or json.loads(run.result_file.read_text())["verdict"] != "pass"


def unplugged(sheet: pathlib.Path) -> None:
    rig = Rig()
    run = Bench(sheet, rig.port)
    assert run.measures(), "it ended before the cable was pulled"
    rig.unplug()
    ends(run, (3,), rig.port)


def stranger_before(sheet: pathlib.Path) -> None:
    """Another program has left half a frame, and noise; the run begins all the same, or says why not."""
    with Rig() as rig:
        with serial.Serial(rig.port, 250_000) as port:
            port.write(bytes(random.Random(1).randbytes(300)) + b"\x05\x01\x07")
        run = Bench(sheet, rig.port)
        if run.measures():
            # It has got over it; that a whole run passes is another part's matter.
            run.process.terminate()
            run.end()
            print("the run began")
        else:
            ends(run, (2, 3), rig.port)


def resets_when_opened(sheet: pathlib.Path) -> None:
    """The board is reset as its serial port is opened and hears nothing of the first greeting: the run begins all the same.

    So long in the board's time; a busy machine simulates it up to ten times slower, and the host greets for four seconds.
    """
    with Rig("--resets", "150000000") as rig:
        run = Bench(sheet, rig.port)
        assert run.measures(), run.end().err
        run.process.terminate()
        run.end()


def stranger_within(sheet: pathlib.Path) -> None:
    """A second program writes to the same serial port in the middle of the run."""
    with Rig() as rig:
        run = Bench(sheet, rig.port)
        assert run.measures(), run.end().err
        # Opened as a program does that asks for no lock.
        with open(rig.port, "wb", buffering=0) as port:
            for _ in range(50):
                port.write(random.Random(2).randbytes(64))
                # How dense it is: over a second, and not all within one frame.
                time.sleep(0.02)
        ends(run, (2, 3), rig.port)


def main() -> None:
    sheet = sheet_at("0.3")
    for part in (unplugged, resets_when_opened, stranger_before, stranger_within):
        print(f"-- {part.__name__}")
        part(sheet)


if __name__ == "__main__":
    sys.exit(main())
