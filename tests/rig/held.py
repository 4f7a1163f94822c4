"""The hold jumper: sparks at the sheet's advance up to 2 000 crank rpm, and none begins above.

The sheet is the demo's: 8 crank degrees held; 60 and 8 are its flanks. 2 000 crank rpm is the core's own figure.
"""

import os
import subprocess
import sys

FOLDER = os.environ.get("BOBWEIGHT_RIG", "target/rig")


def sparks(crank_rpm: int, hold: int) -> list[float]:
    command = [f"{FOLDER}/alone", f"{FOLDER}/ignition.elf", str(crank_rpm), "4", "60", "8", "2", f"hold={hold}"]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return [float(line.split()[1]) for line in text.splitlines()]


def main() -> None:
    for crank_rpm in (700, 1300, 1980):
        held = sparks(crank_rpm, 1)
        assert len(held) > 20, f"{len(held)} sparks at {crank_rpm} crank rpm"
        # The first ones are still those of an engine that is not yet known to run.
        worst = max(abs(advance - 8) for advance in held[5:])
        print(f"{crank_rpm} crank rpm, held: {len(held)} sparks, at most {worst:.3f} crank degrees from 8")
        assert worst < 0.05
    assert not sparks(2020, 1), "a dwell began above 2 000 crank rpm"
    free = sparks(2020, 0)
    assert free and min(free[5:]) > 20, "without the jumper the curve is kept"
    print(f"2 020 crank rpm: none held, {len(free)} without the jumper")


if __name__ == "__main__":
    sys.exit(main())
