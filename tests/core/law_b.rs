//! Law B.
