//! Takes in the settings that `BOBWEIGHT_SETTINGS` names, or none.
//!
//! The settings are Rust text, one `static SETTINGS`, and not a sheet: the compiler works the timetable out and refuses a wrong one,
//! and the firmware depends on nothing of the host's.

use std::path::PathBuf;
use std::{env, fs};

const NONE: &str = "pub static SETTINGS: Option<Settings> = None;\n";

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-env-changed=BOBWEIGHT_SETTINGS");
    let text = match env::var("BOBWEIGHT_SETTINGS") {
        Ok(path) if !path.is_empty() => {
            println!("cargo:rerun-if-changed={path}");
            fs::read_to_string(&path).unwrap_or_else(|error| panic!("BOBWEIGHT_SETTINGS: {path}: {error}"))
        }
        _ => NONE.to_owned(),
    };
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo names a folder"));
    fs::write(out.join("settings.rs"), text).expect("cargo's folder can be written");
}
