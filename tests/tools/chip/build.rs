//! Gives the linker more room than an ATmega328P has: this program holds every function at once, which no firmware does.

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    if std::env::var("CARGO_CFG_TARGET_ARCH").is_ok_and(|arch| arch == "avr") {
        for (region, length) in [("TEXT", "256K"), ("DATA", "32K")] {
            println!("cargo:rustc-link-arg-bins=-Wl,--defsym=__{region}_REGION_LENGTH__={length}");
        }
    }
}
