"""Pressure units by pint."""

import pint

UNITS = {"inHg": "inHg", "mmHg": "mmHg", "mbar": "mbar", "psi": "psi", "kPa": "kPa"}
VALUES = [0.0, 0.5, 1.0, 2.0, 3.25, 5.0, 6.0, 10.0, 12.0, 16.0, 21.0, 29.92]
# The same spans in the smaller units.
FACTORS = {"mmHg": 25.0, "mbar": 34.0, "psi": 0.5, "kPa": 3.5}

registry = pint.UnitRegistry()


def kilopascal(value, unit):
    return float(registry.Quantity(value, UNITS[unit]).to("kPa").magnitude)


def rows():
    yield ["unit", "value", "kpa"]
    for unit in UNITS:
        for value in VALUES:
            scaled = value * FACTORS.get(unit, 1.0)
            yield [unit, scaled, kilopascal(scaled, unit)]


VECTORS = {"units.csv": lambda: list(rows())}


def checks():
    source = "NIST SP 811 (2008), appendix B.8, from memory"
    for unit, pascal in [("inHg", 3386.389), ("mmHg", 133.3224), ("psi", 6894.757)]:
        last_digit = 10.0 ** -(7 - len(str(int(pascal))))
        yield f"1 {unit} in Pa ({source})", kilopascal(1.0, unit) * 1000.0, pascal, last_digit / 2
