"""A reluctor on the ignition's chip: from rest, through compressions that swing the speed, to the first fired pulses, up, down and to a stop. Judged
from the trace of the pins and from a crank and a reluctor that are written down here and in `crank_motion.py`.

The demo's curve, with the zero crossing at 8 crank degrees before top dead centre, which is the cranking advance too, and the other flank at 18 to 13;
4 pulses in two turns, largest dwell 10 ms, no vacuum. The conditioner's output is high from the threshold to the crossing.
"""

import math
import os

from crank_motion import PULSE_DEGREES, Motion, first_fire, swing
from ignition_chip import play
from pin_trace import pulses

LONG = bool(os.environ.get("BOBWEIGHT_LONG"))
CROSSING, WAVE_DEGREES, THRESHOLD_RPM = 8.0, 10.0, 40.0
BATTERY, DWELL_NS, LARGEST_DWELL_NS = 14.0, 3.1e6, 10e6
# A step of the battery's 20 mV is 0.008 ms of dwell here; two, for the divider's rounding.
DWELL_SLACK_NS = 30e3
# From a flank until its order is in the timer, at most; the ignition's README.
WITHIN_NS = 300e3
FIRST_NS = 300e6


def flanks(motion: Motion) -> list[tuple[float, float]]:
    """Each pulse's moving flank and crossing, in ns. The voltage is the speed times half a sine that ends at the crossing: Faraday's law of
    induction, and a shape of our choice."""
    found = []
    pulse = math.ceil((motion.angles[0] + CROSSING) / PULSE_DEGREES)
    while pulse * PULSE_DEGREES - CROSSING < motion.angles[-1]:
        crossing = pulse * PULSE_DEGREES - CROSSING
        for step in range(1, 1000):
            before = WAVE_DEGREES * (1 - step / 1000)
            angle = crossing - before
            if angle <= motion.angles[0]:
                continue
            time = motion.when(angle)
            rpm = (motion.at(time + 1e-5) - motion.at(time - 1e-5)) / 2e-5 / 6
            if rpm * math.sin(math.pi * before / WAVE_DEGREES) >= THRESHOLD_RPM:
                found.append((FIRST_NS + time * 1e9, FIRST_NS + motion.when(crossing) * 1e9))
                break
        pulse += 1
    return found


def start(ratio: float, slowest: float, rest: float) -> tuple[Motion, list[float]]:
    """A start, a run and a stop, and the times in seconds between which the engine runs at a steady 3 000 crank rpm."""
    motion = Motion()
    motion.angles[0] = rest
    motion.ramp(0, 200, 0.3)
    cranking = swing(200, ratio, slowest)
    begins = motion.angles[-1]
    motion.by_angle(5 * PULSE_DEGREES, cranking)
    first = math.ceil(motion.angles[-1] / PULSE_DEGREES)
    motion.by_angle(12 * PULSE_DEGREES, first_fire(cranking, first, 3, 560), 0.2)
    reached = 6 * first_fire(cranking, first, 3, 560)(motion.angles[-1]) / 6
    motion.ramp(reached, 3000, 1.0)
    steady = [motion.end()]
    motion.ramp(3000, 3000, 0.3)
    steady.append(motion.end())
    motion.ramp(3000, 480, 1.5).ramp(480, 200, 1.5).ramp(200, 200, 1.2).ramp(200, 60, 0.6)
    assert motion.angles[-1] > begins
    return motion, steady


def main() -> None:
    counted = dict(pulses=0, cranking=0, by_flank=0, running=0)
    earliest, latest, worst = -math.inf, 0.0, 0.0
    cases = [(ratio, i * PULSE_DEGREES / count) for ratio, count in ((3, 20 if LONG else 3), (1.2, 10 if LONG else 2)) for i in range(count)]
    for ratio, slowest in cases:
        motion, steady = start(ratio, slowest, 7 + slowest / 2)
        found = flanks(motion)
        events = [(1e6, "battery", BATTERY), (1e6, "pickup", 0.0)]
        events += [(time, "pickup", level) for pair in found for time, level in zip(pair, (1.0, 0.0))]
        end = FIRST_NS + motion.end() * 1e9
        pins = play("reluctor", events, end + 2e9, "ignition_reluctor.elf")
        dwells = pulses(pins["coil"])
        crossings = [crossing for _, crossing in found]
        sparks = []
        for on, off in dwells:
            assert off - on <= LARGEST_DWELL_NS + 1000, f"coil on for {(off - on) / 1e6} ms"
            assert off < end + 2e6, "a spark of a crank that stands"
            angle = motion.at((off - FIRST_NS) / 1e9)
            sparks.append((round((angle + CROSSING) / PULSE_DEGREES), angle, on, off))
        # The first crossing begins the first period; each pulse after it has one spark.
        pulse_of_first = round((motion.at((crossings[0] - FIRST_NS) / 1e9) + CROSSING) / PULSE_DEGREES)
        for k in range(1, len(crossings) - 1):
            own = [spark for spark in sparks if spark[0] == pulse_of_first + k]
            assert len(own) == 1, f"pulse {k} of {len(crossings)} has {len(own)} sparks: ratio {ratio}, slowest at {slowest}"
            _, angle, on, off = own[0]
            advance = (pulse_of_first + k) * PULSE_DEGREES - angle
            # The phase is that of the crossing before: a running spark of an engine that slows down is early by the bound of a whole pulse.
            before, interval = crossings[k - 1] - crossings[max(k - 2, 0)], crossings[k] - crossings[k - 1]
            counted["pulses"] += 1
            after = off - crossings[k]
            assert after <= DWELL_NS + DWELL_SLACK_NS + WITHIN_NS, f"a spark {after / 1e6} ms after its crossing"
            if 120e9 < 4 * 395 * interval and (k == 1 or 120e9 < 4 * 395 * before):
                # While cranking: not before its crossing; as soon as that is handled where its dwell began by the other flank.
                by_flank = on < crossings[k]
                assert after >= 0, f"a spark {-after / 1e6} ms before its crossing, at {advance} crank degrees"
                assert off - on >= 0.75 * DWELL_NS - DWELL_SLACK_NS, f"a dwell of {(off - on) / 1e6} ms"
                counted["cranking"] += 1
                counted["by_flank"] += by_flank
                earliest, latest = max(earliest, advance), max(latest, after)
            if steady[0] + 0.06 < (off - FIRST_NS) / 1e9 < steady[1]:
                # 8, and the centrifugal curve's 12 + 8 (3 000 - 1 700) / 1 600.
                worst = max(worst, abs(advance - 26.5))
                counted["running"] += 1
    print(
        f"{counted['pulses']} pulses, each with its spark; {counted['cranking']} while cranking, {counted['by_flank']} of them by the moving flank, the earliest "
        f"at {earliest:.3f} crank degrees with the crossing at {CROSSING:.0f}, the latest {latest / 1e6:.2f} ms after it; {counted['running']} at 3 000 crank rpm "
        f"within {worst:.3f} crank degrees"
    )
    # The tick of the order, that of the edge and that of the period: 0.009 each at 3 000 crank rpm.
    assert worst <= 0.05, worst
    assert counted["by_flank"] > 10 and counted["running"] > 100


if __name__ == "__main__":
    main()
