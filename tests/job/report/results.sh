#!/usr/bin/env bash
# results.sh BOBWEIGHT FOLDER: results of the demo and of a sheet with a hostile name, and the reports of them, in FOLDER.
set -euo pipefail
tool=$(realpath "$1")
mkdir -p "$2"
cp bench-cli/demo/fire-float.toml bench-cli/demo/fire-float-readings.csv tests/job/report/light.csv "$2"
cd "$2"
sed 's/^name = .*/name = "<img src=x onerror=alert(1)> \\u001b[31mred\\u001b[0m \\u202egnorw"/' fire-float.toml >hostile.toml
"$tool" bench fire-float.toml --json before.json --simulate "lag=150 us, scatter=0.3 crank degrees" >/dev/null || [ $? -eq 1 ]
"$tool" bench fire-float.toml --json after.json >/dev/null
"$tool" bench hostile.toml --json hostile.json >/dev/null
"$tool" check fire-float.toml --json check.json >/dev/null
"$tool" figures fire-float.toml --json figures.json >/dev/null
"$tool" fit fire-float-readings.csv --json fit.json >/dev/null
"$tool" light fire-float.toml --readings light.csv --acknowledge-cautions --json light.json >/dev/null 2>&1 || [ $? -eq 1 ]
"$tool" report fit.json figures.json check.json before.json after.json light.json --out whole.html --card
"$tool" report after.json --out bench.html
"$tool" report hostile.json --out hostile.html
# The engine's file of the whole folder, and of one in which a sheet with that name is only begun and nothing else lies.
"$tool" report . --sheet fire-float.toml --out engine.html --card
mkdir -p begun
sed '/^angle = /d; /^rotation = /d; /^inductance = /d' hostile.toml >begun/engine.toml
"$tool" report begun --out begun.html
