about="a large trace: memory and speed beside wc; 200 MB, with --long 2 GB"
minutes=1

needs() {
    tool_rust
    tool python3 python3
}

run() {
    local folder=target/trace
    rm -rf "$folder" && mkdir -p "$folder"
    tool_built || return
    # Beside it a sheet without readings: fitting them takes memory of its own.
    sed '/^readings/d' bench-cli/demo/fire-float.toml >"$folder/sheet.toml"
    check "a trace of 200 MB" large 200
    if [ -n "${BOBWEIGHT_LONG:-}" ]; then check "a trace of 2 GB" large 2000; fi
    grep -h "MB\|KB" "$BOBWEIGHT_LOGS"/trace-*.log
    rm -rf "$folder"
}

large() { python3 tests/job/trace/large.py "$BOBWEIGHT" target/trace/sheet.toml target/trace "$1"; }
