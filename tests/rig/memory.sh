#!/usr/bin/env bash
# What a firmware takes of its chip: at most 75 % of the flash, and 60 % of the memory with the deepest stack.
#
#   memory.sh ELF DEEPEST_STACK
#
# An ATmega328P has 32 KB and 2 KB of them, an ATmega1284P, whose architecture is avr51, 128 KB and 16 KB (data sheets, "Memories").
set -euo pipefail
case $(avr-objdump -f "$1" | sed -n 's/^architecture: \(avr:[0-9]*\).*/\1/p') in
    avr:5) chip_flash=32768 chip_memory=2048 ;;
    avr:51) chip_flash=131072 chip_memory=16384 ;;
    *) echo "$1 is for neither chip"; exit 1 ;;
esac
read -r flash memory < <(avr-size -A "$1" | awk '
    /^\.(text|data) / {flash += $2} /^\.(data|bss|noinit) / {memory += $2} END {print flash, memory}')
echo "$(basename "$1"): flash $flash of $chip_flash bytes ($((flash * 100 / chip_flash)) %)," \
    "memory $memory + stack $2 of $chip_memory bytes ($(((memory + $2) * 100 / chip_memory)) %)"
[ $((flash * 4)) -le $((chip_flash * 3)) ] && [ $(((memory + $2) * 5)) -le $((chip_memory * 3)) ]
