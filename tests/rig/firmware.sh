#!/usr/bin/env bash
# Builds what the rig runs: its programs, and the ignition's firmware from an engine sheet, as .elf and .hex.
#
#   firmware.sh SHEET [OUT]      OUT is target/rig when left out
#
# Leaves in OUT: alone, by_pipe, rig; ignition.elf and .hex for SHEET; ignition_one_degree.elf, whose pickup is set one crank degree wrong;
# ignition_one_flank.elf, whose pickup has no second flank; ignition_points.elf, whose pickup is points that bounce for up to 1 ms;
# ignition_reluctor.elf, whose pickup is a reluctor; ignition_without_settings.elf; ignition_fast.elf for fast.toml, the rig's own sheet;
# ignition_stored.elf for an ATmega1284P, whose curve comes over its serial port; stimulator.elf and .hex.
set -euo pipefail
sheet=$(realpath "$1")
cd "$(dirname "$0")/../.."
out=$(realpath -m "${2:-target/rig}")
mkdir -p "$out"
bash tests/rig/build.sh "$out"

settings() { ${BOBWEIGHT:-cargo run --quiet --} export "$1" --as rust --out "$2"; }

# ignition NAME SETTINGS [OPTION...]: builds it with these settings, or with none.
ignition() {
    (cd core/ignition/avr && BOBWEIGHT_SETTINGS=$2 ../../../tests/tools/chip/toolchain.sh avr-none build --release "${@:3}")
    cp "target/chips${AVR_CHIP:+-$AVR_CHIP}/avr-none/release/bobweight-ignition-avr.elf" "$out/$1.elf"
    avr-objcopy -O ihex -R .eeprom "$out/$1.elf" "$out/$1.hex"
}

settings "$sheet" "$out/settings.rs"
# The pickup's own angle, in steps of 1/65 536 crank degree.
awk '/^pub const PICKUP/ {inside = 1}
     inside && /^ *angle:/ {match($0, /[0-9]+\)/); angle = substr($0, RSTART, RLENGTH - 1); sub(/[0-9]+\)/, angle + 65536 ")"); inside = 0}
     {print}' "$out/settings.rs" >"$out/settings_one_degree.rs"
ignition ignition "$out/settings.rs"
ignition ignition_one_degree "$out/settings_one_degree.rs"
ignition ignition_without_settings ""
# Without a second flank a starter's swing brings a spark to 28.5 crank degrees before top dead centre, which the demo's limit of 10 forbids. The rig
# measures how early it comes, and no engine hangs on it: its sheet allows 30.
grep -v '^second_flank_angle' "$sheet" | sed "s,^readings = \"\(.*\)\",readings = \"$(dirname "$sheet")/\1\",
    s,^greatest_cranking = \"10 ,greatest_cranking = \"30 ," >"$out/one_flank.toml"
settings "$out/one_flank.toml" "$out/settings_one_flank.rs"
ignition ignition_one_flank "$out/settings_one_flank.rs"
# The same with points as the trigger, whose opening is the rising flank.
sed -e 's/^kind = "vane".*/kind = "points"\nbounce = "1 ms"/' -e 's/^flank = .*/flank = "rising"/' "$out/one_flank.toml" >"$out/points.toml"
settings "$out/points.toml" "$out/settings_points.rs"
ignition ignition_points "$out/settings_points.rs"
# The demo with a reluctor: its crossing at the 8 crank degrees of the old second flank, its other flank at 18 to 13.
sed -e '/^pub const PICKUP/,/^}/ {
        s/^    angle: .*/    angle: must!(CrankAngle::from_bits(8 * 65536)),/
        s/^    second_flank_angle: .*/    second_flank_angle: None,/
        s/^    moving_flank: .*/    moving_flank: Some(MovingFlank { earliest: must!(CrankAngle::from_bits(18 * 65536)), latest: must!(CrankAngle::from_bits(13 * 65536)) }),/
    }' -e 's/^        greatest_cranking: .*/        greatest_cranking: must!(Advance::from_bits(18 * 65536)),/' "$out/settings.rs" >"$out/settings_reluctor.rs"
ignition ignition_reluctor "$out/settings_reluctor.rs"
settings tests/rig/fast.toml "$out/settings_fast.rs"
ignition ignition_fast "$out/settings_fast.rs"
AVR_CHIP=atmega1284p ignition ignition_stored "" --features atmega1284p

bash bench-cli/stimulator/atmega328p/hex.sh "$out/stimulator.hex"
cp target/chips/avr-none/release/bobweight-stimulator-atmega328p.elf "$out/stimulator.elf"
