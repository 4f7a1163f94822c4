#!/usr/bin/env bash
# report-picture.sh [BOBWEIGHT]: makes report.png beside this script, the top of the report of the demo's simulated run.
# It needs Debian's chromium.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
tool=$(realpath "${1:-$here/../../target/debug/bobweight}")
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cp "$here"/fire-float.toml "$here"/fire-float-readings.csv "$folder"
cd "$folder"
"$tool" fit fire-float-readings.csv --sheet fire-float.toml --json fit.json >/dev/null
"$tool" bench fire-float.toml --json simulated.json >/dev/null
"$tool" report fit.json simulated.json --out report.html >/dev/null
chromium --headless --no-sandbox --disable-gpu --disable-dev-shm-usage --hide-scrollbars --force-device-scale-factor=1 \
    --window-size=860,1092 --screenshot="$folder/report.png" "file://$folder/report.html" >/dev/null 2>&1
cp report.png "$here/report.png"
