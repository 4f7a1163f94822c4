//! The proof that an ignition sparks where the curve says: on the bench, and with a timing light; and the trials that tell which
//! timing an engine likes.

pub mod begin;
pub(crate) mod bench;
pub(crate) mod first_start;
pub mod light;
pub(crate) mod measure;
pub(crate) mod plan;
pub(crate) mod source;
pub mod trials;
pub(crate) mod verdict;

pub use bench::{Bench, EveryPulse, Measurements, STARVED, TracedDepression, Watcher};
pub use measure::{Event, EventKind, Measured, Motion, Pickup, Recording, Summary, measure};
pub use plan::{PlanInput, Step, TestPoint, VacuumSource, plan};
pub use source::simulated::{
    CoreIgnition, IgnitionUnderTest, ImperfectIgnition, Imperfections, SimulatedBench, Switch, UnevenPulse, serve,
};
pub use source::trace::{Edge, Line, Listener, Names, Trace, TraceError, csv_edges, vcd_edges};
pub use verdict::{
    Conditions, Conformity, Decision, Diagnosis, Estimate, Factors, Judge, JudgedPoint, LeastSquares, MeasuredPoint,
    Regression, RunVerdict, Setting, SingleSparks, diagnose, judge_run,
};
