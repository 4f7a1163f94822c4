about="each feature of what a chip links, alone; the stated Rust version"
minutes=1

needs() { tool_rust; }

run() {
    local manifest package feature
    for manifest in core/Cargo.toml core/wire/Cargo.toml core/driver/Cargo.toml bench-cli/stimulator/Cargo.toml; do
        package=$(sed -n 's/^name = "\(.*\)"/\1/p' "$manifest" | head -1)
        check "$package without features" cargo check -p "$package" --no-default-features
        for feature in $(features_of "$manifest"); do
            check "$package with $feature alone" cargo check -p "$package" --no-default-features --features "$feature"
        done
    done
    check "what can be shown can be logged" shown_and_logged
    stated_rust
}

# All that is released, without its tests.
stated_rust() {
    local stated cargo
    stated=$(sed -n 's/^rust-version = "\(.*\)"$/\1/p' Cargo.toml)
    if cargo=$(cargo_of "$stated"); then
        check "Rust $stated, the stated version, builds what is released" \
            $cargo check --locked -p bobweight -p bobweight-wire -p bobweight-driver -p bobweight-ignition-port -p bobweight-stimulator -p bobweight-tool
    else
        not_run "the build by Rust $stated, the stated version" "rustup toolchain install $stated"
    fi
}

# The cargo of a compiler of this version: the usual one, Debian's, or another of rustup's, which build beside the usual one.
cargo_of() {
    local toolchain beside="env CARGO_TARGET_DIR=$PWD/target/stated-rust"
    if rustc --version | grep -q "^rustc $1\."; then
        echo cargo
    elif /usr/bin/rustc --version 2>/dev/null | grep -q "^rustc $1\."; then
        echo "$beside RUSTC=/usr/bin/rustc /usr/bin/cargo"
    else
        toolchain=$(rustup toolchain list 2>/dev/null | sed -n "s/^\($1[.-][^ ]*\).*/\1/p" | grep -m 1 .) && echo "$beside cargo +$toolchain"
    fi
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
