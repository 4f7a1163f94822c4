//! The lag that is made up for: at N crank rpm a lag of t seconds is worth 6 N t crank degrees.

use crate::quantity::of_core::{angle_degrees, rpm_of, seconds};
use crate::record::check::LagResult;
use crate::sheet::{Settings, Sheet};
use crate::words::number::whole;
use bobweight::Phase;

pub(super) fn made_up(settings: &Settings, sheet: &Sheet) -> LagResult {
    let lag = seconds(settings.pickup.settings().lag);
    let model = &settings.model;
    let highest = model.settings().speeds.no_spark_above;
    let speed = sheet.engine.greatest_speed_crank_rpm.value().copied().unwrap_or(rpm_of(highest));
    let earlier = |speed: f64| 6.0 * speed * lag;
    // Sum and lag are linear between the corners, so the earliest order stands at one of them.
    let [greatest, ..] = model.judge().0;
    let depression = greatest.worst.depression;
    let curve = &model.settings().centrifugal;
    let corners = (0..curve.count()).map(|i| curve.breakpoint(i).0).filter(|corner| *corner < highest);
    let orders = corners.chain([highest]).filter_map(|corner| {
        let sum = model.advance(Phase::Running, corner, depression, false)?.sum;
        Some((angle_degrees(sum) + earlier(rpm_of(corner)), rpm_of(corner)))
    });
    let (earliest, at) = orders.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or_default();
    let statement = if lag > 0.0 {
        format!(
            "orders up to {:.1} crank degrees earlier at {speed} crank rpm make up for a lag of {} us. If nothing lagged \
             there, sparks would come as early as {earliest:.1} crank degrees BTDC, at {at} crank rpm",
            earlier(speed),
            whole(lag * 1e6),
            speed = whole(speed),
            at = whole(at)
        )
    } else {
        "none in the sheet, so none is made up for".to_owned()
    };
    LagResult {
        lag_us: lag * 1e6,
        speed_crank_rpm: speed,
        earlier_crank_degrees: earlier(speed),
        earliest_order_crank_degrees: earliest,
        earliest_order_crank_rpm: at,
        statement,
    }
}
