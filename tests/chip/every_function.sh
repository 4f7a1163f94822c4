#!/usr/bin/env bash
# Names each public function of the crates that a chip links which the chip program does not link. Exit 1 if there is one.
#
# The program writes `Type::function` or `module::function` for each, so a text search is enough. Left out, because they
# are not for a chip: what stands behind `cfg(test)` or a feature, and what is not public outside its crate.
set -euo pipefail
cd "$(dirname "$0")/../.."

# Prints `Type::name`, or `::name` for a function outside an impl block.
public_functions() {
    awk '
        FNR == 1 { type = ""; skip = 0 }
        # A test module closes its file.
        /^#\[cfg\(test\)\]/ { nextfile }
        /^    #\[cfg\(feature/ || /^#\[cfg\(feature/ { skip = 1; next }
        /^impl/ {
            line = $0
            sub(/^impl(<[^>]*(<[^>]*>)?[^>]*>)? */, "", line)
            sub(/.* for /, "", line)
            match(line, /[A-Za-z0-9_]+/)
            type = substr(line, RSTART, RLENGTH)
        }
        /^}/ { type = "" }
        /^ *pub (const )?fn / {
            line = $0
            sub(/^ *pub (const )?fn /, "", line)
            match(line, /^[a-z0-9_]+/)
            if (!skip) print type "::" substr(line, RSTART, RLENGTH)
            skip = 0
        }
    ' "$@"
}

files=$(git ls-files 'core/src/*.rs' 'core/wire/src/*.rs' 'bench-cli/stimulator/src/*.rs' | grep -v 'core/src/strategy')
program=$(cat tests/chip/src/*.rs)
missing=0
total=0
for name in $(public_functions $files | sort -u); do
    total=$((total + 1))
    pattern="(^|[^A-Za-z0-9_])${name%%::*}(::<[^>]*>)?::${name##*::}([^A-Za-z0-9_]|\$)"
    if ! grep -qE "$pattern" <<<"$program"; then
        echo "not linked by tests/chip: $name ($(grep -lE "pub (const )?fn ${name##*::}\b" $files | tr '\n' ' '))"
        missing=$((missing + 1))
    fi
done
echo "$total public functions, $missing of them missing"
[ $total -gt 0 ] && [ $missing -eq 0 ]
