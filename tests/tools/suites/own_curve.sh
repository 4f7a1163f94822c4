about="a user's crate: a curve that keeps its limits passes, one that breaks them is told where"
minutes=2

needs() { tool_rust; }

run() {
    cd core/examples/own-curve || return
    CARGO_TARGET_DIR=../../../target/own-curve cargo_tests --locked
}
