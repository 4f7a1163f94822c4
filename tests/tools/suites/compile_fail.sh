about="wrong settings in a constant do not compile"
minutes=1

needs() { tool_rust; }

# Each program says in its first line what the compiler must say of it; a right one compiles, so that a program
# refused for another reason (a renamed function) is not taken for a success.
run() {
    local program name says
    for program in tests/tools/compile_fail/src/bin/*.rs; do
        name=$(basename "$program" .rs)
        says=$(sed -n '1s,^//! Refused: ,,p' "$program")
        if [ -n "$says" ]; then
            refused "$name does not compile: $says" "$says" compile "$name"
        else
            check "$name compiles" compile "$name"
        fi
    done
}

compile() { (cd tests/tools/compile_fail && cargo check --quiet --bin "$1"); }
