about="the documentation builds without a warning"
minutes=2

needs() { tool_rust; }

run() { check "cargo doc" env RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps; }
