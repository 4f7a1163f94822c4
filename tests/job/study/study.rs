//! How often fit, bench and light are right about invented truths, in tables: class by class, nothing pooled.
//!
//! `BOBWEIGHT_TRUTHS=300 cargo test -p bobweight-tests --test study -- --nocapture` prints them, so many truths a class; without it 300 of
//! bench and light, and of fit, which takes the longest, 20. `BOBWEIGHT_SEED` takes others, `BOBWEIGHT_KIND` kinds of a fit with this in their name. What the classes must reach is asserted beside their rows.

#[path = "../verdict/bench_model.rs"]
#[allow(dead_code, reason = "the verdict's own tests use all of it")]
mod bench_model;
mod benches;
mod fits;
mod lights;
mod table;
mod turning;

/// A whole number that the environment sets.
fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().map(|text| text.parse().unwrap_or_else(|_| panic!("{name} is a whole number")))
}

/// Truths of each class, where somebody asks for a number.
fn truths_asked() -> Option<u64> {
    number("BOBWEIGHT_TRUTHS")
}

/// Truths of each class of bench and light.
fn truths() -> u64 {
    truths_asked().unwrap_or(300)
}

/// The first of consecutive seeds: [`bobweight_tests::seeds::BASE`], or `BOBWEIGHT_SEED`.
fn first_seed() -> u64 {
    number("BOBWEIGHT_SEED").unwrap_or(bobweight_tests::seeds::BASE)
}

/// Consecutive seeds of bench and light.
fn seeds() -> std::ops::Range<u64> {
    first_seed()..first_seed() + truths()
}
