//! The page for the first start: printed, taken to the engine, ticked box by box.

use super::wrap::paragraph;
use crate::figures::conditions::depression_in_words;
use crate::figures::first_start::{FirstStart, HELD_READ_AT, STOP_BEYOND};
use crate::figures::rotor::PickupShaft;
use std::fmt::Write;

/// Columns of the page: it prints on a sheet of A4 or letter in the usual small type.
const WIDTH: usize = 108;

/// The page, with these cautions at its head.
pub fn render(start: &FirstStart, cautions: &[&str]) -> String {
    let mut page = Page { text: String::new(), step: 0 };
    let _ =
        writeln!(page.text, "FIRST START: {} ({}), by bobweight {}", start.name, start.file, env!("CARGO_PKG_VERSION"));
    let opening = "Go through it in this order and tick each box. Where something is not as it says, stop there: do not go on \
                   to the next.";
    paragraph(&mut page.text, "", opening, WIDTH);
    page.heading("Before anything else");
    for caution in cautions {
        paragraph(&mut page.text, " ! ", caution, WIDTH);
    }
    page.heading("Engine standing, battery off");
    standing(&mut page, start);
    page.heading("On the starter, no fuel");
    on_the_starter(&mut page, start);
    page.heading("Running");
    running(&mut page, start);
    page.heading("Back to the old distributor, at the roadside");
    going_back(&mut page, start);
    page.text
}

struct Page {
    text: String,
    step: u32,
}

impl Page {
    fn heading(&mut self, heading: &str) {
        let _ = writeln!(self.text, "{}", heading.to_uppercase());
    }

    fn step(&mut self, sentence: &str) {
        self.step += 1;
        let lead = format!("[ ] {:>2}  ", self.step);
        paragraph(&mut self.text, &lead, sentence, WIDTH);
    }
}

fn standing(page: &mut Page, start: &FirstStart) {
    let order: Vec<String> = start.firing_order.iter().map(u32::to_string).collect();
    page.step(&format!(
        "Battery off. Find cylinder 1 and true top dead centre. Firing order {}. The crank turns {}, seen from the pulley end; the \
         rotor {}, seen from above the cap. Write it down if the engine says otherwise.",
        order.join("-"),
        hands(start.crank_clockwise),
        hands(start.rotor.clockwise)
    ));
    page.step(
        "Cylinder 1 at top dead centre on compression: scribe the old distributor, its body against the block and the rotor \
         against the rim, and photograph the leads.",
    );
    let weights = if start.rotor.weights_work {
        "The sheet says that the old weights still work: they turn the rotor, and must move freely and go back to rest. The old \
         vacuum plate does nothing more."
    } else {
        "The old weights and the old vacuum plate are locked: the rotor does not turn on its shaft by hand, the plate does not \
         move."
    };
    page.step(weights);
    page.step(&format!(
        "Turn the crank by hand in its running direction, without going back, to {} of cylinder 1 on compression.",
        btdc(start.rotor.flank_crank_degrees)
    ));
    page.step(&pickup(start));
    page.step(&format!(
        "Rotor: turn on to {}. The middle of its tip faces the tower of cylinder 1; at the pickup's flank it stood {:.1} distributor \
         degrees {} it.{}",
        btdc(start.rotor.line_up_crank_degrees),
        start.rotor.at_flank_before_tower_distributor_degrees.abs(),
        if start.rotor.at_flank_before_tower_distributor_degrees < 0.0 { "past" } else { "before" },
        if start.rotor.pickup == PickupShaft::Distributor { " Mend it at the rotor or its shaft, not by the body." } else { "" }
    ));
    page.step(&format!("Set the ignition to hold its advance: {} at every speed.", btdc(start.held_crank_degrees)));
}

fn pickup(start: &FirstStart) -> String {
    let turn = match start.rotor.pickup {
        PickupShaft::Distributor => "Turn the distributor's body",
        PickupShaft::Cam | PickupShaft::Crank => "Move the pickup",
    };
    if start.coil_pickup {
        return format!(
            "Pickup, a coil: it shows nothing while the engine stands. Put its tooth against its pole here and tighten it so that it \
             can still be moved; its two leads the way round that the sheet says ({} flank first): swapped, the spark jumps and \
             moves with the speed. Step 10 sets it by the light.",
            flank(start.falling)
        );
    }
    let second = start
        .second_flank_crank_degrees
        .map_or_else(String::new, |second| format!(" Turn on: it changes back at {}, within a degree.", btdc(second)));
    format!(
        "Pickup, a vane: a test lamp or meter on its output, battery on for this only and the coil unplugged. {turn} until the lamp \
         just changes, the {} flank; tighten; battery off.{second}",
        flank(start.falling)
    )
}

fn on_the_starter(page: &mut Page, start: &FirstStart) {
    page.step(
        "Fuel off. Plugs out, each in its lead, earthed on the block and well away from the plug holes: vapour comes out of them. \
         Extinguisher at hand.",
    );
    page.step(
        "Battery on, crank for five seconds and look: every plug sparks, in the firing order. Key off: no spark.",
    );
    page.step(&format!(
        "Light on the lead of cylinder 1, crank: {} {}Earlier by more than {STOP_BEYOND:.0} crank degrees: stop and find out why. No \
         starting handle before this is right.",
        cranking(start),
        if start.coil_pickup { "Move the pickup until it does. " } else { "" }
    ));
}

/// What the light shows while the starter turns the engine.
fn cranking(start: &FirstStart) -> String {
    let wanted = btdc(start.cranking_crank_degrees);
    match start.second_flank_crank_degrees {
        Some(_) => format!(
            "the mark stands at {wanted} at the earliest. By the second flank the spark comes one dwell later, the later the faster \
             the starter turns and the weaker the battery is: some crank degrees are right."
        ),
        None => format!("the mark stands at {wanted}, give or take what the starter's uneven turning does."),
    }
}

fn running(page: &mut Page, start: &FirstStart) {
    page.step(&format!(
        "Plugs in, fuel on, vacuum hose off and stopped up, neutral, brake on. Start. Read the held advance at {:.0} and at \
         {HELD_READ_AT:.0} crank rpm: {} at both. It must not move. The same error at both: move the pickup. It moves with the speed: \
         key off, the wrong flank or a lag that the sheet does not know.",
        start.idle_crank_rpm,
        btdc(start.held_crank_degrees)
    ));
    page.step(&format!(
        "Only then the curve: let the hold go. Hose still off, read in these steps, each no longer than a reading takes. More than \
         {STOP_BEYOND:.0} crank degrees out: key off, go no higher."
    ));
    curve(&mut page.text, &start.curve);
    match start.vacuum {
        Some((greatest, kpa)) => page.step(&format!(
            "Hose on, or a hand pump on the sensor: from {} on it adds {greatest:.1} crank degrees.",
            depression_in_words(kpa)
        )),
        None => page.step("The engine has no vacuum advance: nothing is left to read."),
    }
    page.step(
        "Drive gently, then let it pull. Pinking: ease off at once, and take advance out of the sheet before the next try. Look at \
         the pickup's and the distributor's bolts again when all is warm.",
    );
}

fn curve(text: &mut String, curve: &[(f64, f64)]) {
    let cells = |lead: &str, cell: &dyn Fn(&(f64, f64)) -> String| {
        let cells: Vec<_> = curve.iter().map(|point| format!("{:>9}", cell(point))).collect();
        format!("        {lead:<20}{}\n", cells.concat())
    };
    text.push_str(&cells("crank rpm", &|(speed, _)| format!("{speed:.0}")));
    text.push_str(&cells("crank degrees BTDC", &|(_, advance)| format!("{advance:.1}")));
    text.push_str(&cells("read", &|_| "_____".to_owned()));
}

fn going_back(page: &mut Page, start: &FirstStart) {
    let carry = match start.rotor.pickup {
        PickupShaft::Distributor => {
            "The pickup sits in the old distributor, so carry another one that is complete: contacts, condenser, working weights, its \
             cap and rotor."
        }
        PickupShaft::Cam | PickupShaft::Crank => {
            "Carry the old contacts and condenser, the springs of the weights and what locks them, and a feeler gauge."
        }
    };
    page.step(&format!(
        "{carry} Carry the old coil with its ballast too: contacts burn on a coil that draws more than they were made for."
    ));
    page.step(
        "Key off, battery off. Unplug the new ignition's box, so that it cannot drive the coil. Cylinder 1 at top dead centre on \
         compression; distributor in, body and rotor on their scribed marks, weights free, hose on; leads as photographed.",
    );
    page.step(
        "Old coil: supply through its ballast to one side, contacts to the other. Set the gap, start, and set the old initial timing by \
         the light, hose off.",
    );
}

fn hands(clockwise: bool) -> &'static str {
    if clockwise { "clockwise" } else { "anticlockwise" }
}

fn flank(falling: bool) -> &'static str {
    if falling { "falling" } else { "rising" }
}

fn btdc(crank_degrees: f64) -> String {
    let side = if crank_degrees < 0.0 { "ATDC" } else { "BTDC" };
    let text = format!("{:.1}", crank_degrees.abs());
    format!("{} crank degrees {side}", text.strip_suffix(".0").unwrap_or(&text))
}
