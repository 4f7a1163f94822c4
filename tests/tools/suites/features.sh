about="each feature of what a chip links, alone"
minutes=1

needs() { tool_rust; }

run() {
    local manifest package feature
    for manifest in core/Cargo.toml core/wire/Cargo.toml bench-cli/stimulator/Cargo.toml; do
        package=$(sed -n 's/^name = "\(.*\)"/\1/p' "$manifest" | head -1)
        check "$package without features" cargo check -p "$package" --no-default-features
        for feature in $(features_of "$manifest"); do
            check "$package with $feature alone" cargo check -p "$package" --no-default-features --features "$feature"
        done
    done
    check "what can be shown can be logged" shown_and_logged
}

# Read from the manifest, so that a new feature is checked from its first day.
features_of() {
    awk '/^\[/ {on = ($0 == "[features]")} on && /^[a-z0-9_-]+ *=/ {print $1}' "$1" | grep -v '^default$'
}

# Every type of the core that has Debug has defmt::Format; the strategies, which no chip links, and tests apart.
shown_and_logged() {
    find core/src -name '*.rs' ! -path '*strategy*' ! -name tests.rs -exec awk '
        FNR == 1 {waits = 0; tests = 0}
        /#\[cfg\(test\)\]/ {tests = 1}
        /^ *(pub |struct |enum |pub\(crate\))/ && waits {print FILENAME ":" FNR ": " $0; found = 1}
        /^ *(pub |struct |enum |pub\(crate\))/ {waits = 0}
        /derive\(.*Debug/ && !tests {waits = 1}
        /defmt::Format/ {waits = 0}
        END {exit found}' {} + | grep -v 'struct \$name'
    # What is left would be a type that cannot be logged; a quantity writes its own.
    [ "${PIPESTATUS[1]}" -ne 0 ] && grep -q 'impl defmt::Format for \$name' core/src/quantity/mod.rs
}
