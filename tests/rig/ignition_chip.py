"""The ignition's firmware on its simulated chip, told in lines of text what its pins carry and when."""

import os
import subprocess

from pin_trace import changes

FOLDER = os.environ.get("BOBWEIGHT_RIG", "target/rig")


class Chip:
    """The ignition's chip, by the rig's program."""

    def __init__(self, trace: str, ignition: str = "ignition.elf") -> None:
        command = [f"{FOLDER}/by_pipe", f"{FOLDER}/{ignition}", f"vcd={trace}"]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def tell(self, what: str, value: float) -> None:
        self.process.stdin.write(f"{what} {value:.3f}\n")

    def run(self, ns: float) -> None:
        while True:
            self.tell("run", ns)
            self.process.stdin.flush()
            if self.process.stdout.readline().startswith("-"):
                return

    def end(self) -> None:
        self.process.stdin.close()
        assert self.process.wait(60) == 0


def play(name: str, events: list[tuple[float, str, float]], end: float, ignition: str = "ignition.elf"):
    """Plays events, each a time in ns, what and its value, up to `end`; gives every change of every pin."""
    trace = f"{FOLDER}/{name}.vcd"
    chip = Chip(trace, ignition)
    for time, what, value in sorted(events):
        chip.run(time)
        chip.tell(what, value)
    chip.run(end)
    chip.end()
    return changes(trace)
