about="the firmware on simulated chips"
minutes=5

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
    check "programs and firmware" bash tests/rig/firmware.sh bench-cli/demo/fire-float.toml || return
    check "the coil's pin follows the data sheet where the simulator does not" bash tests/rig/rows.sh
    check "without settings: no spark, and the lamp is lit" no_spark
    check "the jumper holds the advance, and no dwell begins above 2 000 crank rpm" python3 tests/rig/held.py
    check "the ignition's flash and memory" ignition_memory
    if rig_venv target/rig-venv; then
        check "200 random faults, judged from the trace" target/rig-venv/bin/python tests/rig/faults.py
    else
        not_run "random faults" "python3 -m venv target/rig-venv && target/rig-venv/bin/pip install -r tests/rig/requirements.txt"
    fi
    cargo_tests -p bobweight-tests --features rig --test rig_one_chip
}

rig_venv() {
    { [ -x "$1/bin/python" ] || python3 -m venv "$1"; } \
        && "$1/bin/pip" install --quiet --disable-pip-version-check -r tests/rig/requirements.txt
}

no_spark() {
    local sparks
    sparks=$(target/rig/alone target/rig/ignition_without_settings.elf 2000 4 60 8 2 vcd=target/rig/without.vcd)
    [ -z "$sparks" ] || { echo "$sparks"; return 1; }
    # The lamp's last change is to 1; its letter is that of the trace's list of signals.
    local letter
    letter=$(awk '/ lamp / {print $4}' target/rig/without.vcd)
    [ "$(grep -F "$letter" target/rig/without.vcd | grep '^[01]' | tail -1)" = "1$letter" ]
}

# The deepest stack of a run over every phase.
ignition_memory() {
    local stack=0 crank_rpm deepest
    for crank_rpm in 200 650 1300 2400 4600; do
        deepest=$(target/rig/alone target/rig/ignition.elf $crank_rpm 4 60 8 4 manifold=3.5 2>&1 >/dev/null | sed -n 's/^deepest stack: \([0-9]*\).*/\1/p')
        if [ "$deepest" -gt "$stack" ]; then stack=$deepest; fi
    done
    bash tests/rig/memory.sh target/rig/ignition.elf "$stack"
}
