//! Takes in the engine that `BOBWEIGHT_SETTINGS` names, or none.
//!
//! It is Rust text, as `bobweight export --as rust` writes it, and not a sheet: the compiler works the timetable out and refuses a wrong one,
//! and the firmware depends on nothing of the host's.

use std::path::PathBuf;
use std::{env, fs};

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-env-changed=BOBWEIGHT_SETTINGS");
    println!("cargo:rustc-check-cfg=cfg(engine)");
    let Ok(path) = env::var("BOBWEIGHT_SETTINGS") else { return };
    if path.is_empty() {
        return;
    }
    println!("cargo:rerun-if-changed={path}");
    println!("cargo:rustc-cfg=engine");
    let text = fs::read(&path).unwrap_or_else(|error| panic!("BOBWEIGHT_SETTINGS: {path}: {error}"));
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo names a folder"));
    fs::write(out.join("engine.rs"), text).expect("cargo's folder can be written");
}
