//! The body of each fuzz target as a plain function: it asserts laws of whatever bytes it is given.
//!
//! The fuzzing engine calls them with bytes of its own (`fuzz_targets/`), the tests with every file of `corpus/`.

mod answers;
mod image;
mod light_readings;
mod quantity;
mod readings;
mod sequencer;
mod sheet;
mod trace;
mod trials;
mod wire_frames;

pub use answers::answers;
pub use image::image;
pub use light_readings::light_readings;
pub use quantity::quantity;
pub use readings::readings;
pub use sequencer::sequencer;
pub use sheet::sheet;
pub use trace::{trace_csv, trace_vcd};
pub use trials::trials;
pub use wire_frames::wire_frames;

/// One target: the name of its folder in `corpus/`, and its body.
pub type Target = (&'static str, fn(&[u8]));

/// Every target.
pub const TARGETS: [Target; 11] = [
    ("wire_frames", wire_frames),
    ("image", image),
    ("trace_vcd", trace_vcd),
    ("trace_csv", trace_csv),
    ("sheet", sheet),
    ("readings", readings),
    ("light_readings", light_readings),
    ("trials", trials),
    ("answers", answers),
    ("quantity", quantity),
    ("sequencer", sequencer),
];
