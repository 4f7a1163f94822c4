about="the gate before a commit: tests of the suite host, in 60 s after a build"
minutes=1

needs() { tool_rust; }

# Each holds much of the code and takes seconds. What works a terminal or a serial port waits for it, and counts over invented
# distributors take long: they stay with the whole.
quick_tests=(
    any_stream streams_once_wrong changing_speed changing_speed_cranking reluctor reluctor_cranking bounce
    false_and_lost_edges bursts accuracy limits trim held_advance cranking_dwell driver sparks image store
    published agreement bench_agreement verdict_acceptance light_acceptance fit_acceptance planted reluctor_bench paused traced
    command format frames laws behaviour flanks refusals arbitrary
)

# The same few cases each time, whoever asks.
quick_cases() {
    unset BOBWEIGHT_LONG BOBWEIGHT_STREAMS BOBWEIGHT_SEED
    export PROPTEST_RNG_SEED=1 BOBWEIGHT_STARTS=12000
}

run() {
    local chosen=() test seconds=$BOBWEIGHT_LOGS/quick.seconds TIMEFORMAT='%R %U %S'
    for test in "${quick_tests[@]}"; do chosen+=(--test "$test"); done
    # The suite host's build; the minute begins after it.
    tool_built || return
    quick_cases
    { time INSTA_UPDATE=no cargo_tests --workspace --lib "${chosen[@]}" 2>&3; } 3>&2 2>"$seconds"
    check "at most 60 s" short_enough "$seconds"
    cat "$BOBWEIGHT_LOGS/quick-at-most-60-s.log"
}

# Of what it computed: a busy machine takes longer without the gate being longer.
short_enough() {
    awk '{
        computed = $2 + $3
        printf "%.0f s, %.0f s of them computed\n", $1, computed
        exit computed == 0 || computed > 60
    }' "$1"
}
