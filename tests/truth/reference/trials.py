"""The best timing of trials and its interval, by NumPy and SciPy.

A parabola with an intercept and a drift for each series is fitted to a hundred times the natural logarithm of what was measured, by
numpy.linalg.lstsq; an observation of the bend stands beside the trials. The ends of the interval are where the slope is as far from
nought as chance allows, found by scipy.optimize.brentq, and not by the formula of Fieller. The trials are invented.
"""

import math

import numpy as np
from scipy import optimize, stats

USUAL_BEND, USUAL_BEND_WITHIN, LEAST_SCATTER = 0.025, 0.015, 0.05
COVERAGE = 0.97

# Of each: what was measured, and series of timings in crank degrees with their measures.
CASES = {
    "torque": (
        "torque_Nm",
        [[(18, 141.2), (19, 142.6), (20, 143.3), (21, 144.4), (22, 144.6), (23, 144.9), (24, 145.2), (25, 144.6),
          (25, 145.0), (24, 145.4), (23, 145.3), (22, 145.1), (21, 144.5), (20, 144.1), (19, 143.0), (18, 142.1)]],
    ),
    "time on two days": (
        "time_s",
        [[(20, 12.31), (21, 12.22), (22, 12.11), (23, 12.05), (24, 12.02), (25, 12.04), (26, 12.08), (24, 12.03), (22, 12.13)],
         [(20, 12.58), (22, 12.39), (24, 12.28), (26, 12.31), (25, 12.29), (23, 12.34), (21, 12.45)]],
    ),
    "agrees too well": (
        "power_kW",
        [[(10, 24.50), (11, 24.66), (12, 24.79), (13, 24.89), (14, 24.96), (15, 25.0), (16, 25.01), (17, 24.99), (18, 24.94),
          (18, 24.94), (17, 24.99), (16, 25.01), (15, 25.0), (14, 24.96), (13, 24.89), (12, 24.79), (11, 24.66), (10, 24.50)]],
    ),
    "delivery": (
        "delivery_l_per_min",
        [[(10, 401.0), (11, 404.5), (12, 406.2), (13, 408.8), (14, 409.1), (15, 409.9), (16, 409.2), (17, 409.0),
          (16, 410.1), (14, 409.8), (12, 407.5), (10, 402.6)]],
    ),
}


def fitted(measure, all_series):
    x, y, rows = [], [], []
    for index, series in enumerate(all_series):
        for place, (degrees, measured) in enumerate(series):
            per_cent = 100.0 * math.log(measured)
            x.append(degrees)
            y.append(-per_cent if measure == "time_s" else per_cent)
            rows.append((index, place))
    middle = float(np.mean(x))
    columns = np.zeros((len(x), 2 + 2 * len(all_series)))
    for row, (degrees, (index, place)) in enumerate(zip(x, rows)):
        columns[row, 0] = degrees - middle
        columns[row, 1] = (degrees - middle) ** 2
        columns[row, 2 + index] = 1.0
        columns[row, 2 + len(all_series) + index] = place
    _, residual, _, _ = np.linalg.lstsq(columns, np.array(y), rcond=None)
    freedom = len(x) - columns.shape[1]
    scatter = max(math.sqrt(residual[0] / freedom), LEAST_SCATTER)
    bend = np.zeros(columns.shape[1])
    bend[1] = 1.0
    weighted = np.vstack([columns / scatter, bend / USUAL_BEND_WITHIN])
    observed = np.append(np.array(y) / scatter, -USUAL_BEND / USUAL_BEND_WITHIN)
    estimate, _, _, _ = np.linalg.lstsq(weighted, observed, rcond=None)
    covariance = np.linalg.inv(weighted.T @ weighted)
    student = stats.t.ppf(0.5 + COVERAGE / 2, freedom)

    def clear(degrees):
        """How far the slope is beyond what chance explains; below nought where it is not."""
        row = np.zeros(columns.shape[1])
        row[0], row[1] = 1.0, 2.0 * (degrees - middle)
        return abs(row @ estimate) - student * math.sqrt(row @ covariance @ row)

    best = middle - estimate[0] / (2.0 * estimate[1])
    low = optimize.brentq(clear, best - 50.0, best, xtol=1e-12)
    high = optimize.brentq(clear, best, best + 50.0, xtol=1e-12)
    return float(best), float(low), float(high), scatter


def rows():
    yield ["case", "measure", "trials", "best", "low", "high", "scatter_percent"]
    for name, (measure, all_series) in CASES.items():
        written = ";".join(
            f"{index + 1}:{degrees}:{measured}"
            for index, series in enumerate(all_series)
            for degrees, measured in series
        )
        yield [name, measure, written, *fitted(measure, all_series)]


VECTORS = {"trials.csv": lambda: list(rows())}


def checks():
    # Three points on y = 7 - (x - 4)^2 have their top at 4: the vertex of a parabola, -b / 2c, by any algebra text.
    c, b, _ = np.polyfit([2.0, 3.0, 5.0], [3.0, 6.0, 6.0], 2)
    yield "the top of a parabola (algebra)", -b / (2.0 * c), 4.0, 1e-9
