"""Recomputes every vector and compares it with the committed file; then holds the libraries to printed values.

Each module of MODULES has VECTORS, a table of file names and functions that compute their content, and checks(), which
yields (what, found, expected, allowance) with the source in its text.
"""

import argparse
import pathlib
import sys

import atmosphere
import coil
import coil_by_meter
import curves
import framing
import gum
import image
import spark
import trials
import units
import vector_file

MODULES = [units, curves, spark, gum, framing, coil, coil_by_meter, atmosphere, image, trials]
FOLDER = pathlib.Path(__file__).parent / "vectors"


def file_checks(name, recomputed):
    path = FOLDER / name
    if not path.exists():
        yield name, "the file is missing; check.py --write makes it"
        return
    committed = vector_file.read(path)
    yield f"{name}: {len(committed)} entries", vector_file.difference(committed, recomputed)
    noticed = vector_file.difference(vector_file.changed(committed), recomputed)
    yield f"{name}: a changed value is noticed", None if noticed else "it was not"


def value_check(what, found, expected, allowance):
    near = abs(found - expected) <= allowance
    return what, None if near else f"found {found}, expected {expected} within {allowance}"


def all_checks():
    for module in MODULES:
        for name, compute in module.VECTORS.items():
            yield from file_checks(name, compute())
        for row in module.checks():
            yield value_check(*row)
    files = {path.name for path in FOLDER.iterdir()}
    known = {name for module in MODULES for name in module.VECTORS}
    strangers = sorted(files - known)
    yield "every vector file is recomputed", f"nobody computes {strangers}" if strangers else None


def main():
    parser = argparse.ArgumentParser(description="Recompute the vectors and compare.")
    parser.add_argument("--write", action="store_true", help="write the vector files anew first")
    if parser.parse_args().write:
        FOLDER.mkdir(exist_ok=True)
        for module in MODULES:
            for name, compute in module.VECTORS.items():
                vector_file.write(FOLDER / name, compute())
    counts = {True: 0, False: 0}
    for what, trouble in all_checks():
        print(f"ok    {what}" if trouble is None else f"FAIL  {what}: {trouble}")
        counts[trouble is None] += 1
    print(f"{counts[True]} passed, {counts[False]} failed")
    return 1 if counts[False] else 0


if __name__ == "__main__":
    sys.exit(main())
