"""A crank for the rig's judges: angles against time, written down here a second time and sharing nothing with the project's own.

Angles are crank degrees, growing while the crank turns forward, with the top dead centres of the demo's 4 pulses at multiples of 180. Times are
seconds.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable

FLANK, SECOND, PULSE_DEGREES = 60.0, 8.0, 180.0


class Motion:
    """Built of pieces, each in steps so short that straight lines between them are right to a ten thousandth of a degree."""

    def __init__(self) -> None:
        self.times, self.angles = [0.0], [0.0]

    def by_angle(self, degrees: float, crank_rpm: Callable[[float], float], step: float = 0.1) -> "Motion":
        """Forward at a speed that depends on the angle alone; the time is the integral of 1 / speed by Simpson's rule."""
        for _ in range(round(degrees / step)):
            angle = self.angles[-1]
            slowness = [1 / (6 * crank_rpm(angle + part * step)) for part in (0, 0.5, 1)]
            self.times.append(self.times[-1] + step * (slowness[0] + 4 * slowness[1] + slowness[2]) / 6)
            self.angles.append(angle + step)
        return self

    def ramp(self, start: float, end: float, seconds: float, step: float = 1e-4) -> "Motion":
        """From one crank rpm to another, negative backwards, at a steady acceleration."""
        count = max(1, round(seconds / step))
        time, angle = self.times[-1], self.angles[-1]
        for i in range(1, count + 1):
            t = i * seconds / count
            self.times.append(time + t)
            self.angles.append(angle + 6 * (start * t + (end - start) * t * t / (2 * seconds)))
        return self

    def end(self) -> float:
        return self.times[-1]

    def at(self, time: float) -> float:
        i = min(max(bisect_right(self.times, time), 1), len(self.times) - 1)
        t0, t1, a0, a1 = self.times[i - 1], self.times[i], self.angles[i - 1], self.angles[i]
        return a0 + (a1 - a0) * (time - t0) / (t1 - t0)

    def when(self, angle: float) -> float:
        """When a crank that turns forward all the time is at an angle."""
        i = bisect_left(self.angles, angle)
        t0, t1, a0, a1 = self.times[i - 1], self.times[i], self.angles[i - 1], self.angles[i]
        return t0 + (t1 - t0) * (angle - a0) / (a1 - a0)

    def forward(self, time: float) -> bool:
        return self.at(time + 1e-5) > self.at(time - 1e-5)

    def passages(self) -> list[tuple[float, float, bool]]:
        """Each flank that passes the pickup: time, its angle before top dead centre, and whether the crank turns forward."""
        found = []
        for i in range(1, len(self.times)):
            a0, a1 = self.angles[i - 1], self.angles[i]
            for flank in (FLANK, SECOND):
                low, high = (math.floor((a + flank) / PULSE_DEGREES) for a in (min(a0, a1), max(a0, a1)))
                if high > low:
                    share = (high * PULSE_DEGREES - flank - a0) / (a1 - a0)
                    found.append((self.times[i - 1] + share * (self.times[i] - self.times[i - 1]), flank, a1 > a0))
        return sorted(found)

    def pickup(self, first_ns: float) -> list[tuple[float, str, float]]:
        """The pickup's wire, for a motion that begins at `first_ns`: low from 60 to 8 crank degrees before top dead centre."""
        return [(first_ns + time * 1e9, "pickup", float((flank == SECOND) == forward)) for time, flank, forward in self.passages()]


def pulse_of(angle: float) -> int:
    """Which pulse a spark at this crank angle belongs to: that whose first flank was passed last."""
    return math.floor((angle + FLANK) / PULSE_DEGREES)


def advance_of(angle: float) -> float:
    """Crank degrees before the top dead centre of its pulse."""
    return pulse_of(angle) * PULSE_DEGREES - angle


def swing(mean_crank_rpm: float, ratio: float, slowest: float) -> Callable[[float], float]:
    """Crank rpm at an angle: one swing a pulse, slowest at `slowest` crank degrees before top dead centre.

    c (1 - e cos x) with e = (ratio - 1) / (ratio + 1). The mean of 1 / (1 - e cos x) is 1 / sqrt(1 - e^2) (a table of integrals), so the mean
    speed by time is c sqrt(1 - e^2).
    """
    e = (ratio - 1) / (ratio + 1)
    c = mean_crank_rpm / math.sqrt(1 - e * e)
    return lambda angle: c * (1 - e * math.cos(2 * math.pi * (angle + slowest) / PULSE_DEGREES))


def first_fire(cranking: Callable[[float], float], first: int, fired: int, reached: float) -> Callable[[float], float]:
    """Crank rpm of an engine that begins to fire: each fired pulse adds the same energy, that is the same to the square of the speed, in the half
    pulse after its top dead centre. `reached` is the root mean square when all have fired."""
    mean_square = sum(cranking(a / 10) ** 2 for a in range(1800)) / 1800
    gain = (reached**2 - mean_square) / fired

    def speed(angle: float) -> float:
        burnt = 0.0
        for pulse in range(first, first + fired):
            share = min(max((angle - pulse * PULSE_DEGREES) / (PULSE_DEGREES / 2), 0), 1)
            burnt += (1 - math.cos(math.pi * share)) / 2
        return math.sqrt(cranking(angle) ** 2 + gain * burnt)

    return speed
