about="rustfmt, clippy on both firmwares too, the top level's files, the arrows between the crates"
minutes=3

needs() {
    tool_rust
    tool cargo-fmt rustfmt-web
    tool cargo-clippy rust-web-clippy
    tool_chips
    tool_chip_lints
}

run() {
    check "rustfmt" cargo fmt --all --check
    check "rustfmt of the chip program" in_folder tests/tools/chip cargo fmt --check
    check "rustfmt of the fuzz targets" in_folder fuzz cargo fmt --check
    check "rustfmt of the example" in_folder core/examples/own-curve cargo fmt --check
    check "rustfmt of the example for a Cortex-M0" in_folder core/examples/cortex-m0 cargo fmt --check
    check "rustfmt of the ignition" in_folder core/ignition/avr cargo fmt --check
    check "rustfmt of the stimulator's firmware" in_folder bench-cli/stimulator/atmega328p cargo fmt --check
    check "clippy" cargo clippy --workspace --all-targets -- -D warnings
    check "clippy of the tool alone" cargo clippy -- -D warnings
    check "clippy of the fuzz bodies" in_folder fuzz env CARGO_TARGET_DIR=../target cargo clippy --all-targets -- -D warnings
    check "clippy of the strategies" cargo clippy -p bobweight --features proptest --all-targets -- -D warnings
    check "clippy of the example" in_folder core/examples/own-curve \
        env CARGO_TARGET_DIR=../../../target/own-curve cargo clippy --all-targets -- -D warnings
    check "clippy of the example for a Cortex-M0" in_folder core/examples/cortex-m0 \
        "$PWD/tests/tools/chip/toolchain.sh" thumbv6m-none-eabi clippy --release --locked
    check "clippy of the stimulator's firmware" firmware_lints bench-cli/stimulator/atmega328p
    check "clippy of the stimulator's firmware with a resonator" firmware_lints bench-cli/stimulator/atmega328p --features resonator
    check "clippy of the ignition without settings" firmware_lints core/ignition/avr
    AVR_CHIP=atmega1284p check "clippy of the ignition with a serial port" firmware_lints core/ignition/avr --features atmega1284p
    if tool_built && prepared "an engine's settings" "$BOBWEIGHT" export bench-cli/demo/fire-float.toml --as rust --out target/style-settings.rs; then
        BOBWEIGHT_SETTINGS=$PWD/target/style-settings.rs check "clippy of the ignition with settings" firmware_lints core/ignition/avr
    fi
    check "bash reads every script" bash_reads tests/run.sh tests/tools/suites/*.sh tests/tools/chip/*.sh tests/rig/*.sh .ci/run
    check "the lock files are current" lock_files_current
    check "the top level holds what DEVELOPERS.md says" top_level
    check "core links nothing of ours" links_only core
    check "wire links nothing of ours" links_only core/wire
    check "the driver links the core alone" links_only core/driver bobweight
    check "the stimulator links wire alone" links_only bench-cli/stimulator bobweight-wire
    check "the independent crank links nothing of ours" links_only tests/truth/crank
    check "what a chip links is no_std and forbids unsafe code" chip_sources
}

bash_reads() {
    local script status=0
    for script in "$@"; do bash -n "$script" || status=1; done
    return $status
}

# For the chip: with its `core` library, and in the profile that is flashed.
firmware_lints() { in_folder "$1" "$PWD/tests/tools/chip/toolchain.sh" avr-none clippy --release --locked "${@:2}"; }

in_folder() { (cd "$1" && "${@:2}"); }

lock_files_current() {
    local lock folder status=0
    for lock in $(git ls-files '*Cargo.lock'); do
        folder=$(dirname "$lock")
        in_folder "$folder" cargo metadata --locked --format-version 1 >/dev/null \
            || { echo "$folder/Cargo.lock is behind: (cd $folder && cargo metadata >/dev/null), then commit it"; status=1; }
    done
    return $status
}

top_level() {
    diff <(git ls-files | sed 's,/.*,,' | grep -v '^\.' | sort -u) \
        <(printf '%s\n' Cargo.lock Cargo.toml DEVELOPERS.md LICENSE README.md bench-cli core fuzz tests | LC_ALL=C sort)
}

# links_only FOLDER CRATE...: of our crates, the one in FOLDER depends on no other than these.
links_only() {
    local found
    found=$(in_folder "$1" cargo tree --edges normal,build --depth 1 --prefix none --format '{lib}' | tail -n +2 \
        | grep '^bobweight' | sort -u | tr '_' '-')
    echo "found: $found; allowed: ${*:2}"
    [ "$found" = "$(printf '%s\n' "${@:2}" | sort)" ]
}

chip_sources() {
    local folder status=0
    for folder in core core/wire core/driver bench-cli/stimulator; do
        grep -q '^#!\[forbid(unsafe_code)\]' "$folder/src/lib.rs" || { echo "$folder does not forbid unsafe code"; status=1; }
        grep -q '^#!\[no_std\]' "$folder/src/lib.rs" || { echo "$folder is not no_std"; status=1; }
    done
    return $status
}
