#!/usr/bin/env bash
# Tests for each row of the README's table of what the simulator does otherwise than the chip.
set -euo pipefail
cd "$(dirname "$0")/../.."
out=$(realpath -m "${1:-target/rig}")
avr-gcc -mmcu=atmega328p -Os -DF_CPU=16000000 -Wall -o "$out/rows.elf" tests/rig/src/rows_avr.c
"$out/rows" "$out/rows.elf"
