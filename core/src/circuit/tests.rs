use super::*;
extern crate std;

fn volts(volts: f64) -> Voltage {
    Voltage::new(fixed::types::U8F8::from_num(volts)).unwrap()
}

fn milliseconds(ms: f64) -> Duration {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    Duration::from_bits((ms * 1e6).round() as u32).unwrap()
}

fn circuit(milliohms: u32, microhenries: u32) -> Circuit {
    Circuit {
        winding: Resistance::from_bits(milliohms).unwrap(),
        ballast: Resistance::MIN,
        inductance: Inductance::from_bits(microhenries).unwrap(),
        driver_drop: Voltage::MIN,
    }
}

/// The series RL circuit, any electrical-engineering text: 4 mH and 0.7 ohm reach 6 A in 2.04 ms at 14 V, in 6.88 ms at 6 V, and never at 4 V.
#[test]
fn a_textbook_circuit_reaches_its_current_when_the_textbook_says() {
    let coil = circuit(700, 4_000);
    let amperes = |battery: f64, ms: f64| f64::from(coil.current(volts(battery), milliseconds(ms)).bits()) / 1e3;
    assert!(amperes(14.0, 2.03) < 6.0 && amperes(14.0, 2.05) > 6.0);
    assert!(amperes(6.0, 6.87) < 6.0 && amperes(6.0, 6.89) > 6.0);
    assert!(amperes(4.0, 2_000.0) < 4.0 / 0.7 && amperes(4.0, 2_000.0) > 4.0 / 0.7 - 0.002);
}

/// The formulas in `f64`, over the range of coils and far beyond it.
#[test]
fn current_and_energy_are_the_formulas_within_what_is_said() {
    for (milliohms, microhenries) in
        [(1, 1), (300, 3_000), (700, 4_000), (1_200, 6_000), (3_000, 12_000), (90_000, 900_000)]
    {
        let coil = circuit(milliohms, microhenries);
        let (r, l) = (f64::from(milliohms) / 1e3, f64::from(microhenries) / 1e6);
        for battery in [1.0, 6.0, 9.5, 14.0, 16.0, 30.0] {
            for ms in [0.0, 0.01, 0.1, 0.5, 1.0, 2.6, 3.9, 9.7, 20.0, 100.0, 2_000.0] {
                let exact = battery / r * -(-r * ms / 1e3 / l).exp_m1();
                let on = milliseconds(ms);
                // A loop that lets more than 2 147 A through in the end is none.
                if exact > 900.0 || battery / r > 2_000.0 {
                    continue;
                }
                let found = f64::from(coil.current(volts(battery), on).bits()) / 1e3;
                assert!(
                    found <= exact * 1.000_01 && exact - found <= 0.001 + exact * 1e-5,
                    "{r} {l} {battery} {ms}: {found}, {exact}"
                );
                let joules = l * exact * exact / 2.0;
                let energy = f64::from(coil.energy(volts(battery), on).bits()) / 1e6;
                assert!((energy - joules).abs() <= 2e-6 + joules * 1e-4, "{r} {l} {battery} {ms}: {energy}, {joules}");
            }
        }
    }
}

/// 1.39 times at 100 K: 1 + 0.00393 x 100, the temperature coefficient of copper (IEC 60028, from memory).
#[test]
fn a_winding_a_hundred_kelvin_hotter_has_1_393_times_the_resistance_and_its_ballast_has_not() {
    let coil = Circuit { ballast: Resistance::from_bits(1_500).unwrap(), ..circuit(1_000, 6_000) };
    assert_eq!(coil.warmed(100).winding.bits(), 1_393);
    assert_eq!(coil.warmed(-40).winding.bits(), 842);
    assert_eq!(coil.warmed(100).ballast, coil.ballast);
    assert_eq!(coil.warmed(0), coil);
}

/// The integral of the squared current in small steps. Source: Joule's law.
#[test]
fn heat_is_the_squared_current_summed_in_small_steps() {
    for (milliohms, microhenries) in [(700, 4_000), (1_200, 6_000), (3_000, 12_000)] {
        let coil = circuit(milliohms, microhenries);
        let (r, l) = (f64::from(milliohms) / 1e3, f64::from(microhenries) / 1e6);
        for battery in [6.0, 14.0, 16.0] {
            for (ms, period) in [(1.0, 6.0), (3.0, 10.0), (10.0, 100.0), (50.0, 60.0)] {
                const STEPS: u32 = 20_000;
                let step = ms / 1e3 / f64::from(STEPS);
                let current = |k: u32| battery / r * -(-r * (f64::from(k) + 0.5) * step / l).exp_m1();
                let joules: f64 = (0..STEPS).map(|k| current(k).powi(2) * r * step).sum();
                let watts = joules / (period / 1e3);
                let found = f64::from(coil.heat(volts(battery), milliseconds(ms), milliseconds(period)).bits()) / 1e3;
                assert!((found - watts).abs() <= 0.01 * watts + 0.002, "{r} {battery} {ms}: {found} W, {watts} W");
            }
        }
    }
}
