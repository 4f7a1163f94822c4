"""Validates saved results of every command that saves one against the committed schemas with jsonschema. That of an ignition,
which needs a board, is read by its type alone (`tests/job/bench/ignition.rs`).

    python result_schema.py [RESULT.json ...]

Without a file it benches the demo: one run that passes, one that fails, one of a curve that breaks its limits, which drives
nothing. It also checks the demo, that broken curve, and a sheet that is not filled in, works out the demo's figures and those of a coil
by meter, fits the demo's readings and judges invented readings by light and invented trials. Each
result is then spoiled in several ways, and the schema must refuse every one of them.
"""

import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema
from programs import tool

ROOT = pathlib.Path(__file__).resolve().parents[3]
SCHEMAS = {
    "bobweight-result/2": ROOT / "bench-cli" / "result.schema.json",
    "bobweight-check/1": ROOT / "bench-cli" / "check.schema.json",
    "bobweight-coil/1": ROOT / "bench-cli" / "coil.schema.json",
    "bobweight-figures/1": ROOT / "bench-cli" / "figures.schema.json",
    "bobweight-fit/1": ROOT / "bench-cli" / "fit.schema.json",
    "bobweight-light/1": ROOT / "bench-cli" / "light.schema.json",
    "bobweight-trials/1": ROOT / "bench-cli" / "trials.schema.json",
}
DEMO = ROOT / "bench-cli" / "demo"
IMPERFECT = "lag=150 us, scatter=0.3 crank degrees, lose=1/400, vacuum=80 %, pulse=2 crank degrees late"


COIL = [
    "--resistance", "1.7 ohm", "--leads", "0.2 ohm", "--cold", "20 C", "--supply", "12.3 V", "--across-coil", "6.2 V", "--hot", "1.94 ohm",
    "--after", "15 min", "--hotter", "2.03 ohm",
]
COIL_IN_USE = [
    *COIL, "--inductance", "7 mH", "--driver-drop", "1 V", "--energy", "40 mJ", "--cylinders", "4", "--top-speed", "5000 crank rpm",
    "--ohms-accuracy", "0.5 % + 0.02 ohm", "--dc-accuracy", "0.5 % + 0.02 V",
]


def result_of(step, *options):
    command = [*tool(), step, "--json", "-"]
    ran = subprocess.run([*command, *options], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    # Pass and fail leave a result; anything else is told.
    if ran.returncode not in (0, 1):
        sys.exit(f"exit {ran.returncode}\n{ran.stderr}")
    return json.loads(ran.stdout)


def fresh_results():
    demo = DEMO / "fire-float.toml"
    yield "a run that passes", result_of("bench", demo)
    yield "a run that fails", result_of("bench", demo, "--simulate", IMPERFECT)
    yield "a check of kept limits", result_of("check", demo)
    yield "a coil of which little was read", result_of("coil", *COIL)
    yield "a coil by meter and clock", result_of("coil", *COIL_IN_USE)
    yield "the figures", result_of("figures", demo)
    yield "the figures before and after a change", result_of("figures", demo, "--initial", "10 crank degrees")
    yield "a fit", result_of("fit", DEMO / "fire-float-readings.csv")
    light = ROOT / "tests" / "job" / "report" / "light.csv"
    yield "a proof by light", result_of("light", demo, "--readings", light, "--acknowledge-cautions")
    trials = DEMO / "fire-float-trials.csv"
    yield "trials", result_of("trials", demo, "--trials", trials, "--acknowledge-cautions")
    with tempfile.TemporaryDirectory() as folder:
        for file in DEMO.glob("*.csv"):
            (pathlib.Path(folder) / file.name).write_bytes(file.read_bytes())
        sheet = pathlib.Path(folder) / "sheet.toml"
        text = demo.read_text()
        broken = text.replace('greatest = "42', 'greatest = "37', 1)
        assert broken != text
        sheet.write_text(broken)
        yield "a bench of a curve that breaks its limits", result_of("bench", sheet)
        yield "a check of a curve that breaks its limits", result_of("check", sheet)
        unfinished = text.replace("lag = ", "# lag = ", 1)
        assert unfinished != text
        sheet.write_text(unfinished)
        yield "a check of a sheet that is not filled in", result_of("check", sheet)


def without(key):
    def spoil(result):
        del result[key]

    return spoil


def with_value(key, value):
    def spoil(result):
        result[key] = value

    return spoil


OF_ANY = [
    ("an unknown key", with_value("unheard_of", 1)),
    ("no schema mark", without("schema")),
]
SPOILED = {
    "bobweight-result/2": [
        *OF_ANY,
        ("no verdict", without("verdict")),
        ("the mark of another version", with_value("schema", "bobweight-result/3")),
        ("another verdict", with_value("verdict", "perhaps")),
        ("a count in words", lambda result: result["counts"].update(pulses="many")),
        ("a missing figure", lambda result: result["settings"].pop("tolerance_crank_degrees")),
        ("no word on what was benched", lambda result: result["settings"].pop("driven_by")),
    ],
    "bobweight-check/1": [
        *OF_ANY,
        ("no word on whether it is kept", without("kept")),
        ("the mark of another version", with_value("schema", "bobweight-check/2")),
        ("an unknown limit", lambda result: result["limits"][0].update(limit="latest")),
        ("a margin in words", lambda result: result["limits"][0].update(margin_crank_degrees="enough")),
        ("a missing sum", lambda result: result["limits"][0].pop("sum_crank_degrees")),
    ],
    "bobweight-coil/1": [
        *OF_ANY,
        ("no heat", without("heat")),
        ("the mark of another version", with_value("schema", "bobweight-coil/2")),
        ("a figure in words", with_value("coil_ohm", {"value": "much", "give_or_take": None})),
        ("heat in a use that nobody knows", lambda result: result["heat"]["known"]["rows"][0].update(used="parked")),
        ("heat without its watts", lambda result: result["heat"]["known"]["rows"][0].pop("watts")),
    ],
    "bobweight-figures/1": [
        *OF_ANY,
        ("no conditions", without("conditions")),
        ("the mark of another version", with_value("schema", "bobweight-figures/2")),
        ("a name in figures", lambda result: result["conditions"][0].update(name=7)),
        ("a condition without a name", lambda result: result["conditions"][0].pop("name")),
    ],
    "bobweight-fit/1": [
        *OF_ANY,
        ("the mark of another version", with_value("schema", "bobweight-fit/2")),
        ("a value without its interval", lambda result: result["initial_crank_degrees"].pop("low")),
        ("a finding that answers nothing", lambda result: result["findings"][0].update(answer="maybe")),
    ],
    "bobweight-light/1": [
        *OF_ANY,
        ("no verdict", without("verdict")),
        ("the mark of another version", with_value("schema", "bobweight-light/2")),
        ("a place without an error", lambda result: result["places"][0].pop("error_crank_degrees_early")),
        ("an unknown light", with_value("light", "bright")),
    ],
    "bobweight-trials/1": [
        *OF_ANY,
        ("no word on the top", without("top")),
        ("the mark of another version", with_value("schema", "bobweight-trials/2")),
        ("a trial that was half heard", lambda result: result["trials"][0].update(heard="half")),
        ("a best timing without its interval", lambda result: result["best_crank_degrees"].pop("high")),
    ],
}


def judge(name, result, validator):
    errors = [f"{error.json_path}: {error.message}" for error in validator.iter_errors(result)]
    yield f"{name} is valid", errors[:3]
    for what, spoil in SPOILED[result["schema"]]:
        spoiled = copy.deepcopy(result)
        spoil(spoiled)
        yield f"{name}, with {what}, is refused", ["it was not"] if validator.is_valid(spoiled) else []


def validator_of(schema):
    validator_class = jsonschema.validators.validator_for(schema)
    validator_class.check_schema(schema)
    return validator_class(schema)


def main():
    validators = {mark: validator_of(json.loads(path.read_text())) for mark, path in SCHEMAS.items()}
    files = [(path, json.loads(pathlib.Path(path).read_text())) for path in sys.argv[1:]]
    passed = failed = 0
    for name, result in files or fresh_results():
        for what, trouble in judge(name, result, validators[result["schema"]]):
            print(f"ok    {what}" if not trouble else f"FAIL  {what}: {'; '.join(trouble)}")
            passed, failed = passed + (not trouble), failed + bool(trouble)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
