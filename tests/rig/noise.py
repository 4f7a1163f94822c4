"""Noise of 20 to 30 kHz at the pickup for 400 ms: the program goes on, the coil stays within its largest dwell, no spark comes while it lasts, and five
good edges after it every pulse has its spark again. Judged from the trace of the pins alone.

The demo's sheet, as in `faults.py`. How dense the noise of a bad lead can be has no source; these are frequencies at which edges come faster than
the chip takes them.
"""

import os
import random
import sys

from faults import BATTERY, FLANK, LARGEST_DWELL_NS, NO_VACUUM, PULSE_DEGREES, SECOND, SPEEDS, TOLERANCE
from ignition_chip import play
from pin_trace import pulses

FIRST_NS, NOISE_NS = 300e6, 400e6
FREQUENCIES = [20e3, 22e3, 24e3, 26e3, 28e3, 30e3]


def judge(crank_rpm: float, advance: float, hertz: float, chance: random.Random, ignition: str) -> str:
    """One stretch of noise; says what is wrong, or nothing."""
    period = 120e9 / (4 * crank_rpm)
    begin = FIRST_NS + (24 + chance.random()) * period
    end = begin + NOISE_NS
    last = int((end - FIRST_NS) / period) + 30
    flanks = [FIRST_NS + pulse * period for pulse in range(last)]
    events = [(1e6, "battery", BATTERY), (1e6, "manifold", NO_VACUUM), (1e6, "pickup", 1.0)]
    for flank in flanks:
        second = flank + (FLANK - SECOND) / PULSE_DEGREES * period
        events += [(time, "pickup", level) for time, level in ((flank, 0.0), (second, 1.0)) if not begin <= time <= end]
    half = 0.5e9 / hertz
    events += [(begin + i * half, "pickup", float(i % 2)) for i in range(int(NOISE_NS / half))]
    phase = (end - FIRST_NS) % period / period
    events.append((end, "pickup", 0.0 if phase < (FLANK - SECOND) / PULSE_DEGREES else 1.0))
    try:
        pins = play("noise", events, flanks[-1], ignition)
    except AssertionError:
        return "the rig's program ended with a fault: it says which, a reset by the watchdog among them"
    if any(not level for _, level in pins["ignition_runs"]):
        return "the program was reset"
    dwells = pulses(pins["coil"])
    longest = max(off - on for on, off in dwells)
    if longest > LARGEST_DWELL_NS + 1000:
        return f"coil on for {longest / 1e6} ms"
    # The pulse in which the noise begins may have its spark yet; from then on nothing is a pickup's edge.
    if sparks := [off for _, off in dwells if begin + 2 * period < off < end]:
        return f"{len(sparks)} sparks amid the noise, the first {(sparks[0] - begin) / period:.1f} periods after it began"
    good = [flank for flank in flanks if flank > end + 5 * period][:-1]
    for flank in good:
        found = [FLANK - (off - flank) / period * PULSE_DEGREES for _, off in dwells if flank < off <= flank + period]
        if len(found) != 1 or abs(found[0] - advance) > TOLERANCE:
            return f"{(flank - end) / period:.0f} pulses after the noise sparks at {found} crank degrees, {advance} wanted"
    return ""


def main() -> None:
    chance = random.Random(int(os.environ.get("BOBWEIGHT_SEED", "1")))
    ignition = sys.argv[1] if len(sys.argv) > 1 else "ignition.elf"
    wrong, runs = [], 0
    for crank_rpm, advance, _ in SPEEDS:
        for hertz in FREQUENCIES:
            runs += 1
            if what := judge(crank_rpm, advance, hertz, chance, ignition):
                wrong.append(f"{crank_rpm} crank rpm, {hertz / 1e3:.0f} kHz: {what}")
    print("\n".join(wrong))
    assert not wrong, f"{len(wrong)} of {runs} runs"
    print(f"{runs} stretches of noise without a reset")


if __name__ == "__main__":
    sys.exit(main())
