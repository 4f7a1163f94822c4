"""The moment of a spark after its edge in exact fractions: T m (pickup angle - advance) / 720 - lag, all in ticks.

Source: arithmetic. With T ticks between edges at a tick rate R the speed is 120 R / (m T) crank rpm.
"""

from fractions import Fraction

TICK_RATES = [1_000_000, 2_000_000, 16_000_000, 125_000_000]
PULSES = [1, 3, 4, 8, 12]
# From just above the 30 crank rpm below which an engine counts as stopped.
SPEEDS = [31, 97, 200, 450, 650, 1000, 1333, 1700, 2000, 2500, 3300, 4600, 6000, 9999, 20000]
PICKUP = Fraction(50)
LAGS_US = [0, 150]
ADVANCES = [Fraction(-5), Fraction(0), Fraction(8), Fraction(10 * 256 + 1, 256), Fraction(35), Fraction(42)]

# name: initial, breakpoints in crank rpm and crank degrees, vacuum advance, least, greatest
MODELS = {
    "one ramp": (8, [(900, 0), (3300, 20)], 0, 0, 42),
    "two ramps and vacuum": (8, [(900, 0), (1700, 12), (3300, 20)], 10, 0, 42),
    "falls again": (10, [(500, -4), (1500, 12), (2500, 12), (5000, 8)], 5, 0, 42),
    "clamped": (12, [(1000, 0), (3000, 28)], 9, 0, 42),
}


def ticks(period_s, rate):
    return round(period_s * rate)


def period_ticks(speed, pulses, rate):
    return ticks(Fraction(120, pulses * speed), rate)


def delay(period, pulses, advance, lag):
    return period * pulses * (PICKUP - advance) / 720 - lag


def interpolate(breakpoints, x):
    if x <= breakpoints[0][0]:
        return Fraction(breakpoints[0][1])
    for (x0, y0), (x1, y1) in zip(breakpoints, breakpoints[1:]):
        if x <= x1:
            return y0 + Fraction(y1 - y0) * (x - x0) / (x1 - x0)
    return Fraction(breakpoints[-1][1])


def decimals(value):
    """Nine decimals, rounded half to even by exact arithmetic."""
    scaled = round(abs(value) * 10**9)
    sign = "-" if value < 0 and scaled else ""
    return f"{sign}{scaled // 10**9}.{scaled % 10**9:09d}"


def grid():
    for rate in TICK_RATES:
        for pulses in PULSES:
            for speed in SPEEDS:
                yield rate, pulses, period_ticks(speed, pulses, rate)


def delay_rows():
    yield [
        "tick_rate_hz", "pulses_in_two_turns", "pickup_degrees", "advance_degrees", "lag_ticks", "period_ticks",
        "delay_numerator", "delay_denominator", "delay_ticks",
    ]
    for rate, pulses, period in grid():
        for place, advance in enumerate(ADVANCES):
            lag = ticks(Fraction(LAGS_US[place % 2], 10**6), rate)
            exact = delay(period, pulses, advance, lag)
            yield [
                rate, pulses, decimals(PICKUP), decimals(advance), lag, period,
                exact.numerator, exact.denominator, decimals(exact),
            ]


def curve_rows():
    yield [
        "model", "initial_degrees", "x_breakpoints", "y_breakpoints", "vacuum_degrees", "least_degrees",
        "greatest_degrees", "tick_rate_hz", "pulses_in_two_turns", "pickup_degrees", "lag_ticks", "period_ticks",
        "sum_degrees", "total_degrees", "delay_numerator", "delay_denominator", "delay_ticks",
    ]
    for name, (initial, breakpoints, vacuum, least, greatest) in MODELS.items():
        xs, ys = (" ".join(str(point[axis]) for point in breakpoints) for axis in (0, 1))
        for place, (rate, pulses, period) in enumerate(grid()):
            speed = Fraction(120 * rate, pulses * period)
            total_sum = initial + interpolate(breakpoints, speed) + vacuum
            total = min(max(total_sum, least), greatest)
            lag = ticks(Fraction(LAGS_US[place % 2], 10**6), rate)
            exact = delay(period, pulses, total, lag)
            yield [
                name, initial, xs, ys, vacuum, least, greatest, rate, pulses, decimals(PICKUP), lag, period,
                decimals(total_sum), decimals(total), exact.numerator, exact.denominator, decimals(exact),
            ]


VECTORS = {
    "spark_delay.csv": lambda: list(delay_rows()),
    "spark_on_curve.csv": lambda: list(curve_rows()),
}


def checks():
    # 3 000 crank rpm, 4 pulses, ticks of 0.5 us: T is 20 000 ticks of 180 degrees in all; 20 degrees are 20 000 / 9.
    found = delay(period_ticks(3000, 4, 2_000_000), 4, Fraction(30), 0)
    yield "20 degrees at 3 000 crank rpm in ticks of 0.5 us (arithmetic)", found, Fraction(20000, 9), 0
    clamped = sum(row[12] != row[13] for row in list(curve_rows())[1:])
    yield "some rows of spark_on_curve.csv are clamped, most are not", 0 < clamped < 300, True, 0
