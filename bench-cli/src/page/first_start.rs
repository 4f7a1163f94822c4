//! The page for the first start: printed on both sides of a sheet, taken to the engine, ticked box by box.
//!
//! What it says of jumper, lamp and key is what `core/ignition/avr` does.

use crate::curve::figures::conditions::depression_in_words;
use crate::proof::first_start::{FirstStart, HELD_READ_AT, STOP_BEYOND, ToRead};
use crate::quantity::of_core::rpm_of;
use crate::record::figures::PickupShaft;
use crate::sheet::PickupKind;
use crate::words::number::{fixed, whole};
use crate::words::position::position_with_unit;
use crate::words::wrap::paragraph_of;
use std::fmt::Write;

/// Columns of the page, whatever the terminal's: it is for paper, A4 or letter.
const WIDTH: usize = 80;

/// The page, with these cautions at its head.
pub fn render(start: &FirstStart, cautions: &[&str]) -> [String; 2] {
    let mut page = Page { text: String::new(), step: 0 };
    let title = format!("FIRST START: {} ({}), by bobweight {}", start.name, start.file, env!("CARGO_PKG_VERSION"));
    paragraph_of(&mut page.text, "", &title, WIDTH);
    let opening = "Go through it in this order and tick each box. Where something is not as it says, stop there: do not go on \
                   to the next.";
    paragraph_of(&mut page.text, "", opening, WIDTH);
    page.heading("Before anything else");
    for caution in cautions {
        paragraph_of(&mut page.text, " ! ", caution, WIDTH);
    }
    page.heading("Engine standing, battery off");
    standing(&mut page, start);
    let front = std::mem::take(&mut page.text);
    page.heading("Key and starter: plugs in, no fuel");
    key_and_starter(&mut page, start);
    page.heading("Running");
    running(&mut page, start);
    page.heading("Back to the old distributor, at the roadside");
    going_back(&mut page, start);
    [front, page.text]
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
        paragraph_of(&mut self.text, &lead, sentence, WIDTH);
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
        position_with_unit(start.flank_crank_degrees)
    ));
    page.step(&pickup(start));
    page.step(&format!(
        "Rotor: turn on to {}. The middle of its tip faces the tower of cylinder 1; at the pickup's flank it stood {:.1} distributor \
         degrees {} it.{}",
        position_with_unit(start.rotor.line_up_crank_degrees),
        start.rotor.travel.before_tower(start.flank_crank_degrees).abs(),
        if start.rotor.travel.before_tower(start.flank_crank_degrees) < 0.0 { "past" } else { "before" },
        if start.pickup == PickupShaft::Distributor { " Mend it at the rotor or its shaft, not by the body." } else { "" }
    ));
    page.step(
        "Coil: contacts and the old condenser are off its negative side: the condenser would swallow the new spark and can ruin the \
         driver. Its + or 15 (DIN 72552) goes to the switched feed, its - or 1 to the ignition's driver and to nothing else: \
         swapped, the sparks are weak and miss.",
    );
    page.step(&format!(
        "Hold jumper in: the ignition's hold input to its earth (PD5 of an ATmega328P, PD3 of an ATmega1284P). It is read at key-on \
         alone, and then {} hold at every speed until key-off; above {} it makes no spark.",
        position_with_unit(start.held_crank_degrees),
        format_args!("{} crank rpm", whole(rpm_of(bobweight::NO_HELD_SPARK_ABOVE)))
    ));
}

/// What shows an open collector's output while the engine stands.
const LED: &str = "Between its supply and its output an LED with 1 kOhm, or a meter at its output with 4.7 kOhm up to the supply; no \
                   filament lamp, which takes more, cold, than an open collector bears. ";

fn pickup(start: &FirstStart) -> String {
    if start.pickup_kind == PickupKind::Coil {
        return format!(
            "Pickup, a coil: it shows nothing while the engine stands. Put its tooth against its pole here and tighten it so that it \
             can still be moved; its two leads the way round that the sheet says (the {} flank times the spark): swapped, the spark jumps and \
             moves with the speed. The light sets it while cranking.{}",
            flank(start.falling),
            start.moving_flank_crank_degrees.map_or_else(String::new, |moving| {
                format!(
                    " That flank is the zero crossing, and comes last; the other moves, from {} to {} crank degrees before top dead centre.",
                    fixed(moving[0], 1),
                    fixed(moving[1], 1)
                )
            })
        );
    }
    let turn = match start.pickup {
        PickupShaft::Distributor => format!(
            "Turn the distributor's body with rotation past the flank, then against rotation, which is {} seen from above the cap, until",
            hands(!start.rotor.clockwise)
        ),
        PickupShaft::Cam | PickupShaft::Crank => {
            "Move the pickup with rotation past the flank, then against rotation until".to_owned()
        }
    };
    let second = start.second_flank_crank_degrees.map_or_else(String::new, |second| {
        format!(" Turn on: it changes back at {}, within a degree.", position_with_unit(second))
    });
    let (name, lamp, it) = match start.pickup_kind {
        PickupKind::Points => (
            "the old contacts, as a switch for the ignition alone: their wire goes to its input and no longer to the coil",
            "A meter for ohms across the contacts, the wire off; clean them first. ",
            "the meter",
        ),
        PickupKind::Slot => ("a slotted disc in a light barrier", LED, "the LED"),
        PickupKind::Vane | PickupKind::Coil => ("a vane", LED, "the LED"),
    };
    format!(
        "Pickup, {name}: battery on for this only, the coil unplugged. {lamp}{turn} {it} just changes, the {} flank; tighten; battery \
         off.{second}",
        flank(start.falling)
    )
}

fn key_and_starter(page: &mut Page, start: &FirstStart) {
    page.step(
        "Fuel shut off. Air the engine's space until no vapour can be smelled, and again before each of these tests. Extinguisher at \
         hand. Plugs stay in: it is compression that brings a cranking spark early. Leads off the plugs, each on a gap that is \
         earthed on the block, away from the carburettor.",
    );
    page.step(
        "Battery on, engine standing: key on ten times, two seconds each, and off. No gap sparks at any of them. Where the ignition's \
         lamp stays lit it makes no sparks until key-off: find out why. Turned off while the engine turns the key may make one last \
         spark: power that is lost in a dwell does.",
    );
    page.step(
        "Key on, wait a second, crank for five seconds and look: every gap sparks, in the firing order. Key off.",
    );
    page.step(&format!(
        "Light on the lead of cylinder 1, crank by the starter: {} {}Earlier by more than {STOP_BEYOND} crank degrees: stop and \
         find out why. {}",
        cranking(start),
        if start.pickup_kind == PickupKind::Coil { "Move the pickup until it does. " } else { "" },
        match start.by_timing_flank {
            None if start.moving_flank_crank_degrees.is_some() => {
                "Never a starting handle: a hand turns too slowly for this pickup's signal."
            }
            None => "A starting handle only once this is right, with the plugs in.",
            Some(_) => "Never a starting handle: this pickup has no second flank.",
        }
    , STOP_BEYOND = whole(STOP_BEYOND)));
}

/// What the light shows while the starter turns the engine.
fn cranking(start: &FirstStart) -> String {
    let wanted = position_with_unit(start.cranking_crank_degrees);
    let range = start.starting.map_or_else(String::new, |angles| {
        format!(
            " By this sheet it stands between {} and {}.",
            position_with_unit(angles.earliest_crank_degrees),
            position_with_unit(angles.latest_crank_degrees)
        )
    });
    match &start.by_timing_flank {
        None if start.moving_flank_crank_degrees.is_some() => format!(
            "the mark stands at {wanted} at the earliest. The spark comes at the zero crossing or up to one dwell later.{range}"
        ),
        None => format!(
            "the mark stands at {wanted} at the earliest. By the second flank the spark comes one dwell later, the later the faster \
             the starter turns and the weaker the battery is.{range}"
        ),
        Some(_) => format!("the mark dances about {wanted}, by the starter's uneven turning.{range}"),
    }
}

fn running(page: &mut Page, start: &FirstStart) {
    page.step(&format!(
        "Key off. Leads on their plugs, fuel on, vacuum hose off and stopped up, neutral, brake on. Start. Read the held advance at \
         {} and at {HELD_READ_AT} crank rpm: {} at both. It must not move. The same error at both: key off, move the pickup. \
         It moves with the speed: key off, the wrong flank or a lag that the sheet does not know.",
        whole(start.idle_crank_rpm),
        position_with_unit(start.held_crank_degrees)
    , HELD_READ_AT = whole(HELD_READ_AT)));
    page.step("Only then the curve. To end the hold: key off, jumper out, key on.");
    page.step(&format!(
        "`bobweight light` with this sheet asks in this order and stops where it must. Hose still off, from the left to the right, each no longer \
         than a reading takes. More than {STOP_BEYOND} crank degrees out: key off, go no higher."
    , STOP_BEYOND = whole(STOP_BEYOND)));
    table(&mut page.text, &start.hose_off);
    if start.hand_pump.is_empty() {
        page.step("The engine has no vacuum advance: nothing is left to read.");
    } else {
        let readings: Vec<String> = start.hand_pump.iter().map(pumped).collect();
        page.step(&format!("Hand pump on the sensor's hose: {}.", readings.join("; ")));
    }
    for sentence in &start.on_the_road {
        page.step(&format!("{}.", sentence_case(sentence)));
    }
    page.step("Look at the pickup's and the distributor's bolts again when all is warm.");
}

fn pumped(to_read: &ToRead) -> String {
    let times = if to_read.readings == 1 { String::new() } else { format!(", {} times", to_read.readings) };
    format!(
        "at {} crank rpm and {} {}{times}",
        whole(to_read.crank_rpm),
        depression_in_words(to_read.depression_kpa),
        position_with_unit(to_read.wanted)
    )
}

fn sentence_case(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn table(text: &mut String, to_read: &[ToRead]) {
    let cells = |lead: &str, cell: &dyn Fn(&ToRead) -> String| {
        let cells: Vec<_> = to_read.iter().map(|one| format!("{:>9}", cell(one))).collect();
        format!("        {lead:<20}{}\n", cells.concat())
    };
    text.push_str(&cells("crank rpm", &|one| whole(one.crank_rpm)));
    text.push_str(&cells("readings", &|one| one.readings.to_string()));
    text.push_str(&cells("crank degrees BTDC", &|one| fixed(one.wanted, 1)));
    text.push_str(&cells("read", &|_| "_____".to_owned()));
}

fn going_back(page: &mut Page, start: &FirstStart) {
    let carry = match start.pickup {
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
        "Key off, battery off. Unplug the new ignition's box, so that it cannot drive the coil; contacts and condenser back on its \
         negative side. Cylinder 1 at top dead centre on \
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
