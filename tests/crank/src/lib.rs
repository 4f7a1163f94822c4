//! A crank in f64.
