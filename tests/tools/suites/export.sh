about="exported curves in Rust, C99, C++11 and Intel HEX, by other tools"
minutes=1

needs() {
    tool_rust
    tool python3 python3
    tool g++ g++
    tool objcopy binutils
}

# A grid that meets breakpoints, lies between them and beyond both ends.
speeds=(300 650 900 1100 1300 1700 2333 2800 3300 4600)
depressions=(0 10 20 25 30 40 60)

run() {
    local out=target/export name
    rm -rf "$out" && mkdir -p "$out"
    tool_built || return
    cp bench-cli/demo/fire-float.toml "$out/vacuum.toml"
    # The same engine without vacuum advance and its sensor.
    awk '/^\[/ {part = $1}
         part == "[vacuum]" && $1 == "source" {print "source = \"none\""; next}
         part == "[vacuum]" && NF && $1 != "[vacuum]" || part == "[sensor]" {next}
         {print}' bench-cli/demo/fire-float.toml >"$out/plain.toml"
    for name in vacuum plain; do
        sed -i 's/^readings = .*//' "$out/$name.toml"
        check "$name: exported" export_all "$out/$name"
        check "$name: objcopy reads the image out of Intel HEX" same_image "$out/$name"
        check "$name: C99, no warning, the same advances" c_table "$out/$name" gcc -std=c99 -x c
        check "$name: C++11, no warning, the same advances" c_table "$out/$name" g++ -std=c++11 -x c++
        check "$name: Rust, no warning, the same advances to the last digit" rust_table "$out/$name"
    done
    refused "a breakpoint changed by hand to turn back does not compile" 'rise strictly in x' turned_back "$out/vacuum"
    refused "a pickup turned by hand out of reach does not compile" 'E0080' turned_pickup "$out/vacuum"
}

bobweight() { "$BOBWEIGHT" "$@"; }

export_all() {
    bobweight export "$1.toml" --as image --out "$1.bin" &&
        bobweight export "$1.toml" --as intel-hex --out "$1.hex" &&
        bobweight export "$1.toml" --as rust --out "$1.rs" &&
        bobweight export "$1.toml" --as c --out "$1.h" &&
        table "$1"
}

# One grid cannot name every value: a table for each row's speed and each column's depression, put together.
table() {
    local rpm kpa row
    : >"$1.csv"
    for rpm in "${speeds[@]}"; do
        row=$rpm
        for kpa in "${depressions[@]}"; do
            row+=,$(bobweight export "$1.toml" --as csv --speeds "$rpm..$rpm crank rpm by 1" \
                --depressions "$kpa..$kpa kPa depression by 1" | tail -1 | cut -d, -f2)
        done
        echo "$row" >>"$1.csv"
    done
}

same_image() {
    objcopy -I ihex -O binary "$1.hex" "$1.store" &&
        cmp -n "$(stat -c %s "$1.bin")" "$1.bin" "$1.store" && [ "$(stat -c %s "$1.store")" -eq 1024 ]
}

c_table() {
    local base=$1
    shift
    mkdir -p "$base.c" && cp "$base.h" "$base.c/engine.h"
    "$@" -Wall -Wextra -pedantic -Werror -I "$base.c" tests/job/export/table.c -o "$base.c/table" &&
        "$base.c/table" "${speeds[@]}" , "${depressions[@]}" >"$base.c/table.csv" &&
        python3 tests/job/export/same_table.py "$base.csv" "$base.c/table.csv"
}

exported() {
    EXPORTED=$(realpath "$1") cargo run --quiet --manifest-path tests/job/export/rust/Cargo.toml \
        --target-dir target/export-rust -- "${@:2}"
}

rust_table() {
    exported "$1.rs" "${speeds[@]}" , "${depressions[@]}" >"$1.rust.csv" && cmp "$1.csv" "$1.rust.csv"
}

# 1 700 crank rpm, the second breakpoint, becomes 800: below the first.
turned_back() {
    sed 's/CrankSpeed::from_bits(435200)/CrankSpeed::from_bits(204800)/' "$1.rs" >"$1.turned.rs"
    ! cmp -s "$1.rs" "$1.turned.rs" && exported "$1.turned.rs" 900 , 0
}

# The sparks cannot be timed from a flank at 20 crank degrees.
turned_pickup() {
    sed 's/^    angle: .*/    angle: must!(CrankAngle::from_bits(1310720)),/' "$1.rs" >"$1.pickup.rs"
    ! cmp -s "$1.rs" "$1.pickup.rs" && exported "$1.pickup.rs" 900 , 0
}
