"""Validates saved bench results against the committed schema with jsonschema.

    python result_schema.py [RESULT.json ...]

Without a file it benches the demo: one run that passes, one that fails, one of a curve that breaks its limits, which drives
nothing. Each result is then spoiled in several ways, and the schema must refuse every one of them.
"""

import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]
SCHEMA = ROOT / "bench-cli" / "result.schema.json"
DEMO = ROOT / "bench-cli" / "demo"
IMPERFECT = "lag=150 us, scatter=0.3 crank degrees, lose=1/400, vacuum=80 %, pulse=2 crank degrees late"


def bench(sheet, *options):
    command = ["cargo", "run", "--quiet", "--release", "-p", "bobweight-bench", "--", "bench", sheet, "--json", "-"]
    ran = subprocess.run([*command, *options], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    # Pass and fail leave a result; anything else is told.
    if ran.returncode not in (0, 1):
        sys.exit(f"exit {ran.returncode}\n{ran.stderr}")
    return json.loads(ran.stdout)


def fresh_results():
    demo = DEMO / "fire-float.toml"
    yield "a run that passes", bench(demo)
    yield "a run that fails", bench(demo, "--simulate", IMPERFECT)
    with tempfile.TemporaryDirectory() as folder:
        for file in DEMO.glob("*.csv"):
            (pathlib.Path(folder) / file.name).write_bytes(file.read_bytes())
        sheet = pathlib.Path(folder) / "sheet.toml"
        text = demo.read_text()
        broken = text.replace('greatest = "42', 'greatest = "37', 1)
        assert broken != text
        sheet.write_text(broken)
        yield "a curve that breaks its limits", bench(sheet)


def without(key):
    def spoil(result):
        del result[key]

    return spoil


def with_value(key, value):
    def spoil(result):
        result[key] = value

    return spoil


SPOILED = [
    ("an unknown key", with_value("unheard_of", 1)),
    ("no verdict", without("verdict")),
    ("no schema mark", without("schema")),
    ("the mark of another version", with_value("schema", "bobweight-result/2")),
    ("another verdict", with_value("verdict", "perhaps")),
    ("a count in words", lambda result: result["counts"].update(pulses="many")),
    ("a missing figure", lambda result: result["settings"].pop("tolerance_crank_degrees")),
]


def judge(name, result, validator):
    errors = [f"{error.json_path}: {error.message}" for error in validator.iter_errors(result)]
    yield f"{name} is valid", errors[:3]
    for what, spoil in SPOILED:
        spoiled = copy.deepcopy(result)
        spoil(spoiled)
        yield f"{name}, with {what}, is refused", ["it was not"] if validator.is_valid(spoiled) else []


def main():
    schema = json.loads(SCHEMA.read_text())
    validator_class = jsonschema.validators.validator_for(schema)
    validator_class.check_schema(schema)
    validator = validator_class(schema)
    files = [(path, json.loads(pathlib.Path(path).read_text())) for path in sys.argv[1:]]
    passed = failed = 0
    for name, result in files or fresh_results():
        for what, trouble in judge(name, result, validator):
            print(f"ok    {what}" if not trouble else f"FAIL  {what}: {'; '.join(trouble)}")
            passed, failed = passed + (not trouble), failed + bool(trouble)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
