"""U.S. Standard Atmosphere 1976 below 11 km of geopotential height.

p = p0 (1 - L H / T0) ^ (g0 M / (R L)), with the standard's constants (from memory; ambiance, of ICAO's standard, agrees).
"""

from ambiance import Atmosphere

P0, T0, LAPSE = 101.325, 288.15, 0.0065
G0, MOLAR_MASS, GAS_CONSTANT = 9.80665, 28.9644, 8314.32
FOOT = 0.3048
PSI = 6.894757
INCH_OF_MERCURY = 3.386389
HEIGHTS = [0.0, 100.0, 300.0, 304.8, 600.0, 1000.0, 1500.0, 1524.0, 2000.0, 2500.0, 3000.0, 3048.0, 4000.0]


def pressure_kpa(geopotential_m):
    exponent = G0 * MOLAR_MASS / (GAS_CONSTANT * LAPSE)
    return P0 * (1 - LAPSE * geopotential_m / T0) ** exponent


def rows():
    yield ["geopotential_m", "pressure_kpa"]
    for height in HEIGHTS:
        yield [height, pressure_kpa(height)]


VECTORS = {"atmosphere.csv": lambda: list(rows())}


def checks():
    source = "U.S. Standard Atmosphere 1976"
    for feet, psi, half_digit in [(0, 14.696, 0.0005), (5000, 12.228, 0.0005), (10000, 10.1065, 0.00005)]:
        yield f"psi at {feet} ft geopotential ({source})", pressure_kpa(feet * FOOT) / PSI, psi, half_digit
    fallen = P0 - pressure_kpa(2000)
    yield f"false depression at 2 000 m, kPa ({source})", fallen, 21.8, 0.05
    for feet, inches, allowance, told_by in [
        (1000, 1.0, 0.1, "U.S. Army TM 9-4910-677-14&P: one for each 1 000 ft"),
        (5000, 5.0, 0.05, source),
        (10000, 9.3, 0.05, source),
    ]:
        found = (P0 - pressure_kpa(feet * FOOT)) / INCH_OF_MERCURY
        yield f"inHg less at {feet} ft ({told_by})", found, inches, allowance
    for height in HEIGHTS:
        geometric = Atmosphere.geop2geom_height(height)
        other = float(Atmosphere(geometric).pressure[0]) / 1000.0
        yield f"kPa at {height:.0f} m geopotential (ambiance)", pressure_kpa(height), other, 1e-5 * other
