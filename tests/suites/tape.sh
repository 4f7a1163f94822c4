about="a degree tape read back from the picture of its PDF"
minutes=1

needs() {
    tool_rust
    tool python3 python3
    tool pdftoppm poppler-utils
}

run() {
    if ! check "the shipped binary builds" cargo build --release; then return; fi
    counted "marks, check bar, arrow and joins" python3 tests/tape/read_back.py target/release/bobweight
}
