about="every crate's tests on this machine"
minutes=8

needs() { tool_rust; }

# A snapshot that differs is a failure, never a new file in the tree.
run() { INSTA_UPDATE=no cargo_tests --workspace; }
