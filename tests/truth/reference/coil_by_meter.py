"""A coil as a multimeter and a clock read it, and what has to be found again from the readings.

Each coil is known, and its readings are made of it: steady volts by Ohm's law, alternating ones as complex phasors of the series
circuit (NumPy), its warming as the differential equation of one body that is heated by the volts and loses heat in proportion to
its rise (SciPy solve_ivp). What the readings may be out is drawn by NumPy, evenly within the meter's accuracy (JCGM 101:2008,
propagation of distributions, from memory). What heats an ohm during a dwell is integrated by SciPy.

Copper: 0.393 % a kelvin of its resistance at 20 C (IEC 60028, ASTM B193, from memory).
"""

import numpy as np
from scipy.integrate import quad, solve_ivp

COPPER = 0.00393
DRAWS = 400_000

# winding ohm as cold as C, leads ohm, rest ohm, switch V, battery V, mH, loss ohm, mains Hz, series ohm, transformer V,
# kelvin a watt, time constant min, minutes by the clock
COILS = [
    (1.50, 20.0, 0.20, 1.40, 0.20, 12.3, 7.0, 0.30, 50.0, 10.0, 8.0, 2.5, 15.0, 15.0),
    (3.20, 12.0, 0.15, 0.10, 0.10, 12.6, 9.5, 0.60, 60.0, 10.0, 6.0, 3.5, 20.0, 12.0),
    (0.70, 25.0, 0.10, 0.90, 0.30, 12.1, 4.0, 0.10, 50.0, 4.7, 5.0, 2.0, 12.0, 10.0),
    (1.10, 18.0, 0.25, 0.05, 0.10, 6.3, 5.0, 0.25, 50.0, 6.8, 6.0, 4.0, 18.0, 20.0),
]
# share of the reading, and besides: ohms, steady volts, alternating volts
ACCURACY = [(0.005, 0.02), (0.005, 0.02), (0.01, 0.01)]
MAINS = 0.01


def copper(ohm, at, wanted):
    return ohm * (1 + COPPER * (wanted - 20)) / (1 + COPPER * (at - 20))


def phasors(winding, millihenries, loss, hertz, series, volts):
    impedance = winding + loss + 2j * np.pi * hertz * millihenries / 1e3
    current = volts / (series + impedance)
    return abs(current * series), abs(current * impedance), abs(current * (series + impedance))


def warmed(winding, cold, rest, driving, kelvin_per_watt, minutes, after):
    """Ohms after each of two times, both in minutes."""

    def rate(_, rise):
        ohm = copper(winding, cold, cold + rise[0])
        watts = (driving / (ohm + rest)) ** 2 * ohm
        return [(watts * kelvin_per_watt - rise[0]) / minutes]

    solved = solve_ivp(rate, (0, 2 * after), [0.0], t_eval=[after, 2 * after], rtol=1e-10, atol=1e-10)
    return [float(copper(winding, cold, cold + rise)) for rise in solved.y[0]]


def found(resistance, leads, supply, across_coil, across_switch, mains, series, across_series, across_primary, across_both):
    """Winding, rest and inductance from readings; single ones or many draws."""
    winding = resistance - leads
    rest = (supply - across_coil - across_switch) / (across_coil / winding)
    current = across_series / series
    in_step = (across_both**2 - across_series**2 - across_primary**2) / (2 * across_series)
    reactance = np.sqrt(np.maximum(across_primary**2 - in_step**2, 0)) / current
    return winding, rest, reactance / (2 * np.pi * mains) * 1e3


def spread(readings):
    """Twice the standard deviation of each of the three, by drawing."""
    random = np.random.default_rng(1)
    ohms, steady, alternating = ACCURACY
    kinds = [ohms, ohms, steady, steady, steady, (MAINS, 0.0), ohms, alternating, alternating, alternating]
    drawn = [
        value + (share * abs(value) + besides) * random.uniform(-1, 1, DRAWS)
        for value, (share, besides) in zip(readings, kinds)
    ]
    return [2 * float(np.std(figure)) for figure in found(*drawn)]


def readings(coil):
    winding, cold, leads, rest, switch, supply, millihenries, loss, mains, series, volts, kpw, minutes, after = coil
    standing = (supply - switch) / (winding + rest)
    hot = warmed(winding, cold, rest, supply - switch, kpw, minutes, after)
    alternating = phasors(winding, millihenries, loss, mains, series, volts)
    read = [winding + leads, leads, supply, standing * winding, switch, mains, series, *map(float, alternating)]
    return read, [ohm + leads for ohm in hot]


def rows():
    yield [
        "resistance", "leads", "supply", "across_coil", "across_switch", "mains", "series", "across_series", "across_primary",
        "across_both", "cold_c", "hot", "hotter", "after_min", "coil_ohm", "rest_ohm", "inductance_mh", "alternating_ohm",
        "kelvin_per_watt", "time_constant_min", "coil_out", "rest_out", "inductance_out",
    ]
    for coil in COILS:
        winding, cold, _, rest, _, _, millihenries, loss, _, _, _, kpw, minutes, after = coil
        read, hot = readings(coil)
        yield [*read, cold, *hot, after, winding, rest, millihenries, winding + loss, kpw, minutes, *spread(read)]


# inductance mH, resistance ohm (whole loop), driver drop V, volts, dwell ms
DWELLS = [(6.0, 1.2, 1.0, 12.0, 3.94), (4.0, 0.7, 0.0, 14.0, 2.04), (8.0, 3.0, 1.0, 8.0, 10.0), (7.0, 2.9, 1.0, 16.0, 0.5)]


def heat_rows():
    yield ["inductance_mh", "resistance_ohm", "driver_drop_v", "volts", "dwell_ms", "current_a", "energy_mj", "square_a2_ms"]
    for millihenries, ohm, drop, volts, dwell in DWELLS:
        henries = millihenries / 1e3
        current = lambda t: (volts - drop) / ohm * -np.expm1(-ohm * t / henries)
        squares, _ = quad(lambda t: current(t) ** 2, 0, dwell / 1e3, epsabs=1e-13, epsrel=1e-12)
        end = float(current(dwell / 1e3))
        yield [millihenries, ohm, drop, volts, dwell, end, henries * end**2 / 2 * 1e3, squares * 1e3]


VECTORS = {"coil_by_meter.csv": lambda: list(rows()), "coil_heat.csv": lambda: list(heat_rows())}


def checks():
    yield "copper from 20 to 120 C (0.393 % a kelvin, from memory)", copper(1.0, 20, 120), 1.393, 1e-12
    for coil in COILS:
        read, _ = readings(coil)
        for name, figure, true in zip(("winding", "rest", "inductance"), found(*read), (coil[0], coil[3], coil[6])):
            yield f"{name} of {coil[0]} ohm and {coil[6]} mH found again in its readings", float(figure), true, 1e-9
