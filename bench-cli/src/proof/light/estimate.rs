//! Offset and lag of the errors that a timing light shows, with their intervals.
//!
//! `error = offset - 6 N lag`, weighted least squares, with the share by which a tachometer reads high or low as a third unknown that
//! is believed to be small. How much an eye scatters is learnt from the readings: see [`super::scatter`]. Every interval is that of
//! the mixture over all scatters that the readings leave possible.

use super::Compared;
use super::scatter::{self, Mixture};
use crate::proof::verdict::LeastSquares;
use crate::record::interval::Interval;
use nalgebra::{DMatrix, DVector, Matrix3, RowVector3, Vector3};

/// A tachometer may be out by so much either way, crank rpm, each time. Common practice, no source.
pub const SPEED_READ_WITHIN: f64 = 25.0;
/// Standard uncertainty of the share by which a tachometer is out at every speed. Common practice, no source.
const TACHOMETER_SHARE: f64 = 0.02;
/// The most that a light whose lag nobody knows is taken to lag by, us. Nobody states it of a light: from memory a xenon lamp
/// answers in tens of microseconds, and what stands between clamp and lamp brings it to 50 to 200. A light that lags shows every spark
/// later than it is.
pub const LIGHT_LAG_US: f64 = 200.0;
/// The most that an ignition is taken to lag by beyond what its sheet says, where the readings do not tell, us. Common practice, no
/// source: a Hall sensor answers in microseconds, a filtered pickup in some hundred.
const OWN_LAG_US: f64 = 150.0;
/// Each span of lags is taken at so many places.
const LAGS: usize = 4;
pub(super) const COVERAGE: f64 = 0.95;
/// Of the departures that are told.
pub(super) const COVERAGE_OF_DEPARTURE: f64 = 0.99;

/// What is turned the wrong way costs an engine: one in a thousand may be, of those that need no turning.
pub(super) const COVERAGE_OF_TURNING: f64 = 0.999;

/// Crank degrees that the crank turns in so many microseconds: 6 N t (definition).
pub(super) fn degrees_of_lag(crank_rpm: f64, lag_us: f64) -> f64 {
    6e-6 * crank_rpm * lag_us
}

/// The lags that one speed alone cannot tell from an offset, us, each as likely as any other: the ignition's own beyond its sheet's, and
/// that of a light whose lag nobody knows.
pub(super) fn possible_lags(light_known: bool) -> Vec<f64> {
    #[expect(clippy::cast_precision_loss, reason = "four")]
    let span = |most: f64| (0..LAGS).map(move |at| most * (at as f64 + 0.5) / LAGS as f64);
    if light_known {
        return span(OWN_LAG_US).collect();
    }
    span(OWN_LAG_US).flat_map(|own| span(LIGHT_LAG_US).map(move |light| own + light)).collect()
}

impl Interval {
    pub(super) fn about(value: f64, half_width: f64) -> Self {
        Self { value, low: value - half_width, high: value + half_width }
    }

    /// Whether 0 lies outside.
    pub fn excludes_zero(&self) -> bool {
        self.low > 0.0 || self.high < 0.0
    }

    /// Half of its width.
    pub fn half_width(&self) -> f64 {
        (self.high - self.low) / 2.0
    }

    /// Whether it holds a value.
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// The readings with the hose off, explained.
pub(super) struct Fitted {
    /// Crank degrees, early positive.
    pub(super) offset: Interval,
    /// The offset where no eye is taken for usual, with the interval that holds 999 of 1 000: what is turned is turned by this.
    pub(super) surely: Interval,
    /// Microseconds, late positive; that of a light whose lag is not known is among it.
    pub(super) lag_us: Interval,
    /// Standard deviation of a reading, crank degrees.
    pub(super) scatter: f64,
    /// One for each scatter that is possible.
    nodes: Vec<Node>,
}

/// What the readings say where an eye scatters by so much.
struct Node {
    weight: f64,
    scatter: f64,
    /// Offset, lag, share of the tachometer.
    estimate: Vector3<f64>,
    covariance: Matrix3<f64>,
}

impl Fitted {
    /// None where the readings cannot tell the two apart.
    pub(super) fn new(off: &[&Compared]) -> Option<Self> {
        let count = off.len();
        // What is believed of the tachometer counts as one more observation.
        let columns = DMatrix::from_fn(count + 1, 3, |row, column| match off.get(row) {
            Some(one) => row_of(one)[column],
            None => f64::from(u8::from(column == 2)),
        });
        let observed = DVector::from_iterator(count + 1, off.iter().map(|one| one.error).chain([0.0]));
        let mut logarithms = Vec::new();
        let mut nodes = Vec::new();
        let mut doubted = Vec::new();
        for (scatter, believed) in scatter::believed(true) {
            let own = off.iter().map(|one| one.standard_uncertainty(scatter)).chain([TACHOMETER_SHARE]);
            let uncertainty = DVector::from_iterator(count + 1, own);
            let fit = LeastSquares::fit(&columns, &observed, &uncertainty)?;
            let covariance = fit.covariance(&uncertainty);
            let covariance = Matrix3::from_fn(|row, column| covariance[(row, column)]);
            // The marginal likelihood of a linear model, all flat beliefs of the estimates left out.
            let spread: f64 = uncertainty.iter().map(|u| u.ln()).sum();
            let likely = covariance.determinant().ln() / 2.0 - spread - fit.chi_square / 2.0;
            logarithms.push(believed + likely);
            doubted.push(likely);
            let estimate = Vector3::from_fn(|row, _| fit.estimate[row]);
            nodes.push(Node { weight: 0.0, scatter, estimate, covariance });
        }
        let offset = |weight: &f64, node: &Node| (*weight, node.estimate[0], node.covariance[(0, 0)].max(0.0).sqrt());
        let doubted = scatter::weights(&doubted);
        let surely = Mixture::new(doubted.iter().zip(&nodes).map(|(weight, node)| offset(weight, node)));
        let surely = surely.interval(COVERAGE_OF_TURNING);
        for (node, weight) in nodes.iter_mut().zip(scatter::weights(&logarithms)) {
            node.weight = weight;
        }
        let of = |at: usize| mixture(&nodes, |node| (node.estimate[at], node.covariance[(at, at)]));
        let scatter = scatter::middle(nodes.iter().map(|node| (node.weight, node.scatter)));
        Some(Self { offset: of(0).interval(COVERAGE), surely, lag_us: of(1).interval(COVERAGE), scatter, nodes })
    }

    /// The error at a speed as offset and lag explain it.
    pub(super) fn at(&self, crank_rpm: f64) -> Interval {
        let row = RowVector3::new(1.0, -degrees_of_lag(crank_rpm, 1.0), 0.0);
        let explained = |node: &Node| ((row * node.estimate)[0], (row * node.covariance * row.transpose())[0]);
        mixture(&self.nodes, explained).interval(COVERAGE)
    }

    /// The mean of some readings at about one speed and depression, with the interval of its own scatter.
    pub(super) fn mean_of(&self, place: &[&Compared]) -> Interval {
        let tachometer = mean(place, Compared::by_share) * TACHOMETER_SHARE;
        let own = |node: &Node| (mean_error(place), own_variance(place, node.scatter) + tachometer.powi(2));
        mixture(&self.nodes, own).interval(COVERAGE)
    }

    /// By how much the mean of some readings departs from what offset and lag of other readings explain at their speed,
    /// with the interval that holds such a share.
    pub(super) fn departure(&self, place: &[&Compared], coverage: f64) -> Interval {
        let row = RowVector3::from_fn(|_, column| mean(place, |one| row_of(one)[column]));
        let departure = |node: &Node| {
            let explained = (row * node.estimate)[0];
            (
                mean_error(place) - explained,
                own_variance(place, node.scatter) + (row * node.covariance * row.transpose())[0],
            )
        };
        mixture(&self.nodes, departure).interval(coverage)
    }
}

fn mixture(nodes: &[Node], of: impl Fn(&Node) -> (f64, f64)) -> Mixture {
    Mixture::new(nodes.iter().map(|node| {
        let (value, variance) = of(node);
        (node.weight, value, variance.max(0.0).sqrt())
    }))
}

fn own_variance(place: &[&Compared], scatter: f64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    let count = place.len() as f64;
    place.iter().map(|one| one.standard_uncertainty(scatter).powi(2)).sum::<f64>() / (count * count)
}

impl Compared {
    /// By an eye of this scatter, and by a tachometer that is out by as much as it may be, evenly distributed.
    pub(super) fn standard_uncertainty(&self, scatter: f64) -> f64 {
        scatter.hypot(self.by_speed / 3.0_f64.sqrt())
    }

    /// What a tachometer that reads high by its whole speed would add to the wanted advance, by the slope at this reading, crank degrees.
    fn by_share(&self) -> f64 {
        self.by_speed / SPEED_READ_WITHIN * self.crank_rpm
    }
}

pub(super) fn mean(place: &[&Compared], of: impl Fn(&Compared) -> f64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    let count = place.len() as f64;
    place.iter().map(|one| of(one)).sum::<f64>() / count
}

fn mean_error(place: &[&Compared]) -> f64 {
    mean(place, |one| one.error)
}

fn row_of(one: &Compared) -> [f64; 3] {
    [1.0, -degrees_of_lag(one.crank_rpm, 1.0), -one.by_share()]
}
