"""Holds the curves that the project finds to other libraries, on the same readings:

- the residual sum of squares is at most 1.001 times that of scipy.optimize.differential_evolution for the same model:
  flat ends, ramps at least 200 crank rpm wide, corners between the lowest and the highest speed, levels (and the
  difference between falling and rising speed on the ramps) by least squares;
- where no speed was rising or falling it is not below that of pwlf with as many corners and free ends, a model that
  holds this one.

    python fit_against_scipy.py [SURVEYS.json]

Without a file it asks the example `fit_surveys` for them.
"""

import sys

import numpy as np
import pwlf
from programs import printed
from scipy.optimize import differential_evolution

NARROWEST_RAMP = 200.0
WORST_RATIO = 1.001
# The sums are printed to full precision; this is for two orders of summation.
ROUNDING = 1e-9


def columns(knots, speed, direction):
    hats = [np.interp(speed, knots, unit) for unit in np.eye(len(knots))]
    if np.any(direction):
        on_a_ramp = (speed > knots[0]) & (speed < knots[-1])
        hats.append(np.where(on_a_ramp, -direction / 2, 0.0))
    return np.column_stack(hats)


def least_sum(knots, speed, direction, degrees):
    design = columns(knots, speed, direction)
    levels = np.linalg.lstsq(design, degrees, rcond=None)[0]
    return float(np.sum((degrees - design @ levels) ** 2))


def by_evolution(count, speed, direction, degrees, seed):
    def objective(knots):
        knots = np.sort(knots)
        if np.any(np.diff(knots) < NARROWEST_RAMP):
            return 1e9
        return least_sum(knots, speed, direction, degrees)

    bounds = [(speed.min(), speed.max())] * count
    found = differential_evolution(objective, bounds, rng=seed, popsize=30, maxiter=2000, tol=1e-9)
    return found.fun


def by_free_ends(knots, speed, degrees, seed):
    """The better of pwlf's own search and its search from the corners under test."""
    piecewise = pwlf.PiecewiseLinFit(speed, degrees, seed=seed)
    piecewise.fit(len(knots) + 1)
    own = piecewise.ssr
    inside = [knot for knot in knots if speed.min() < knot < speed.max()]
    return min(own, piecewise.fit_with_breaks([speed.min(), *inside, speed.max()]))


def judge(survey):
    speed, direction, degrees = (np.array(survey[key], float) for key in ("crank_rpm", "direction", "crank_degrees"))
    knots, levels = np.array(survey["breakpoints"]).T
    on_a_ramp = (speed > knots[0]) & (speed < knots[-1])
    curve = np.interp(speed, knots, levels) - np.where(on_a_ramp, direction / 2 * survey["up_down"], 0.0)
    found = survey["residual_sum"]
    recomputed = float(np.sum((degrees - curve) ** 2))
    yield "sum of the printed curve", found, recomputed, abs(found - recomputed) <= ROUNDING * recomputed
    evolved = by_evolution(len(knots), speed, direction, degrees, survey["seed"])
    yield "at most 1.001 times differential evolution", found, evolved, found <= WORST_RATIO * evolved
    if not np.any(direction):
        free = by_free_ends(knots, speed, degrees, survey["seed"])
        yield "not below pwlf with free ends", found, free, found >= free * (1 - ROUNDING)


def main():
    passed = failed = 0
    for survey in printed("fit_surveys", sys.argv[1:]):
        for what, found, other, holds in judge(survey):
            way = "rising and falling" if any(survey["direction"]) else "steady"
            print(f"{'ok  ' if holds else 'FAIL'} seed {survey['seed']}, {way}, {what}: {found:.6f} against {other:.6f}")
            passed, failed = passed + holds, failed + (not holds)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
