about="what the README quotes is what the commands print"
minutes=2

needs() {
    tool_rust
    tool python3 python3
}

run() {
    tool_built || return
    local label
    for label in $(python3 tests/suites/readme_quotes.py --list); do
        check "README quotes $label" python3 tests/suites/readme_quotes.py "$label"
    done
}
