//! What the sheet says: found, specified and chosen side by side, and the card for the engine.

use super::page::Html;
use crate::curve::figures::conditions::{all_centrifugal, all_vacuum};
use crate::proof::first_start::FirstStart;
use crate::quantity::of_core::{crank_degrees, kpa_of, rpm_of};
use crate::quantity::units::KPA_PER_INHG;
use crate::record::figures::PickupShaft;
use crate::record::ignition::Curve;
use crate::sheet::{self, Recorded, Settings, Sheet, VacuumSource};
use crate::words::number::{fixed, whole};
use crate::words::position::position;
use bobweight::AdvanceModel;

fn pairs(points: impl Iterator<Item = (f64, f64)>) -> String {
    let said: Vec<String> = points.map(|(x, y)| format!("{} at {}", fixed(y, 1), fixed(x, 0))).collect();
    if said.is_empty() { "-".to_owned() } else { said.join(", ") }
}

/// Found, specified and chosen.
pub fn three_curves(html: &mut Html, sheet: &Sheet) {
    let chosen = vec![
        "chosen".to_owned(),
        sheet.advance.initial_crank_degrees.value().map_or_else(|| "-".to_owned(), |value| fixed(*value, 1)),
        pairs(sheet.centrifugal.breakpoints.value().into_iter().flatten().map(|at| (at.crank_rpm, at.crank_degrees))),
        pairs(sheet.vacuum.breakpoints.value().into_iter().flatten().map(|at| (at.depression_kpa, at.crank_degrees))),
    ];
    let recorded = |name: &str, recorded: Option<&Recorded>| {
        let Some(curve) = recorded else {
            return [name, "-", "-", "-"].map(str::to_owned).to_vec();
        };
        vec![
            name.to_owned(),
            curve.initial_crank_degrees.value().map_or_else(|| "-".to_owned(), |value| fixed(*value, 1)),
            pairs(curve.centrifugal.value().into_iter().flatten().map(|at| (at.crank_rpm, at.crank_degrees))),
            pairs(curve.vacuum.value().into_iter().flatten().map(|at| (at.depression_kpa, at.crank_degrees))),
        ]
    };
    let rows = [recorded("found", sheet.found.as_ref()), recorded("specified", sheet.specified.as_ref()), chosen];
    html.table(
        "Found, specified and chosen, crank degrees",
        &["curve", "initial BTDC", "centrifugal, at crank rpm", "vacuum, at kPa depression"],
        &rows,
    );
}

/// The card for the engine; `proven` by a timing light on it.
pub fn card(html: &mut Html, sheet: &Sheet, model: &AdvanceModel, start: &FirstStart, made: &str, proven: bool) {
    let settings = model.settings();
    let initial = crank_degrees(settings.initial);
    let all = all_centrifugal(model);
    let total = initial + crank_degrees(settings.centrifugal.range().1);
    let hose = match (sheet.vacuum.source.value(), all_vacuum(model)) {
        (Some(VacuumSource::Manifold), Some(at)) => from_the("the manifold", kpa_of(at), model),
        (Some(VacuumSource::Ported), Some(at)) => from_the("above the closed throttle", kpa_of(at), model),
        _ => "none".to_owned(),
    };
    let flank = if start.falling { "falling" } else { "rising" };
    let second = start
        .second_flank_crank_degrees
        .map_or_else(String::new, |second| format!("; second flank {} crank degrees BTDC", fixed(second, 1)));
    let (flank, second) = match start.moving_flank_crank_degrees {
        Some([earliest, latest]) => (
            format!("zero crossing, {flank}"),
            format!("; the other flank moves, {} to {} crank degrees BTDC", fixed(earliest, 1), fixed(latest, 1)),
        ),
        None => (format!("{flank} flank"), second),
    };
    let angle = sheet.pickup.angle_crank_degrees.value().copied().unwrap_or(f64::NAN);
    let order: Vec<String> = start.firing_order.iter().map(u32::to_string).collect();
    let turns = |clockwise: bool| if clockwise { "clockwise" } else { "anticlockwise" };
    html.open_frame("card", "Card for the engine");
    html.heading(2, &format!("Card for the engine: {}", start.name));
    if !proven {
        // A card outlives the page that it is cut out of.
        html.paragraph("NOT PROVEN on the engine: no timing light has passed this curve there.");
    }
    html.definitions(&[
        ("Engine", sheet.engine.in_words()),
        (
            "Initial timing",
            format!(
                "{} crank degrees BTDC, hose off, at idle ({} crank rpm)",
                fixed(initial, 1),
                whole(start.idle_crank_rpm)
            ),
        ),
        (
            "Total, hose off",
            format!("{} crank degrees BTDC at {} crank rpm and above", fixed(total, 1), whole(rpm_of(all))),
        ),
        ("Starting", starting(start)),
        ("Vacuum hose", hose),
        ("Pickup", format!("{angle:.1} crank degrees BTDC, {flank}{second}")),
        (
            "Rotor",
            format!(
                "lined up with its tower at {:.1} crank degrees BTDC; turns {}, seen from above the cap",
                start.rotor.line_up_crank_degrees,
                turns(start.rotor.clockwise)
            ),
        ),
        ("Firing order", order.join("-")),
        ("Crank turns", format!("{}, seen from the pulley end", turns(start.crank_clockwise))),
        ("Coil and ballast", coil(sheet)),
        ("Plug gap", "____________________ (to be filled in)".to_owned()),
        ("Curve CRC", checksum(sheet)),
        ("Date", made.to_owned()),
    ]);
    html.heading(3, "To put the old one back");
    let carry = match start.pickup {
        PickupShaft::Distributor => {
            "A complete old distributor with working weights, its cap and rotor, and the old coil with its ballast."
        }
        PickupShaft::Cam | PickupShaft::Crank => {
            "Contacts, condenser, the springs of the weights without what locks them, and the old coil with its ballast."
        }
    };
    html.list([
        carry,
        "Key off, battery off. Unplug the new ignition's box, so that it cannot drive the coil.",
        "Cylinder 1 at top dead centre on compression; distributor in, body and rotor on their scribed marks, weights free, hose on, \
         leads as photographed.",
        "Old coil through its ballast, contacts to its other side. Set the gap, start, and set the old initial timing by the light, \
         hose off.",
    ]);
    html.close_frame();
}

/// That of the curve's image, as `write`, `read` and `export` show it.
fn checksum(sheet: &Sheet) -> String {
    let settings = Settings::from_sheet(sheet).and_then(|settings| sheet::engine_settings(sheet, &settings));
    settings
        .map_or_else(|_| "____________________ (to be filled in)".to_owned(), |settings| Curve::of(&settings).checksum)
}

fn from_the(place: &str, full_kpa: f64, model: &AdvanceModel) -> String {
    let whole = model.settings().vacuum.as_ref().map_or(0.0, |vacuum| crank_degrees(vacuum.curve.range().1));
    format!(
        "from {place}; {whole:.1} crank degrees, all in at {full_kpa:.1} kPa ({:.1} inHg) depression",
        full_kpa / KPA_PER_INHG
    )
}

fn coil(sheet: &Sheet) -> String {
    let coil = &sheet.coil;
    let figure = |value: Option<&f64>, unit: &str| {
        value.map_or_else(|| format!("? {unit}"), |value| format!("{value:.1} {unit}"))
    };
    format!(
        "{} in all with its ballast, {}, {} at the spark",
        figure(coil.resistance_ohm.value(), "ohm"),
        coil.inductance_h.value().map_or_else(|| "? mH".to_owned(), |henries| format!("{:.1} mH", henries * 1e3)),
        figure(coil.current_a.value(), "A")
    )
}

/// Between which angles the starter's sparks come.
fn starting(start: &FirstStart) -> String {
    match start.starting {
        Some(angles) => format!(
            "{} to {}, crank degrees, by the starter's speed and the battery",
            position(angles.earliest_crank_degrees),
            position(angles.latest_crank_degrees)
        ),
        None => format!("{} crank degrees BTDC", fixed(start.cranking_crank_degrees, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::proof::first_start::first_start;
    use crate::sheet::tests::{demo_text, reluctor_text};

    fn card_of(text: &str) -> String {
        let sheet = sheet::parse("engine.toml", text).expect("a sheet");
        let (model, start) = (sheet::model(&sheet).expect("a model"), first_start(&sheet).expect("its figures"));
        let mut html = Html::default();
        card(&mut html, &sheet, &model, &start, "today", false);
        Html::whole("card", &html)
    }

    #[test]
    fn the_card_says_which_flank_of_the_pickup_holds_its_angle() {
        let reluctor = card_of(&reluctor_text());
        let says =
            "8.0 crank degrees BTDC, zero crossing, falling; the other flank moves, 18.0 to 13.0 crank degrees BTDC";
        assert!(reluctor.contains(says) && !reluctor.contains("second flank"), "{reluctor}");
        assert!(
            card_of(demo_text())
                .contains("60.0 crank degrees BTDC, falling flank; second flank 8.0 crank degrees BTDC")
        );
    }
}
