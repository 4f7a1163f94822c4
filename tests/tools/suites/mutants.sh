about="errors planted in the core, each caught by the independent ignition"
minutes=6

needs() {
    tool_rust
    tool python3 python3
}

run() {
    local log=$BOBWEIGHT_LOGS/$suite_name-mutants.log
    python3 tests/job/agreement/mutants.py >"$log" 2>&1 </dev/null
    cat "$log"
    local passed failed
    read -r passed failed < <(sed -n 's/^\([0-9]*\) passed, \([0-9]*\) failed$/\1 \2/p' "$log")
    # Without a closing line nothing was shown.
    count passed "${passed:-0}"
    count failed "${failed:-1}"
}
