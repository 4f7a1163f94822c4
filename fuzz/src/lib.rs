//! The body of each fuzz target as a plain function: it asserts laws of whatever bytes it is given.
//!
//! The fuzzing engine calls them with bytes of its own (`fuzz_targets/`), the tests with every file of `corpus/`.

<<<<<<< HEAD
mod light_readings;
=======
mod image;
>>>>>>> h2
mod readings;
mod sequencer;
mod sheet;
mod wire_frames;

<<<<<<< HEAD
pub use light_readings::light_readings;
=======
pub use image::image;
>>>>>>> h2
pub use readings::readings;
pub use sequencer::sequencer;
pub use sheet::sheet;
pub use wire_frames::wire_frames;

/// One target: the name of its folder in `corpus/`, and its body.
pub type Target = (&'static str, fn(&[u8]));

/// Every target.
pub const TARGETS: [Target; 5] = [
    ("wire_frames", wire_frames),
<<<<<<< HEAD
    ("sheet", sheet),
    ("readings", readings),
    ("light_readings", light_readings),
=======
    ("image", image),
    ("sheet", sheet),
    ("readings", readings),
>>>>>>> h2
    ("sequencer", sequencer),
];
