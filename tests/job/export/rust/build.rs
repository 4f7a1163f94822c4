//! Takes the exported file in, whose path the test gives.

fn main() {
    println!("cargo::rerun-if-env-changed=EXPORTED");
    let path = std::env::var("EXPORTED").expect("EXPORTED names the exported file");
    println!("cargo::rerun-if-changed={path}");
    let out = std::env::var("OUT_DIR").expect("cargo gives OUT_DIR");
    std::fs::copy(path, format!("{out}/engine.rs")).expect("the exported file can be copied");
}
