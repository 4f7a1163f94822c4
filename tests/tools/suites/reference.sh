about="Python recomputes the golden vectors, the fits and the schema"
minutes=3

needs() {
    tool_rust
    tool python3 python3
    tool /usr/share/doc/python3-venv python3-venv
}

run() {
    local venv=target/reference-venv script log passed failed
    if ! reference_venv "$venv" >"$BOBWEIGHT_LOGS/reference-venv.log" 2>&1; then
        tail -5 "$BOBWEIGHT_LOGS/reference-venv.log"
        not_run "all of reference" "python3 -m venv $venv && $venv/bin/pip install -r tests/truth/reference/requirements.txt"
        return
    fi
    tool_built || return
    for script in tests/truth/reference/*.py; do
        # A module that the scripts share has no main part of its own.
        grep -q '__main__' "$script" || continue
        log=$BOBWEIGHT_LOGS/reference-$(basename "$script" .py).log
        "$venv/bin/python" "$script" >"$log" 2>&1 </dev/null
        status=$?
        tail -40 "$log" | sed 's/^/        /'
        read -r passed failed < <(sed -n 's/^\([0-9]*\) passed, \([0-9]*\) failed.*/\1 \2/p' "$log" | tail -1)
        passed=${passed:-0} failed=${failed:-0}
        # A script that fails without saying so, or that says nothing, has not passed.
        if [ "$failed" -eq 0 ] && { [ $status -ne 0 ] || [ "$passed" -eq 0 ]; }; then failed=1; fi
        echo "$script: $passed passed, $failed failed" >&2
        count passed "$passed"
        count failed "$failed"
    done
}

reference_venv() {
    [ -x "$1/bin/python" ] || python3 -m venv "$1" || return
    "$1/bin/pip" install --quiet --disable-pip-version-check -r tests/truth/reference/requirements.txt
}
