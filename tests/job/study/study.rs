//! How often bench and light are right about invented truths, in a table: class by class, nothing pooled.
//!
//! `cargo test -p bobweight-tests --test study -- --nocapture` prints it, 300 truths a table; `BOBWEIGHT_STUDY=5000` takes so many, and
//! `BOBWEIGHT_SEED` others. What the classes must reach is asserted beside their rows.

#[path = "../verdict/bench_model.rs"]
#[allow(dead_code, reason = "the verdict's own tests use all of it")]
mod bench_model;
mod benches;
mod lights;
mod table;
mod turning;

/// Truths in each table.
fn truths() -> u64 {
    match std::env::var("BOBWEIGHT_STUDY") {
        Ok(text) => text.parse().expect("BOBWEIGHT_STUDY is a whole number"),
        Err(_) => 300,
    }
}

/// Consecutive seeds from [`bobweight_tests::seeds::BASE`], or from `BOBWEIGHT_SEED`.
fn seeds() -> std::ops::Range<u64> {
    let first = match std::env::var("BOBWEIGHT_SEED") {
        Ok(text) => text.parse().expect("BOBWEIGHT_SEED is a whole number"),
        Err(_) => bobweight_tests::seeds::BASE,
    };
    first..first + truths()
}
