about="every seed of the fuzz corpora; --long fuzzes too"
minutes=3

needs() {
    tool_rust
    if [ -n "${BOBWEIGHT_LONG:-}" ]; then tool c++ g++; fi
}

run() {
    # The same compiled libraries as the other tests use.
    (cd fuzz && CARGO_TARGET_DIR=../target cargo_tests)
    if [ -n "${BOBWEIGHT_LONG:-}" ]; then fuzz_all; fi
}

# Ten minutes for each target, on what the corpora hold and what it finds from there.
fuzz_all() {
    local target
    if ! cargo +nightly --version >/dev/null 2>&1; then
        not_run "fuzzing" "rustup toolchain install nightly"
        return
    fi
    if ! command -v cargo-fuzz >/dev/null && ! cargo install --locked cargo-fuzz >"$BOBWEIGHT_LOGS/fuzz-install.log" 2>&1; then
        not_run "fuzzing" "cargo install --locked cargo-fuzz"
        return
    fi
    for target in fuzz/fuzz_targets/*.rs; do
        target=$(basename "$target" .rs)
        mkdir -p "fuzz/target/corpus-work/$target"
        check "fuzzing $target" env -C fuzz cargo +nightly fuzz run --fuzz-dir . --features libfuzzer "$target" \
            "target/corpus-work/$target" "corpus/$target" -- -max_total_time="${BOBWEIGHT_FUZZ_SECONDS:-600}"
    done
}
