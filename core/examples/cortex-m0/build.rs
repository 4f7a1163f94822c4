//! Puts the chip's memory where the linker looks for it.

use std::path::PathBuf;
use std::{env, fs};

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo names a folder"));
    fs::copy("memory.x", out.join("memory.x")).expect("cargo's folder can be written");
    println!("cargo:rustc-link-search={}", out.display());
    println!("cargo:rerun-if-changed=memory.x");
}
