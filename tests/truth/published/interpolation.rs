//! The core's curves against `numpy.interp`.

use crate::{number, numbers, rows};
use bobweight::{CentrifugalCurve, VacuumCurve};
use bobweight_tests::plain::{advance, depression, speed};

/// The core rounds to the nearest 1/65 536 crank degree; the vectors' breakpoints and places are whole steps.
const WITHIN: f64 = 0.5 / 65_536.0 + 1e-9;

#[test]
fn the_core_s_curves_agree_with_numpy() {
    let (mut centrifugal, mut vacuum) = (0, 0);
    for row in rows(include_str!("../reference/vectors/interpolation.csv")) {
        let (kind, xs, ys) = (row[1], numbers(row[2]), numbers(row[3]));
        let (x, expected) = (number(row[4]), number(row[5]));
        let pairs = xs.into_iter().zip(ys.into_iter().map(advance));
        let got = match kind {
            "centrifugal" => {
                centrifugal += 1;
                CentrifugalCurve::new(&pairs.map(|(x, y)| (speed(x), y)).collect::<Vec<_>>()).unwrap().at(speed(x))
            }
            "vacuum" => {
                vacuum += 1;
                VacuumCurve::new(&pairs.map(|(x, y)| (depression(x), y)).collect::<Vec<_>>()).unwrap().at(depression(x))
            }
            other => panic!("no curve is called {other}"),
        };
        let got: f64 = got.get().to_num();
        assert!((got - expected).abs() <= WITHIN, "{row:?}: {got}");
    }
    assert!(centrifugal > 900 && vacuum > 200, "{centrifugal} and {vacuum} places");
}
