#!/usr/bin/env bash
# Names the functions that reach a panic, when the chip program does not link: builds it for the Cortex-M0 with the
# missing symbol ignored, and lists who calls into Rust's panics.
set -euo pipefail
cd "$(dirname "$0")"
CHIP_LINK_ANYWAY=1 ./toolchain.sh thumbv6m-none-eabi build --release --quiet --target-dir target/who-panics
arm-none-eabi-objdump --disassemble target/who-panics/thumbv6m-none-eabi/release/bobweight-chip | awk '
    /^[0-9a-f]+ </ { caller = $2 }
    /\tbl?\t/ && / <.*(9panicking|slice_index|slice5index|unwrap_failed|expect_failed)/ {
        if (caller !~ /9panicking/) print caller " reaches " $NF
    }
' | tr -d '<>' | sort -u
