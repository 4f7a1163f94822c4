#!/usr/bin/env bash
# Every test there is, and what could not be run.
#
#   bash tests/run.sh [--long] [--allow-missing] [SUITE ...]
#   bash tests/run.sh quick         what to run before a commit: a minute after a build
#   bash tests/run.sh --list        the suites, what they need and how many minutes they take
#
#   --long            all seeds and streams, and the fuzzing itself; sets BOBWEIGHT_LONG=1 for the tests
#   --allow-missing   exit 0 although something was not run
#
# Exit: 0 every suite ran and passed, 1 something failed, 2 wrong usage, 4 something was not run.
# Packages are installed only as root, or with a passwordless sudo, where apt-get exists.
set -uo pipefail
cd "$(dirname "$0")/.."
suites_folder=tests/tools/suites
. "$suites_folder/lib.sh"

long=
allow_missing=
list=
chosen=()
for argument in "$@"; do
    case "$argument" in
        --long) long=1 ;;
        --allow-missing) allow_missing=1 ;;
        --list) list=1 ;;
        -h | --help) sed -n '2,/^set /{/^#/s/^# \{0,1\}//p}' "$0"; exit 0 ;;
        -*) echo "unknown option $argument; see bash tests/run.sh --help" >&2; exit 2 ;;
        *)
            [ -f "$suites_folder/$argument.sh" ] && [ "$argument" != lib ] \
                || { echo "no suite $argument; see bash tests/run.sh --list" >&2; exit 2; }
            chosen+=("$argument") ;;
    esac
done

# The longest first, so that no long one is left over at the end. Not quick: its tests are among those of host.
all_suites=(host chip style own_curve mutants reference fuzz features docs compile_fail export trace tape report readme rig)
if [ ${#chosen[@]} -eq 0 ]; then
    chosen=("${all_suites[@]}")
    if [ -n "$list" ]; then chosen=(quick "${chosen[@]}"); fi
fi

if [ -n "$list" ]; then
    printf '%-13s %7s  %s\n' suite minutes 'what it does (needs)'
    for suite in "${chosen[@]}"; do
        # In a subshell: a suite's file defines the same names as the next one's.
        (
            . "$suites_folder/$suite.sh"
            needs
            printf '%-13s %7s  %s (%s)\n' "$suite" "$minutes" "$about" "$(echo $(named_packages))"
        )
    done
    echo "Minutes allow for a fresh build, and are rounded up. All but quick: at most 25 on two idle processors, two suites at a"
    echo "time and the rig alone; a check that would make it more belongs to --long."
    exit 0
fi

# Every suite builds once: what only a second build would use is not kept.
export CARGO_INCREMENTAL=0
# The same cases at every run, so that a failure speaks of the change that was made; the long run takes new ones.
if [ -n "$long" ]; then export BOBWEIGHT_LONG=1; else export PROPTEST_RNG_SEED=${PROPTEST_RNG_SEED:-1}; fi
# The chosen suites' missing packages, in one go.
missing=$(for suite in "${chosen[@]}"; do (. "$suites_folder/$suite.sh"; needs; missing_packages); done | sort -u)
if [ -n "$missing" ]; then install_packages $missing; fi

logs=target/test-logs
mkdir -p "$logs"
export BOBWEIGHT_LOGS=$PWD/$logs BOBWEIGHT=$PWD/target/debug/bobweight
started=$SECONDS
run_suite() {
    local begun=$SECONDS
    : >"$logs/$1.counts"
    (
        suite_name=$1
        . "$suites_folder/$1.sh"
        needs
        if [ -n "$(missing_packages)" ]; then
            not_run "all of $1" "apt-get install $(echo $(missing_packages))"
        else
            run
        fi
        count ended 1
    ) >"$logs/$1.printed" 2>&1
    # A suite that ended early has not passed, whatever it counted until then.
    grep -q '^ended' "$logs/$1.counts" || echo "failed 1" >>"$logs/$1.counts"
    # In one piece: another suite prints at the same time.
    echo "seconds $((SECONDS - begun))" >>"$logs/$1.counts"
    printf '\n== %s\n%s\n   %d s\n' "$1" "$(cat "$logs/$1.printed")" $((SECONDS - begun))
}

# Two suites at a time: a compiler's last crate and a simulation keep one processor each. The rig has two chips in step with a
# clock, and two of its checks at a time already: it runs alone.
for suite in "${chosen[@]}"; do
    if [ "$suite" = rig ]; then
        wait
        run_suite rig
        continue
    fi
    while [ "$(jobs -rp | wc -l)" -ge 2 ]; do wait -n; done
    run_suite "$suite" &
done
wait

printf '\n%-13s %7s %7s %7s %8s %8s\n' suite ran passed failed 'not run' seconds
total_passed=0 total_failed=0 total_not_run=0
for suite in "${chosen[@]}"; do
    read -r passed failed left_out seconds < <(
        awk '{n[$1] += $2} END {print n["passed"] + 0, n["failed"] + 0, n["not_run"] + 0, n["seconds"]}' "$logs/$suite.counts"
    )
    # A suite that counted nothing has proven nothing.
    if [ $((passed + failed + left_out)) -eq 0 ]; then failed=1; fi
    printf '%-13s %7d %7d %7d %8d %8d\n' "$suite" $((passed + failed)) "$passed" "$failed" "$left_out" "$seconds"
    total_passed=$((total_passed + passed))
    total_failed=$((total_failed + failed))
    total_not_run=$((total_not_run + left_out))
done
printf '%-13s %7d %7d %7d %8d %8d\n\n' all $((total_passed + total_failed)) $total_passed $total_failed $total_not_run $((SECONDS - started))
echo "$(((SECONDS - started + 59) / 60)) minutes; everything that was printed: $logs"
if [ "$total_not_run" -gt 0 ]; then
    echo "not run:"
    for suite in "${chosen[@]}"; do sed -n 's/^not_run 1 /  /p' "$logs/$suite.counts"; done
fi
echo "$total_passed passed, $total_failed failed"
[ "$total_failed" -eq 0 ] || exit 1
[ "$total_not_run" -eq 0 ] || [ -n "$allow_missing" ] || exit 4
