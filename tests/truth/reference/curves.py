"""Piecewise linear curves with flat ends by numpy.interp."""

import numpy as np

# Shapes, not engines: one line, a line that breaks, a fall, a level, the steepest allowed, as many breakpoints as allowed.
CURVES = {
    "one ramp": ("centrifugal", [1000, 3000], [0, 20]),
    "two ramps": ("centrifugal", [800, 1600, 4000], [0, 14.5, 22.25]),
    "falls again": ("centrifugal", [500, 1500, 2500, 5000], [-4, 12, 12, 7.5]),
    "level": ("centrifugal", [700, 6000], [9, 9]),
    "one degree a rpm": ("centrifugal", [1500, 1530], [0, 30]),
    "to the greatest speed": ("centrifugal", [0, 20000], [0, 40]),
    "sixteen breakpoints": (
        "centrifugal",
        [300 + 437 * k for k in range(16)],
        [round(256 * (18 * np.sin(0.21 * k) + (k % 3))) / 256 for k in range(16)],
    ),
    "vacuum ramp": ("vacuum", [16.9375, 40.625], [0, 10]),
    "vacuum in steps": ("vacuum", [5, 20, 20.5, 60, 110], [0, 4, 7, 15, 15]),
}


def places(kind, xs):
    """Breakpoints with their neighbours, ends and an even grid, on the multiples that fixed point holds."""
    greatest, step = (20000.0, 1 / 16) if kind == "centrifugal" else (110.0, 1 / 256)
    grid = np.round(np.linspace(0, greatest, 101) / step) * step
    inside = np.round(np.linspace(xs[0], xs[-1], 41) / step) * step
    near = [x + k * step for x in xs for k in (-1, 0, 1)]
    return sorted({float(x) for x in [*grid, *inside, *near] if 0 <= x <= greatest})


def rows():
    yield ["curve", "kind", "x_breakpoints", "y_breakpoints", "x", "y"]
    for name, (kind, xs, ys) in CURVES.items():
        for x in places(kind, xs):
            yield [name, kind, joined(xs), joined(ys), x, float(np.interp(x, xs, ys))]


def joined(values):
    return " ".join(str(float(value)) for value in values)


VECTORS = {"interpolation.csv": lambda: list(rows())}


def checks():
    xs, ys = CURVES["one ramp"][1:]
    yield "numpy.interp keeps flat ends: before the first (arithmetic)", np.interp(0, xs, ys), 0, 0
    yield "numpy.interp keeps flat ends: after the last (arithmetic)", np.interp(9000, xs, ys), 20, 0
    yield "numpy.interp halfway (arithmetic)", np.interp(2000, xs, ys), 10, 0
