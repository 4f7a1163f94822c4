"""Points as the trigger, on the ignition's chip: with bounces at every opening and every closing its sparks come when those of clean points do, and
where a crank that is written down in `crank_motion.py` has them.

The demo's curve without a second flank, points that open at 60 crank degrees before top dead centre and stay open for a third of a pulse; they are
stated to bounce for up to 1 ms, and do so for 0.95. The same bounces at a firmware that states none show that the rule is needed.
"""

import random

from crank_motion import PULSE_DEGREES, Motion
from ignition_chip import play
from pin_trace import pulses

OPENS, CLOSES = 60.0, 0.0
BOUNCES_NS, BATTERY, FIRST_NS = 0.95e6, 14.0, 300e6
# The tick of the order, that of the edge and that of the period: 0.009 crank degrees each at 3 000 crank rpm.
WITHIN_DEGREES = 0.05
# A capture and a match are whole ticks of half a microsecond.
WITHIN_NS = 1000


def flanks(motion: Motion) -> list[tuple[float, float]]:
    """Every opening and closing in ns, with the level that it leaves: an open contact lets the input rise."""
    found, pulse = [], 1
    while (pulse + 1) * PULSE_DEGREES < motion.angles[-1]:
        for before, level in ((OPENS, 1.0), (CLOSES, 0.0)):
            found.append((FIRST_NS + motion.when(pulse * PULSE_DEGREES - before) * 1e9, level))
        pulse += 1
    return found


def with_bounces(clean: list[tuple[float, float]], numbers: random.Random) -> list[tuple[float, float]]:
    """Up to three bounces after each flank, none shorter than the chip's noise canceller, over before the stated time."""
    found = []
    for time, level in clean:
        found.append((time, level))
        for i in range(numbers.randint(1, 3)):
            begins = time + (0.05 + 0.3 * i) * BOUNCES_NS
            found += [(begins, 1 - level), (begins + numbers.uniform(0.02, 0.25) * BOUNCES_NS, level)]
    return found


def sparks(name: str, firmware: str, levels: list[tuple[float, float]], closed: float = 0.0) -> list[int]:
    """When the coil is turned off, in ns. `closed` is the input's level with the points closed."""
    events = [(1e6, "battery", BATTERY), (1e6, "pickup", closed)]
    events += [(time, "pickup", level if closed == 0 else 1 - level) for time, level in levels]
    return [off for _, off in pulses(play(name, events, levels[-1][0] + 50e6, firmware)["coil"])]


def main() -> None:
    motion = Motion().ramp(0, 200, 0.2).ramp(200, 200, 2.0)
    cranking = motion.end()
    motion.ramp(200, 460, 0.1)
    slow = motion.end()
    # Here the starter lets go, and a false opening costs most.
    motion.ramp(460, 460, 3.0)
    idle = motion.end()
    motion.ramp(460, 3000, 0.6)
    fast = motion.end()
    motion.ramp(3000, 3000, 1.0)
    clean = flanks(motion)
    bouncing = with_bounces(clean, random.Random(5))
    wanted = sparks("points-clean", "ignition_points.elf", clean)
    found = sparks("points-bouncing", "ignition_points.elf", bouncing)
    assert len(found) == len(wanted), f"{len(found)} sparks of points that bounce, {len(wanted)} of clean ones"
    worst = max(abs(a - b) for a, b in zip(found, wanted))
    assert worst <= WITHIN_NS, f"a bounce moves a spark by {worst / 1e3} us"
    # Steady stretches, by the crank: 8 while cranking and slow; 8 + 12 + 8 (3 000 - 1 700) / 1 600 at 3 000 crank rpm.
    judged, apart = 0, 0.0
    for begins, ends, advance in ((0.6, cranking, 8.0), (slow + 0.4, idle, 8.0), (fast + 0.06, motion.end(), 26.5)):
        for off in found:
            seconds = (off - FIRST_NS) / 1e9
            if begins < seconds < ends - 0.02:
                apart = max(apart, abs(-motion.at(seconds) % PULSE_DEGREES - advance))
                judged += 1
    assert judged > 100 and apart <= WITHIN_DEGREES, f"{judged} sparks, {apart} crank degrees off"
    # A firmware whose flank falls and which states no bounce has the sparks of clean points, and of bouncing ones more, or none.
    control = sparks("points-control", "ignition_one_flank.elf", clean, closed=1.0)
    assert len(control) == len(wanted), f"{len(control)} sparks of clean points where no bounce is stated"
    unstated = sparks("points-unstated", "ignition_one_flank.elf", bouncing, closed=1.0)
    assert abs(len(unstated) - len(wanted)) > 10, "the rule is needed no more"
    print(
        f"{len(found)} sparks of {len(clean) // 2} openings with {(len(bouncing) - len(clean)) // 2} bounces, within {worst / 1e3:.1f} us of those of clean "
        f"points; {judged} at a steady speed within {apart:.3f} crank degrees; {len(unstated)} sparks where no bounce is stated"
    )


if __name__ == "__main__":
    main()
