"""Vector files: rows of cells, or JSON, written and compared."""

import csv
import json
import math

# NumPy's and SciPy's last digits may differ between processors.
RELATIVE = 1e-12


def write(path, content):
    with open(path, "w", newline="", encoding="utf-8") as file:
        if path.suffix == ".json":
            json.dump(content, file, indent=1)
            file.write("\n")
        else:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerows([cell_text(cell) for cell in row] for row in content)


def read(path):
    with open(path, newline="", encoding="utf-8") as file:
        return json.load(file) if path.suffix == ".json" else list(csv.reader(file))


def cell_text(cell):
    return repr(float(cell)) if isinstance(cell, float) else str(cell)


def difference(found, expected, where=""):
    """The first place where two contents differ, in words; None if they agree."""
    if isinstance(expected, dict) and isinstance(found, dict):
        if found.keys() != expected.keys():
            return f"{where}: keys {sorted(found)}, not {sorted(expected)}"
        return first(difference(found[key], expected[key], f"{where}/{key}") for key in expected)
    if isinstance(expected, (list, tuple)) and isinstance(found, (list, tuple)):
        if len(found) != len(expected):
            return f"{where}: {len(found)} entries, not {len(expected)}"
        return first(
            difference(f, e, f"{where}/{place}") for place, (f, e) in enumerate(zip(found, expected))
        )
    if isinstance(expected, float):
        near = math.isclose(float(found), expected, rel_tol=RELATIVE, abs_tol=RELATIVE)
        return None if near else f"{where}: {found}, recomputed {expected!r}"
    return None if str(found) == str(expected) else f"{where}: {found}, recomputed {expected}"


def first(differences):
    return next((found for found in differences if found), None)


def changed(content):
    """The same content with its last value another one."""
    if isinstance(content, dict):
        *others, last = content.items()
        return dict(others) | {last[0]: changed(last[1])}
    if isinstance(content, list):
        return [*content[:-1], changed(content[-1])]
    try:
        return str(float(content) * (1 + 1e-9) + 1e-9)
    except ValueError:
        return content + "x"
