//! Dwell and current of a coil as a series circuit of resistance and inductance.
//!
//! Source: I(t) = (V - Vd) / R (1 - exp(-R t / L)), any electrical-engineering text; the figures are recomputed in
//! `tests/truth/reference/coil.py`.

use bobweight_tool::curve::Circuit;

const COIL: Circuit = Circuit { resistance_ohm: 0.7, inductance_h: 4e-3, driver_drop_volts: 0.0 };

#[test]
fn six_amperes_through_4_mh_and_0_7_ohm() {
    for (volts, milliseconds) in [(14.0, 2.04), (6.0, 6.88)] {
        let dwell = COIL.dwell_s(volts, 6.0).expect("the current is reached");
        assert!((dwell * 1e3 - milliseconds).abs() <= 0.005, "{dwell} s at {volts} V");
        assert!((COIL.current_a(volts, dwell) - 6.0).abs() < 1e-9);
    }
    assert_eq!(COIL.dwell_s(4.0, 6.0), None, "R I is 4.2 V, more than there is");
}
