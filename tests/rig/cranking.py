"""Cranking at 200 crank rpm with a speed that swings by 3 to 1 in each pulse, the first fire, a stop and a reversal: judged from the trace of the
pins and from a crank that is written down in `crank_motion.py`. One part by its name.

The demo's sheet, once as it is and once without its second flank: flanks at 60 and 8 crank degrees before top dead centre, 8 wanted while cranking,
4 pulses in two turns, largest dwell 10 ms; at 9 V a dwell of 7.6 ms, halfway between 9.7 and 5.5.
"""

import math
import os
import sys

from crank_motion import FLANK, PULSE_DEGREES, SECOND, Motion, advance_of, first_fire, pulse_of, swing
from ignition_chip import play
from pin_trace import pulses

LONG = bool(os.environ.get("BOBWEIGHT_LONG"))
WANTED, BATTERY, DWELL_NS, LARGEST_DWELL_NS = 8.0, 9.0, 7.6e6, 10e6
# The battery is read in steps of 20 mV, and a step of it is 0.042 ms of dwell; two, for the divider's rounding.
DWELL_SLACK_NS = 85e3
# From a second flank until its dwell begins, at most; the ignition's README.
BEGINS_WITHIN_NS = 300e3
# The atmosphere is read before the first flank.
FIRST_NS = 300e6
WITHOUT_SECOND = "ignition_one_flank.elf"


class Run:
    """A motion gone through by the ignition's chip."""

    def __init__(self, name: str, motion: Motion, ignition: str = "ignition.elf") -> None:
        self.motion = motion
        events = [(1e6, "battery", BATTERY), (1e6, "pickup", 1.0), *motion.pickup(FIRST_NS)]
        pins = play(f"cranking-{name}", events, FIRST_NS + motion.end() * 1e9, ignition)
        self.falls = [ns for ns, level in pins["pickup"] if not level]
        self.rises = [ns for ns, level in pins["pickup"] if level]
        self.dwells = pulses(pins["coil"])
        for on, off in self.dwells:
            assert off - on <= LARGEST_DWELL_NS + 1000, f"coil on for {(off - on) / 1e6} ms"

    def angle(self, ns: float) -> float:
        return self.motion.at((ns - FIRST_NS) / 1e9)

    def forward(self, ns: float) -> bool:
        return self.motion.forward((ns - FIRST_NS) / 1e9)


def last_before(times: list[int], ns: float) -> float:
    return max((time for time in times if time <= ns), default=-math.inf)


def phases(count: int) -> list[float]:
    """Where the crank is slowest, crank degrees before top dead centre, all around the pulse."""
    return [i * PULSE_DEGREES / count for i in range(count)]


def with_second_flank() -> None:
    """Every spark one dwell after its second flank, none earlier."""
    sparks, earliest, latest = 0, -math.inf, 0.0
    for slowest in phases(60 if LONG else 6):
        run = Run("second", Motion().by_angle(14 * PULSE_DEGREES, swing(200, 3, slowest)))
        assert len(run.dwells) >= 11, f"{len(run.dwells)} sparks of 14 pulses"
        for on, off in run.dwells:
            flank = last_before(run.rises, on)
            assert on - flank <= BEGINS_WITHIN_NS, f"a dwell begins {(on - flank) / 1e6} ms after its flank"
            assert abs(off - flank - DWELL_NS) <= DWELL_SLACK_NS, f"a spark {(off - flank) / 1e6} ms after its flank"
            advance = advance_of(run.angle(off))
            earliest = max(earliest, advance)
            latest = max(latest, SECOND - advance)
            sparks += 1
    print(f"{sparks} sparks, the earliest at {earliest:.3f} crank degrees with the flank at {SECOND:.0f}, the latest {latest:.2f} after it")
    assert earliest <= SECOND
    # 6 N dwell at the fastest speed there is.
    fastest = 1.5 * 200 / math.sqrt(0.75)
    bound = 6 * fastest * (DWELL_NS + DWELL_SLACK_NS) / 1e9
    assert 0.8 * bound <= latest <= bound, f"{latest} of {bound}"


def earliest_of_swing() -> float:
    """How early the swing can make a spark that is timed by the flank at 60, in crank degrees: what the crank goes less than the mean in the delay,
    where its slowest place lies in the delay's middle.

    With x the swing's phase, time is 2 / (c sqrt(1 - e^2)) atan(sqrt((1 + e) / (1 - e)) tan(x / 2)) (a table of integrals), and a pulse is
    one period: so a share f of the period about the slowest place is a phase of 4 atan(sqrt((1 - e) / (1 + e)) tan(pi f / 2)), of 2 pi.
    """
    way, e = FLANK - WANTED, 0.5
    share = way / PULSE_DEGREES
    gone = 4 * math.atan(math.sqrt((1 - e) / (1 + e)) * math.tan(math.pi * share / 2)) / (2 * math.pi) * PULSE_DEGREES
    return way - gone


def without_second_flank() -> None:
    """As early as the swing makes it, which is what the core's page says."""
    bound = earliest_of_swing()
    sparks, earliest = 0, -math.inf
    for slowest in phases(60 if LONG else 12):
        run = Run("one-flank", Motion().by_angle(10 * PULSE_DEGREES, swing(200, 3, slowest)), WITHOUT_SECOND)
        assert len(run.dwells) >= 7, f"{len(run.dwells)} sparks of 10 pulses"
        for _, off in run.dwells:
            earliest = max(earliest, advance_of(run.angle(off)) - WANTED)
            sparks += 1
    print(f"{sparks} sparks without a second flank, the earliest {earliest:.2f} crank degrees early; {bound:.2f} by the formula")
    # A tick of the delay, and one of the period.
    assert 0.95 * bound <= earliest <= bound + 0.02, f"{earliest} of {bound}"


def first_fire_keeps_step() -> None:
    """From 200 to 560 crank rpm in two to six fired pulses: each pulse has its one spark."""
    count, earliest, latest = 0, -math.inf, math.inf
    for ignition in ("ignition.elf", WITHOUT_SECOND):
        for fired in (2, 3, 4, 6):
            for slowest in phases(20 if LONG else 2):
                motion = Motion().by_angle(26 * PULSE_DEGREES, first_fire(swing(200, 3, slowest), 6, fired, 560), 0.2)
                run = Run("first-fire", motion, ignition)
                angles = [run.angle(off) for _, off in run.dwells]
                sparks = [pulse_of(angle) for angle in angles]
                for pulse in range(4, 24):
                    assert sparks.count(pulse) == 1, f"pulse {pulse} has {sparks.count(pulse)} sparks: {ignition}, {fired} fired, slowest at {slowest}"
                    advance = advance_of(angles[sparks.index(pulse)])
                    earliest, latest = max(earliest, advance), min(latest, advance)
                    count += 1
    print(f"{count} pulses, each with its spark, from {earliest:.1f} to {latest:.1f} crank degrees before top dead centre")


def stops() -> list[Motion]:
    """The crank comes to a stop 90 degrees after it lost the starter, all around the pulse; stands, or is pushed back, at most by a pulse; stands."""
    found = []
    for i in range(36 if LONG else 12):
        place = i * PULSE_DEGREES / (36 if LONG else 12)
        seconds = 90 / (6 * 200 / 2)
        for back in (0.0, 120.0):
            motion = Motion().by_angle(6 * PULSE_DEGREES + place, lambda _: 200.0, 1.0).ramp(200, 0, seconds)
            if back:
                reached = 60.0
                half = back / 2 / (6 * reached / 2)
                motion.ramp(0, -reached, half).ramp(-reached, 0, half)
            found.append(motion.ramp(0, 0, 1.5, 0.5))
    return found


def stop_and_reversal() -> None:
    """Nothing but what one pickup can know: a dwell follows its flank at once or within its delay, no dwell begins on a crank that stands, one spark a
    pulse, and while the crank turns forward none is before the second flank. Sparks of a crank that turns back are counted."""
    for ignition in ("ignition.elf", WITHOUT_SECOND):
        sparks, backwards = 0, []
        for motion in stops():
            run = Run("stop", motion, ignition)
            for on, off in run.dwells:
                fall = last_before(run.falls, on)
                assert sum(fall <= other < on for other, _ in run.dwells) == 0, "two sparks of one pulse"
                if ignition == WITHOUT_SECOND:
                    # The delay is 52/180 of the period, and the dwell ends with it; the period is no longer than the longest interval so far.
                    intervals = [b - a for a, b in zip(run.falls, run.falls[1:]) if b <= fall]
                    longest = (FLANK - WANTED) / PULSE_DEGREES * max(intervals)
                    assert off - fall <= longest + 2000, f"a spark {(off - fall) / 1e6} ms after its flank"
                else:
                    flank = last_before(run.rises, on)
                    assert on - flank <= BEGINS_WITHIN_NS, f"a dwell begins {(on - flank) / 1e6} ms after its flank"
                    if run.forward(on) and run.forward(off):
                        assert advance_of(run.angle(off)) <= SECOND, "before the second flank"
                if not run.forward(off):
                    backwards.append(advance_of(run.angle(off)))
                sparks += 1
            # Of the six pulses before the stop, one is the first edge and one the first period.
            assert len(run.dwells) >= 4, f"{len(run.dwells)} sparks"
        told = ", ".join(f"{advance:.1f}" for advance in sorted(backwards))
        print(f"{ignition}: {sparks} sparks, {len(backwards)} of them on a crank that no longer turned forward: {told}")


if __name__ == "__main__":
    {part.__name__: part for part in (with_second_flank, without_second_flank, first_fire_keeps_step, stop_and_reversal)}[sys.argv[1]]()
