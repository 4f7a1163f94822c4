"""Recomputes the figures of the ignition's wiring page for the driver's own limit of the on-time: circuits gone through in small steps.

Sources: charge of a capacitor through a resistor, C dv/dt = i (any electrical-engineering text); a timer of the 555 kind ends its pulse at two
thirds of its supply (from memory), which makes R C ln 3. The largest duty and dwell are the demo sheet's; 5 V are the pin's, and 2 V and 4 V what a
logic-level IGBT begins to conduct and is fully on at (common figures of data sheets, from memory).
"""

import math
import pathlib
import re
import sys
import tomllib

ROOT = pathlib.Path(__file__).resolve().parents[3]
PAGE = (ROOT / "core" / "ignition" / "avr" / "WIRING.md").read_text()
COIL = tomllib.loads((ROOT / "bench-cli" / "demo" / "fire-float.toml").read_text())["coil"]
LARGEST_DWELL_MS = float(COIL["largest_dwell"].removesuffix(" ms"))
LARGEST_DUTY = float(COIL["largest_duty"].removesuffix(" %")) / 100
PIN_V, CONDUCTS_V, FULLY_ON_V = 5.0, 2.0, 4.0
STEP_MS = 1e-3


def figures(pattern):
    """The numbers of one place of the page; it has to be there once."""
    found = re.findall(pattern, PAGE)
    if len(found) != 1:
        raise SystemExit(f"FAIL  the page has {len(found)} places like {pattern}\n0 passed, 1 failed")
    return [float(number) for number in (found[0] if isinstance(found[0], tuple) else found)]


def charged_ms(time_constant_ms, share):
    """How long a capacitor takes to a share of its supply."""
    volts, ms = 0.0, 0.0
    while volts < share:
        volts += (1.0 - volts) * STEP_MS / time_constant_ms
        ms += STEP_MS
    return ms


def highest_behind_capacitor(time_constant_ms, period_ms):
    """The highest voltage behind a capacitor once it has settled, at the largest duty."""
    across, highest, cycles = 0.0, 0.0, math.ceil(10 * time_constant_ms / period_ms) + 2
    for _ in range(cycles):
        ms, highest = 0.0, -math.inf
        while ms < period_ms:
            behind = (PIN_V if ms < LARGEST_DUTY * period_ms else 0.0) - across
            across += behind * STEP_MS / time_constant_ms
            highest = max(highest, behind)
            ms += STEP_MS
    return highest


def main():
    checks = []

    def check(what, said, found, within):
        checks.append(abs(said - found) <= within)
        print(f"{'ok  ' if checks[-1] else 'FAIL'}  {what}: the page says {said:g}, here {found:.3f}")

    (at_duty,) = figures(r"5 V × \(1 - 0\.7\) = ([\d.]+) V")
    needed, falls = figures(r"10 ms / ln\(5/4\) = (\d+) ms, and falls to 2 V only after (\d+) ms")
    kilohms, nanofarads, pulse = figures(r"(\d+) kΩ and (\d+) nF make 1\.1 R C = ([\d.]+) ms")

    # A long time constant: the capacitor passes what is left of the pin's mean.
    check("behind a capacitor at the largest duty, V", at_duty, highest_behind_capacitor(1000.0, 6.5), 0.02)
    # And one that would end an on-time at one and a half times the largest dwell, at the demo's highest speed.
    shorter = highest_behind_capacitor(1.5 * LARGEST_DWELL_MS / math.log(PIN_V / CONDUCTS_V), 120e3 / (4 * 4600))
    checks.append(shorter < CONDUCTS_V)
    print(f"{'ok  ' if checks[-1] else 'FAIL'}  a time constant for one and a half dwells: {shorter:.2f} V at most, {CONDUCTS_V:g} V begin to conduct")
    # What is left of 5 V after the longest dwell is what a charge to the rest takes.
    check("time for 1/5 of the charge, ms", LARGEST_DWELL_MS, charged_ms(needed, 1 - FULLY_ON_V / PIN_V), 0.1)
    check("then it falls to 2 V after, ms", falls, charged_ms(needed, 1 - CONDUCTS_V / PIN_V), 0.5)
    found = charged_ms(kilohms * nanofarads * 1e-3, 2 / 3)
    check("the monostable's pulse, ms", pulse, found, 0.1)
    checks.append(1.2 * LARGEST_DWELL_MS <= found <= 2 * LARGEST_DWELL_MS)
    print(f"{'ok  ' if checks[-1] else 'FAIL'}  it lies from 1.2 to 2 times the largest dwell, {LARGEST_DWELL_MS:g} ms")
    # A pulse longer than the period ends in the middle of a later dwell, unless the pin's fall puts it back.
    checks.append("put back by its fall" in PAGE)
    print(f"{'ok  ' if checks[-1] else 'FAIL'}  the pin's fall puts the monostable back")
    print(f"{sum(checks)} passed, {len(checks) - sum(checks)} failed")
    return 0 if all(checks) else 1


if __name__ == "__main__":
    sys.exit(main())
