#!/usr/bin/env bash
# Builds the firmware and writes it as Intel HEX, with what it takes of flash and memory.
#
#   hex.sh [OUT] [--features resonator]      OUT is target/stimulator.hex of the project when left out
set -euo pipefail
called_from=$PWD
cd "$(dirname "$0")"
out=$(realpath -m ../../../target/stimulator.hex)
case "${1:-}" in '' | --*) ;; *) out=$(cd "$called_from" && realpath -m "$1"); shift ;; esac
../../../tests/tools/chip/toolchain.sh avr-none build --release --locked "$@"
program=../../../target/chips/avr-none/release/bobweight-stimulator-atmega328p.elf
avr-objcopy -O ihex -R .eeprom "$program" "$out"
avr-size "$program"
echo "$out"
