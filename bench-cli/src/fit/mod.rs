//! Readings to a curve.
