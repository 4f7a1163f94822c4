#!/usr/bin/env bash
# What a firmware takes of an ATmega328P: at most 75 % of the 32 KB of flash, and 60 % of the 2 KB of memory with the deepest stack.
#
#   memory.sh ELF DEEPEST_STACK
set -euo pipefail
read -r flash memory < <(avr-size -A "$1" | awk '
    /^\.(text|data) / {flash += $2} /^\.(data|bss|noinit) / {memory += $2} END {print flash, memory}')
echo "$(basename "$1"): flash $flash of 32768 bytes ($((flash * 100 / 32768)) %), memory $memory + stack $2 of 2048 bytes ($(((memory + $2) * 100 / 2048)) %)"
[ $((flash * 4)) -le $((32768 * 3)) ] && [ $(((memory + $2) * 5)) -le $((2048 * 3)) ]
