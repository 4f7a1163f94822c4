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
}

# Read from the manifest, so that a new feature is checked from its first day.
features_of() {
    awk '/^\[/ {on = ($0 == "[features]")} on && /^[a-z0-9_-]+ *=/ {print $1}' "$1" | grep -v '^default$'
}
