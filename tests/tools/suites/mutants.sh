about="errors planted in the core, each caught by a test, and nine of ten by the quick gate"
minutes=8

needs() {
    tool_rust
    tool python3 python3
}

run() {
    counted "errors planted in the core" planted
}

# In a shell of its own: the gate's file defines what this one does.
planted() (
    . "$suites_folder/quick.sh"
    quick_cases
    python3 tests/job/agreement/mutants.py "${quick_tests[@]}"
)
