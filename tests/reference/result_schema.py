"""Fresh results of the bench, held to the committed schema by an independent validator (JSON Schema, draft 2020-12).

Runs the shipped binary on the demo's sheet, with and without an error, and checks that the schema itself is one, that both
results keep it, and that a result with a field changed to another type, taken out or added does not.
"""

import copy
import json
import pathlib
import subprocess
import sys

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY = ROOT / "target" / "release" / "bobweight"
SCHEMA = json.loads((ROOT / "bench-cli" / "result.schema.json").read_text(encoding="utf-8"))


def bench(*options: str) -> tuple[int, dict]:
    command = [str(BINARY), "bench", "bench-cli/demo/fire-float.toml", "--json", "-", *options]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    return run.returncode, json.loads(run.stdout)


def main() -> int:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    validator = jsonschema.Draft202012Validator(SCHEMA)
    checks = {"the schema is one": True}

    passed, right = bench()
    checks["a passing run exits 0 and keeps the schema"] = passed == 0 and validator.is_valid(right)
    failed, late = bench("--simulate", "lag=150 us")
    checks["a failing run exits 1 and keeps the schema"] = failed == 1 and validator.is_valid(late)
    checks["both say what was measured"] = len(right["test_points"]) == len(late["test_points"]) == 78

    def refused(change) -> bool:
        changed = copy.deepcopy(right)
        change(changed)
        return not validator.is_valid(changed)

    checks["a text for a number is refused"] = refused(
        lambda result: result["test_points"][0].update(speed_crank_rpm="650"))
    checks["a missing verdict is refused"] = refused(lambda result: result.pop("verdict"))
    checks["an unknown field is refused"] = refused(lambda result: result.update(speed=1))
    checks["another version is refused"] = refused(lambda result: result.update(schema="bobweight-result/2"))

    for what, holds in checks.items():
        print(f"{'ok  ' if holds else 'FAIL'} {what}")
    wrong = sum(not holds for holds in checks.values())
    print(f"{len(checks) - wrong} passed, {wrong} failed")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
