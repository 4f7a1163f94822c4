//! Units of pressure at the edges of the program; inside, a depression is in kPa.
//!
//! Every factor is that of NIST Special Publication 811 (2008), appendix B.8. The factors were typed from memory; a
//! reference computation with the Python library `pint` agrees with each of them.

/// Kilopascals in one conventional inch of mercury (NIST SP 811, appendix B.8: 3 386.389 Pa).
pub const KPA_PER_INHG: f64 = 3.386_389;

/// Kilopascals in one conventional millimetre of mercury (NIST SP 811, appendix B.8: 133.3224 Pa).
pub const KPA_PER_MMHG: f64 = 0.133_322_4;

/// Kilopascals in one millibar (exact: the bar is 100 kPa, NIST SP 811, table 9).
pub const KPA_PER_MBAR: f64 = 0.1;

/// Kilopascals in one pound-force per square inch (NIST SP 811, appendix B.8: 6 894.757 Pa).
pub const KPA_PER_PSI: f64 = 6.894_757;

/// Conventional inches of mercury to kPa.
pub fn inhg_to_kpa(inches: f64) -> f64 {
    inches * KPA_PER_INHG
}

/// Conventional millimetres of mercury to kPa.
pub fn mmhg_to_kpa(millimetres: f64) -> f64 {
    millimetres * KPA_PER_MMHG
}

/// Millibars to kPa.
pub fn mbar_to_kpa(millibars: f64) -> f64 {
    millibars * KPA_PER_MBAR
}

/// Pounds-force per square inch to kPa.
pub fn psi_to_kpa(pounds: f64) -> f64 {
    pounds * KPA_PER_PSI
}
