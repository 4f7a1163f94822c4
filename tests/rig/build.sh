#!/usr/bin/env bash
# Builds the rig's programs into target/rig, or into the folder that is named. Needs libsimavr-dev, libelf-dev and a C compiler.
set -euo pipefail
out=$(realpath -m "${1:-$(dirname "$0")/../../target/rig}")
cd "$(dirname "$0")"
mkdir -p "$out"
common="src/chip.c src/coil_pin.c src/eeprom.c src/ignition.c src/serial.c src/stimulator.c src/trace.c src/wire.c"
for program in alone by_pipe rig rows stimulator_alone; do
    gcc -O2 -Wall -Wextra -Wno-unused-parameter -I/usr/include/simavr -o "$out/$program" "src/$program.c" $common -lsimavr -lelf -lm
done
