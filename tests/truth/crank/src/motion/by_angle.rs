//! A speed that depends on the angle, and the time that passes with it.

use crate::DEGREES_PER_SECOND_PER_RPM;
use std::sync::Arc;

/// Degrees of one panel of the quadrature.
const PANEL: f64 = 1.0;

/// Nodes on -1 .. 1 and weights of Gauss-Legendre quadrature with five nodes, exact for polynomials up to the ninth
/// degree. Source: Abramowitz and Stegun, table 25.4 (from memory; a test integrates x^0 to x^9).
const NODES: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

/// Time is the integral of 1/speed over the angle: `table[i]` is the time at `from + i * PANEL`.
#[derive(Clone)]
pub(super) struct ByAngle {
    from: f64,
    table: Arc<[f64]>,
    duration: f64,
    crank_rpm: Arc<dyn Fn(f64) -> f64 + Send + Sync>,
}

impl ByAngle {
    pub(super) fn new(from: f64, degrees: f64, crank_rpm: impl Fn(f64) -> f64 + Send + Sync + 'static) -> Self {
        let panels = (degrees / PANEL).ceil() as usize;
        let mut table = Vec::with_capacity(panels + 1);
        let mut elapsed = 0.0;
        for panel in 0..panels {
            table.push(elapsed);
            let start = from + panel as f64 * PANEL;
            elapsed += integrate(start, start + PANEL, |angle| slowness(&crank_rpm, angle));
        }
        table.push(elapsed);
        let mut law = Self { from, table: table.into(), duration: 0.0, crank_rpm: Arc::new(crank_rpm) };
        law.duration = law.elapsed(from + degrees);
        law
    }

    /// Seconds from the first to the last angle.
    pub(super) fn duration(&self) -> f64 {
        self.duration
    }

    /// Degrees per second at an angle.
    pub(super) fn speed(&self, angle: f64) -> f64 {
        1.0 / slowness(&*self.crank_rpm, angle)
    }

    /// Seconds from the first angle to this one.
    pub(super) fn elapsed(&self, angle: f64) -> f64 {
        let panel = (((angle - self.from) / PANEL) as usize).min(self.table.len() - 2);
        self.elapsed_from(panel, angle)
    }

    /// The angle after some seconds, by Newton's method inside one panel.
    pub(super) fn angle(&self, elapsed: f64) -> f64 {
        let panel = self.table.partition_point(|time| *time <= elapsed).saturating_sub(1).min(self.table.len() - 2);
        let mut angle = self.from + panel as f64 * PANEL;
        for _ in 0..50 {
            let step = (elapsed - self.elapsed_from(panel, angle)) * self.speed(angle);
            angle += step;
            if step.abs() <= 1e-12 * angle.abs().max(1.0) {
                break;
            }
        }
        angle
    }

    fn elapsed_from(&self, panel: usize, angle: f64) -> f64 {
        let start = self.from + panel as f64 * PANEL;
        self.table[panel] + integrate(start, angle, |angle| slowness(&*self.crank_rpm, angle))
    }
}

/// Seconds a degree.
fn slowness(crank_rpm: &dyn Fn(f64) -> f64, angle: f64) -> f64 {
    let rpm = crank_rpm(angle);
    assert!(
        rpm > 0.0 && rpm.is_finite(),
        "a speed by angle must stay positive; at {angle} degrees it is {rpm} crank rpm"
    );
    1.0 / (rpm * DEGREES_PER_SECOND_PER_RPM)
}

fn integrate(from: f64, to: f64, function: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
    half * NODES.iter().map(|(node, weight)| weight * function(middle + half * node)).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: the integral of x^n over -1 .. 2 is (2^(n+1) - (-1)^(n+1)) / (n+1).
    #[test]
    fn quadrature_is_exact_up_to_the_ninth_degree() {
        for n in 0..=9 {
            let exact = (2_f64.powi(n + 1) - (-1_f64).powi(n + 1)) / f64::from(n + 1);
            let found = integrate(-1.0, 2.0, |x| x.powi(n));
            assert!((found - exact).abs() < 1e-12 * exact.abs().max(1.0), "x^{n}: {found}, exact {exact}");
        }
    }
}
