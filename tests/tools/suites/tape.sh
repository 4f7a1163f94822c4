about="a degree tape read back from the picture of its PDF"
minutes=1

needs() {
    tool_rust
    tool python3 python3
    tool pdftoppm poppler-utils
}

run() {
    tool_built || return
    counted "marks, check bar, arrow and joins" python3 tests/job/tape/read_back.py "$BOBWEIGHT"
}
