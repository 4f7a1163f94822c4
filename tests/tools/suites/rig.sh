about="the firmware on simulated chips, alone and wired together"
minutes=7

needs() {
    tool_rust
    tool_chips
    tool python3 python3
    tool /usr/share/doc/python3-venv python3-venv
    tool /usr/include/simavr/sim_avr.h libsimavr-dev
    tool /usr/include/libelf.h libelf-dev
}

run() {
    export BOBWEIGHT_RIG=$PWD/target/rig
    tool_built || return
    prepared "programs and firmware" bash tests/rig/firmware.sh bench-cli/demo/fire-float.toml || return
    check "the coil's pin follows the data sheet where the simulator does not" bash tests/rig/rows.sh
    check "without settings: no spark, and the lamp is lit" no_spark ignition_without_settings
    check "nothing in the store: no spark, and the lamp is lit" no_spark ignition_stored
    check "the jumper holds the advance, and no dwell begins above 2 000 crank rpm" python3 tests/rig/held.py
    check "the ignition's flash, memory and time" ignition_bounds ignition 0
    if rig_venv target/rig-venv; then
        # Two at a time: each is one simulation. The longest first.
        beside "an empty board is written to, read, and benched while it is read" rig_python curve.py bench
        beside "power cut, and an edge, in the middle of a write" rig_python curve.py cuts
        beside "200 random faults, judged from the trace" rig_python faults.py
        beside "whole plan by bench --serial, judged again from the trace by bench --trace and in Python" rig_python trace_angles.py
        beside "cranking with a second flank: no spark before it" rig_python cranking.py with_second_flank
        beside "cranking without one: as early as is stated" rig_python cranking.py without_second_flank
        beside "the first fire keeps step" rig_python cranking.py first_fire_keeps_step
        beside "a stop and a reversal while cranking" rig_python cranking.py stop_and_reversal
        beside "a reluctor from rest to 3 000 crank rpm and to a stop" rig_python reluctor.py
        beside "points that bounce spark as if they did not" rig_python points.py
        beside "resets and losses of power, counted apart" rig_python restarts.py
        beside "dense noise at the pickup resets nothing" rig_python noise.py
        beside "how far a changing speed shifts a spark" rig_python laws.py throttle
        beside "how far a false pulse shifts a spark" rig_python laws.py false_pulse
        beside "how late a lost pulse makes a spark" rig_python laws.py lost_pulse
        beside "a client written from the wire's page" rig_python page_client.py
        beside "a crystal's 0.01 %" rig_python bench_serial.py crystal
        beside "a resonator's 0.5 %" rig_python bench_serial.py resonator
        beside "one crank degree built in is named" rig_python bench_serial.py one_degree
        beside "100 us in a wire are named" rig_python bench_serial.py late_wire
        beside "500 to 8 000 crank rpm" rig_python bench_serial.py fast
        wait
        check "what goes wrong on the line" rig_python trouble.py
        check "the tutorial, with its commands for boards" rig_python ../tools/suites/tutorial.py --boards
        check "the stimulator at its highest rate, silent and refusing" rig_python stimulator_limits.py
        check "flash, memory and time of the ignition with a store" ignition_bounds ignition_stored "$(deepest 'the ignition' rig-an-empty-board)" \
            eeprom=target/rig/stored.bin
        check "the stimulator's flash and memory" bash tests/rig/memory.sh target/rig/stimulator.elf "$(deepest 'the stimulator' rig-)"
    else
        not_run "random faults and two chips" "python3 -m venv target/rig-venv && target/rig-venv/bin/pip install -r tests/rig/requirements.txt"
    fi
}

# As check, beside at most one other.
beside() {
    while [ "$(jobs -rp | wc -l)" -ge 2 ]; do wait -n; done
    check "$@" &
}

rig_python() { target/rig-venv/bin/python "tests/rig/$1" "${@:2}"; }

# deepest CHIP LOGS: the deepest stack of all these runs with two chips. Nothing measured is no pass: it is then no number.
deepest() {
    sed -n "s/^ *$1: deepest stack \([0-9]*\) .*/\1/p" "$BOBWEIGHT_LOGS/$2"*.log | sort -n | tail -1 | grep . || echo "nothing was measured"
}

rig_venv() {
    { [ -x "$1/bin/python" ] || python3 -m venv "$1"; } \
        && "$1/bin/pip" install --quiet --disable-pip-version-check -r tests/rig/requirements.txt
}

# no_spark FIRMWARE
no_spark() {
    local sparks
    sparks=$(target/rig/alone "target/rig/$1.elf" 2000 4 60 8 2 vcd=target/rig/without.vcd) || return
    [ -z "$sparks" ] || { echo "$sparks"; return 1; }
    # The lamp's last change is to 1; its letter is that of the trace's list of signals.
    local letter
    letter=$(awk '/ lamp / {print $4}' target/rig/without.vcd)
    [ "$(grep -F "$letter" target/rig/without.vcd | grep '^[01]' | tail -1)" = "1$letter" ]
}

# ignition_bounds FIRMWARE STACK [KEY=VALUE]: the deepest stack over every phase, if STACK is not deeper; and every order in the timer within the latency
# that the firmware states, 300 us.
ignition_bounds() {
    local crank_rpm said stack=$2 slowest=0 second=0
    for crank_rpm in 200 340 470 650 903 1300 1500 2400 4600; do
        said=$(target/rig/alone "target/rig/$1.elf" $crank_rpm 4 60 8 6 manifold=3.0 "${@:3}" 2>&1 >/dev/null) || { echo "$said"; return 1; }
        figure() { sed -n "s/^$1 \([0-9]*\) .*/\1/p" <<<"$said"; }
        stack=$(largest "$stack" "$(figure 'deepest stack:')")
        slowest=$(largest "$slowest" "$(figure 'an order in the timer')")
        second=$(largest "$second" "$(figure 'a dwell begun')")
    done
    echo "an order in the timer $slowest us after its edge at worst, a dwell begun $second us after its second flank (300)"
    bash tests/rig/memory.sh "target/rig/$1.elf" "$stack" || return
    # Nothing measured is no pass.
    [ "$slowest" -gt 0 ] && [ "$slowest" -le 300 ] && [ "$second" -gt 0 ] && [ "$second" -le 300 ]
}

largest() { if [ "${2:-0}" -gt "$1" ]; then echo "$2"; else echo "$1"; fi; }
