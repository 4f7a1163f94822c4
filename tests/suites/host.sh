about="every crate's tests on this machine"
minutes=10

needs() { tool_rust; }

run() { cargo_tests --workspace; }
