//! The command line: arguments in, an exit status out. What the commands do is elsewhere.

pub mod render;
