# What the suites share. A suite is a file that sets `about` and `minutes` and defines
#   needs    names its commands and their packages with `tool`
#   run      does its checks with `check`, `cargo_tests` and `not_run`
# Each check adds a line to the suite's counts: `passed N`, `failed N` or `not_run 1 WHAT`.

count() { echo "$*" >>"$BOBWEIGHT_LOGS/$suite_name.counts"; }

# tool COMMAND PACKAGE...: the suite needs COMMAND (a path: that it exists), which Debian has in PACKAGE...
tool() {
    local found=yes
    case "$1" in
        /*) [ -e "$1" ] || found= ;;
        *) command -v "$1" >/dev/null || found= ;;
    esac
    shift
    named+=" $*"
    [ -n "$found" ] || lacking+=" $*"
}
named_packages() { printf '%s\n' ${named:-} | sort -u; }
missing_packages() { printf '%s\n' ${lacking:-} | sort -u | sed '/^$/d'; }

# A C compiler comes with rustc-web; a rustup toolchain needs one to link with.
tool_rust() {
    tool cargo rustc-web cargo-web
    tool cc gcc libc6-dev
}

# A chip's library is built from source: by a nightly with rust-src, or by Debian's compiler, which carries it.
tool_chips() {
    bash tests/tools/chip/toolchain.sh --which >/dev/null 2>&1 || lacking+=" rustc-web cargo-web rust-web-src"
    named+=" rustc-web cargo-web rust-web-src"
    tool avr-gcc gcc-avr
    tool avr-nm binutils-avr
    tool /usr/lib/avr/include/avr/io.h avr-libc
    tool arm-none-eabi-ld binutils-arm-none-eabi
}

# A nightly's clippy, or Debian's, which `rust-web-clippy` brings.
tool_chip_lints() {
    bash tests/tools/chip/toolchain.sh --which 2>/dev/null | grep -q nightly || tool /usr/bin/cargo-clippy rust-web-clippy
}

install_packages() {
    command -v apt-get >/dev/null || return 0
    local root=()
    if [ "$(id -u)" -ne 0 ]; then
        sudo -n true 2>/dev/null || return 0
        root=(sudo -n)
    fi
    echo "installing: $*"
    "${root[@]}" apt-get update -qq \
        && DEBIAN_FRONTEND=noninteractive "${root[@]}" apt-get install -qq -y --no-install-recommends "$@" >/dev/null \
        || echo "could not install them; what needs them is reported as not run"
}

# The tool, `$BOBWEIGHT`, and the examples of the tests as `cargo test` has them: a build of the tool alone switches on fewer
# features, so that half of it would be compiled once more.
tool_built() { prepared "the tool builds" cargo test --quiet --workspace --no-run; }

# check NAME COMMAND...: one check, passed when the command exits 0; its output is shown only when it does not.
check() {
    prepared "$@" || return
    echo "ok      $1"
    count passed 1
}

# prepared NAME COMMAND...: what the checks that follow need, as a build. It is no passed check, but a failed one.
prepared() {
    local name=$1 log status
    shift
    log=$BOBWEIGHT_LOGS/$suite_name-$(echo "$name" | tr -c 'a-zA-Z0-9\n' -).log
    "$@" >"$log" 2>&1 </dev/null
    status=$?
    if [ $status -ne 0 ]; then
        echo "FAILED  $name (exit $status)"
        tail -60 "$log" | sed 's/^/        /'
        count failed 1
    fi
    return $status
}

# refused NAME PATTERN COMMAND...: one check, passed when the command fails and says PATTERN.
refused() {
    check "$1" fails_saying "${@:2}"
}
fails_saying() {
    local pattern=$1 output status
    shift
    output=$("$@" 2>&1)
    status=$?
    echo "$output"
    [ $status -ne 0 ] || { echo "this should have failed"; return 1; }
    grep -q "$pattern" <<<"$output" || { echo "failed, but without saying: $pattern"; return 1; }
}

# counted NAME COMMAND...: a program that does many checks and closes with the line `N passed, N failed`.
counted() {
    local name=$1 log status passed failed
    shift
    log=$BOBWEIGHT_LOGS/$suite_name-$(echo "$name" | tr -c 'a-zA-Z0-9\n' -).log
    "$@" >"$log" 2>&1 </dev/null
    status=$?
    tail -40 "$log" | sed 's/^/        /'
    read -r passed failed < <(sed -n 's/^\([0-9]*\) passed, \([0-9]*\) failed$/\1 \2/p' "$log" | tail -1)
    passed=${passed:-0} failed=${failed:-0}
    # A program that fails without saying so, or that says nothing, has not passed.
    if [ "$failed" -eq 0 ] && { [ $status -ne 0 ] || [ "$passed" -eq 0 ]; }; then failed=1; fi
    count passed "$passed"
    count failed "$failed"
    [ "$failed" -eq 0 ]
}

# not_run WHAT COMMAND: what could not be run, and the command that would mend it.
not_run() {
    echo "not run $1: $2"
    count not_run 1 "$1: $2"
}

# cargo_tests ARGUMENTS...: runs `cargo test` in the current folder and adds up the counts of its closing lines.
cargo_tests() {
    local log status passed failed
    log=$BOBWEIGHT_LOGS/$suite_name-cargo.log
    # The figures that tests print belong to the log; the screen gets the closing lines and the failures.
    cargo test --no-fail-fast "$@" -- --show-output >"$log" 2>&1 </dev/null
    status=$?
    grep -E '^( +Running|   Doc-tests|test result:|error|warning: unused)' "$log"
    read -r passed failed < <(
        sed -n 's/^test result: .* \([0-9]*\) passed; \([0-9]*\) failed.*/\1 \2/p' "$log" \
            | awk '{p += $1; f += $2} END {print p + 0, f + 0}'
    )
    if [ $status -ne 0 ]; then
        awk '/^failures:$/ {on = 1} /^test result:/ {on = 0} on' "$log" | head -200
        # It did not compile, or a test's process died before it could count.
        if [ "$failed" -eq 0 ]; then
            tail -60 "$log"
            failed=1
        fi
    fi
    count passed "$passed"
    count failed "$failed"
    return $status
}
