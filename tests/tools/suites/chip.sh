about="what a chip links: ATmega328P and Cortex-M0, no panic, no floating point; sparks of a simulated Cortex-M0"
minutes=4

needs() {
    tool_chips
    tool python3 python3
    tool rustfmt rustfmt-web
    tool qemu-system-arm qemu-system-arm
}

run() {
    local target nm
    check "every public function is linked" python3 tests/tools/chip/public_functions.py
    for target in avr-none thumbv6m-none-eabi; do
        case $target in avr-none) nm=avr-nm ;; *) nm=arm-none-eabi-nm ;; esac
        # What the optimiser can prove depends on its level; firmware is built at either.
        check "$target: links without a panic, built for speed" build "$target" "${for_speed[@]}"
        check "$target: links without a panic, built for size" build "$target" || { name_panics; continue; }
        check "$target: no floating-point routine" no_float "$nm" "$target"
        refused "$target: a planted panic is found" a_panic_can_be_reached build "$target" --features planted-panic
        if check "$target: a planted floating-point sum links" build "$target" --features planted-float; then
            refused "$target: a planted floating-point routine is found" 'floating-point routine' no_float "$nm" "$target"
        fi
    done
    check "a Cortex-M0 with the driver sparks where its curve says" cortex_m0_sparks
}

# The example on the micro:bit of QEMU. Its invented curve at 2 000 crank rpm, by hand: 10 + 14 + 10 * (2000 - 1700) / (3120 - 1700) = 26.11 crank
# degrees. A program moves its pin, so a spark is late by up to 10 us, 0.12 crank degrees there.
cortex_m0_sparks() {
    local program=$PWD/target/chips/thumbv6m-none-eabi/release/bobweight-cortex-m0 said
    (cd core/examples/cortex-m0 && ../../../tests/tools/chip/toolchain.sh thumbv6m-none-eabi build --release --locked) || return
    said=$(timeout 120 qemu-system-arm -machine microbit -icount shift=6,sleep=off -nographic \
        -semihosting-config enable=on,target=native -kernel "$program") || { echo "$said"; return 1; }
    echo "$said"
    awk '/^200 sparks, / {found = 1; if ($3 < 2611 - 12 || $5 > 2612) exit 1} END {exit !found}' <<<"$said"
}

# Ours and the numbers we compute with; what is generic in Rust's own library is compiled together with them.
for_speed=()
for package in bobweight bobweight-wire bobweight-stimulator bobweight-chip fixed; do
    for_speed+=(--config "profile.release.package.$package.opt-level=3")
done

name_panics() { bash tests/tools/chip/who_panics.sh 2>&1 | sed 's/^/        /'; }

build() { (cd tests/tools/chip && ./toolchain.sh "$1" build --release "${@:2}"); }

# no_float NM TARGET: the names are those of the GCC internals manual, "Soft float library routines", and of
# ARM IHI 0043, "Run-time ABI for the Arm Architecture", 4.1.2 (both from memory); `__fp_` is avr-libc's; and all that
# Rust's own library names after floating point.
no_float() {
    local program found soft_float arm_float rust_float
    program=$(ls -t target/chips/"$2"/release/bobweight-chip{,.elf} 2>/dev/null | head -1)
    [ -n "$program" ] || { echo "no program"; return 1; }
    soft_float='__(add|sub|mul|div|neg|powi|cmp|unord|eq|ne|ge|lt|le|gt|extend|trunc|fix|fixuns)[hsdxt]f[a-z]*[23]?'
    soft_float+='|__float(un)?[hsdt]i[a-z]*|__fp_[a-z_]*'
    arm_float='__aeabi_(c?[df]|u?[il]2|h2)[a-z0-9]*'
    rust_float='.*(builtins5float|4core3num3f(32|64)|4core3f(32|64)|3fmt5float|7flt2dec|7dec2flt).*'
    found=$("$1" "$program" | awk '{print $NF}' | grep -xE "$soft_float|$arm_float|$rust_float")
    [ -z "$found" ] || { echo "floating-point routine linked: $found"; return 1; }
}
