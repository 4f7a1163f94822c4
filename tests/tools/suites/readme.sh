about="what README and tutorial quote is what the commands print"
minutes=1

needs() {
    tool_rust
    tool python3 python3
}

run() {
    tool_built || return
    local label
    for label in $(python3 tests/tools/suites/readme_quotes.py --list); do
        check "README quotes $label" python3 tests/tools/suites/readme_quotes.py "$label"
    done
    check "the tutorial, played from the survey to the report" python3 tests/tools/suites/tutorial.py
}
