#!/usr/bin/env bash
# Runs cargo for a chip with whichever toolchain can build its `core` library from source.
#
#   toolchain.sh TARGET CARGO-ARGUMENTS...   builds in the current folder, e.g. `toolchain.sh avr-none build --release`
#   toolchain.sh host CARGO-ARGUMENTS...     the same compiler for this machine, with unstable options allowed
#   toolchain.sh TARGET clippy ARGUMENTS...  the same compiler's lints; a warning is an error
#   toolchain.sh --which                     says what would be used; exit 4 and what to install where there is nothing
#
# TARGET is avr-none (an ATmega328P, or the chip that AVR_CHIP names) or thumbv6m-none-eabi, thumbv7m-none-eabi (with a link.x in the current folder).
set -euo pipefail

# Neither target has a prebuilt library everywhere, and avr-none has none anywhere: `core` is built with the program,
# which takes a nightly compiler, or a stable one that is told to act as one.
find_toolchain() {
    local sysroot
    if sysroot=$(rustc +nightly --print sysroot 2>/dev/null) && [ -d "$sysroot/lib/rustlib/src/rust/library/core" ]; then
        cargo=(cargo +nightly)
        return
    fi
    # Debian's compiler carries its own library source, so nothing is downloaded.
    if [ -x /usr/bin/cargo ] && [ -x /usr/bin/rustc ] \
        && sysroot=$(/usr/bin/rustc --print sysroot) && [ -d "$sysroot/lib/rustlib/src/rust/library/core" ]; then
        export RUSTC_BOOTSTRAP=1 RUSTC=/usr/bin/rustc RUSTDOC=/usr/bin/rustdoc
        cargo=(/usr/bin/cargo)
        return
    fi
    echo "no Rust toolchain with library source: rustup toolchain install nightly --component rust-src," \
        "or on Debian: apt-get install rustc-web cargo-web rust-web-src" >&2
    exit 4
}

need() {
    command -v "$1" >/dev/null || { echo "$1 is missing; on Debian: apt-get install $2" >&2; exit 4; }
}

find_toolchain
if [ "${1:-}" = --which ]; then
    echo "${cargo[*]}: $("${cargo[@]}" --version)"
    exit 0
fi

target=$1
shift
case "$target" in
    host) exec "${cargo[@]}" "$@" ;;
    avr-none)
        need avr-gcc "gcc-avr avr-libc"
        # -mmcu brings start-up code, vectors, libgcc and the linker script.
        chip=${AVR_CHIP:-atmega328p}
        flags=(-C "target-cpu=$chip" -C linker=avr-gcc -C "link-arg=-mmcu=$chip") ;;
    thumbv6m-none-eabi | thumbv7m-none-eabi)
        need arm-none-eabi-ld binutils-arm-none-eabi
        # A program's own, or that of the crate which starts it.
        script=link.x
        [ ! -e link.x ] || script=$PWD/link.x
        flags=(-C "link-arg=-T$script" -C linker=arm-none-eabi-ld -C linker-flavor=ld)
        # For who_panics.sh, which looks into a program that must not link.
        [ -z "${CHIP_LINK_ANYWAY:-}" ] || flags+=(-C link-arg=--unresolved-symbols=ignore-all) ;;
    *)
        echo "unknown target $target: avr-none, thumbv6m-none-eabi or thumbv7m-none-eabi" >&2
        exit 2 ;;
esac
# One folder for every program of a chip: its `core` library, the longest part, is built once.
export CARGO_TARGET_DIR=${CARGO_TARGET_DIR:-$(cd "$(dirname "$0")/../../.." && pwd)/target/chips${AVR_CHIP:+-$AVR_CHIP}}
# The encoded form keeps a path with blanks in one piece.
CARGO_ENCODED_RUSTFLAGS=$(IFS=$'\x1f'; echo "${flags[*]}")
export CARGO_ENCODED_RUSTFLAGS
if [ "${1:-}" = clippy ]; then
    shift
    # `cargo clippy` takes the first `cargo-clippy` it finds, which may be another toolchain's.
    [ "${cargo[0]}" = cargo ] && clippy=("${cargo[@]}" clippy) || { need "${cargo[0]}-clippy" rust-web-clippy; clippy=(env CARGO="${cargo[0]}" "${cargo[0]}-clippy" clippy); }
    exec "${clippy[@]}" "$@" --target "$target" -Zbuild-std=core -- -D warnings
fi
exec "${cargo[@]}" "$@" --target "$target" -Zbuild-std=core
