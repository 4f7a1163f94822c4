"""The dwell that a coil needs: series RL circuit, (V - Vd) = R I + L dI/dt from I = 0.

Solved for t: t = -(L/R) ln(1 - R I / (V - Vd)); never where R I >= V - Vd. Source: any electrical-engineering text.
"""

import math

from scipy.integrate import solve_ivp

# inductance mH, resistance ohm (whole loop), current A, driver drop V
COILS = [(4.0, 0.7, 6.0, 0.0), (6.0, 1.2, 5.0, 1.0), (8.0, 3.0, 3.0, 1.0), (3.0, 0.5, 7.5, 0.7)]
VOLTS = [4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]


def dwell_ms(inductance, resistance, current, drop, volts):
    """Milliseconds, or None for never."""
    driving = volts - drop
    if resistance * current >= driving:
        return None
    return -inductance / resistance * math.log(1 - resistance * current / driving)


def rows():
    yield ["inductance_mh", "resistance_ohm", "current_a", "driver_drop_v", "volts", "dwell_ms"]
    for coil in COILS:
        for volts in VOLTS:
            dwell = dwell_ms(*coil, volts)
            yield [*coil, volts, "never" if dwell is None else dwell]


VECTORS = {"coil.csv": lambda: list(rows())}


def solved_current(inductance, resistance, drop, volts, milliseconds):
    solution = solve_ivp(
        lambda _, current: (volts - drop - resistance * current) / inductance,
        (0, milliseconds), [0.0], rtol=1e-10, atol=1e-12,
    )
    return float(solution.y[0, -1])


def checks():
    source = "series RL circuit, rounded figures"
    yield f"4 mH, 0.7 ohm, 6 A at 14 V ({source})", dwell_ms(4, 0.7, 6, 0, 14), 2.04, 0.005
    yield f"4 mH, 0.7 ohm, 6 A at 6 V ({source})", dwell_ms(4, 0.7, 6, 0, 6), 6.88, 0.005
    yield f"4 mH, 0.7 ohm, 6 A at 4 V is never ({source})", dwell_ms(4, 0.7, 6, 0, 4) is None, True, 0
    for inductance, resistance, current, drop in COILS:
        for volts in VOLTS:
            dwell = dwell_ms(inductance, resistance, current, drop, volts)
            what = f"{inductance} mH, {resistance} ohm, {drop} V drop at {volts} V"
            if dwell is None:
                # A hundred time constants on, the current still is too small.
                late = solved_current(inductance, resistance, drop, volts, 100 * inductance / resistance)
                yield f"{what}: the current is never reached (SciPy solve_ivp)", late <= current, True, 0
            else:
                reached = solved_current(inductance, resistance, drop, volts, dwell)
                yield f"{what}: amperes after its dwell (SciPy solve_ivp)", reached, current, 1e-6
