//! What can hurt people, shown before anything that drives hardware or sends somebody to a running engine.
//!
//! Nothing here calls a curve safe: the tool says which limits a curve keeps.

use super::ask::{Answered, ask};
use super::exit::Exit;
use super::failure::Failure;
use super::terminal::Terminal;
use crate::interrupt::Interrupt;
use crate::words::yes_or_no::yes_or_no;
use miette::Diagnostic;

/// Where a caution applies.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Work {
    /// A box, its driver and perhaps its coil on the bench.
    Bench,
    /// An engine that runs, or may start.
    Engine,
    /// A distributor that a drill or a lathe spins.
    Chuck,
    /// A timing that is tried on a vehicle, a boat or a dynamometer: what goes for an engine goes for it, too.
    Trials,
}

/// Every caution with the work that it belongs to.
pub const CAUTIONS: &[(&[Work], &str)] = {
    use Work::{Bench, Chuck, Engine, Trials};
    &[
        (
            &[Chuck],
            "A chuck winds up what it catches, and an arm with it: no loose sleeves, gloves, rings or ties, hair tied back, a guard \
                     about the chuck, its key out of it, glasses on.",
        ),
        (
            &[Chuck],
            "A body that is not clamped turns with the shaft, and weights that come loose fly: clamp it, go up slowly, and stand out \
                     of their line.",
        ),
        (
            &[Engine],
            "Under a timing light the fan and the belts look as if they stood still. Keep hair, sleeves, rings, \
                     leads and the computer away from them, and let nobody stand beside the fan.",
        ),
        (&[Bench, Engine, Chuck], "The voltage of an ignition can stop a heart. Who wears a pacemaker keeps away."),
        (&[Engine], "The flashes of a timing light can trigger seizures."),
        (
            &[Bench, Engine],
            "Never drive a coil without a spark gap to earth: it ruins the coil, and a spark that seeks its \
                            own way lights fuel vapour.",
        ),
        (
            &[Bench, Engine],
            "For every first try: fuel shut off and out of the way, a fire extinguisher and a kill switch \
                            within reach.",
        ),
        (
            &[Engine],
            "In a boat, air the bilge and smell it before any spark. Electric parts in the space of a petrol engine \
                     must be protected against igniting vapour (ISO 8846).",
        ),
        (
            &[Engine],
            "Exhaust gas is carbon monoxide: work outdoors, or lead it outdoors. Mind hot parts. Neutral, brake on, \
                     chocks at the wheels.",
        ),
        (
            &[Engine],
            "An engine that kicks back breaks wrists and starters: no starting handle before the cranking advance is \
                     proven, and never one with a pickup that has no second flank.",
        ),
        (
            &[Engine],
            "Find true top dead centre by a stop with the plugs out and the battery off, by hand and gently, never with \
                     the starter. Take the stop out afterwards.",
        ),
        (
            &[Engine, Chuck],
            "Never suck at a vacuum hose by mouth: it can hold fuel vapour. A hand pump or a syringe does it.",
        ),
        (&[Engine], "Rev an engine that pulls nothing only for as long as a reading takes, and never above its limit."),
        (
            &[Engine],
            "An engine that pinks holes its pistons: ease off at once and take advance out. A spark cut sends fuel \
                     into a hot exhaust; it is no governor.",
        ),
        (
            &[Trials],
            "Nobody reads, writes or types while driving or steering: stop first, or let somebody beside you do it. Time a pull where \
                     nobody else is and the law allows it, never on a road with traffic, and keep to its speed limit.",
        ),
        (
            &[Trials],
            "Set the timing with the engine off and everything tightened again. Full throttle only as long as the trial takes, with \
                     the engine warm, cooling and oil pressure watched, and a helper who can stop it.",
        ),
        (
            &[Trials],
            "An engine at high speed and full load pinks unheard. There, use a dynamometer with knock detection and whoever knows it.",
        ),
        (&[Bench, Engine, Chuck], "Local codes, road and emission law, and the work of licensed people come first."),
    ]
};

/// The cautions of a piece of work.
pub fn cautions_of(work: Work) -> impl Iterator<Item = &'static str> {
    let is_on_engine = work == Work::Trials;
    let applies = move |of: &[Work]| of.contains(&work) || (is_on_engine && of.contains(&Work::Engine));
    CAUTIONS.iter().filter(move |(of, _)| applies(of)).map(|(_, caution)| *caution)
}

/// Nobody could be asked, or somebody said no.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("the cautions are not acknowledged")]
#[diagnostic(help("read them above; on a terminal answer `yes`, in a script add `--acknowledge-cautions`"))]
pub struct NotAcknowledged;

/// Shows the cautions of a piece of work, and goes on only once somebody has taken note of them.
///
/// # Errors
/// [`NotAcknowledged`], with exit status 2, unless `acknowledged` or answered with `yes` on a terminal; 130 at an interrupt.
pub fn acknowledge(work: Work, acknowledged: bool, terminal: &mut Terminal) -> Result<(), Failure> {
    writeln!(terminal.err, "Before you go on:")?;
    for caution in cautions_of(work) {
        terminal.say("  - ", caution)?;
    }
    if acknowledged {
        return Ok(());
    }
    // Only a clear answer counts, and an unclear one is asked again.
    if terminal.can_ask && ask(terminal, "Type yes to go on:", yes_or_no)? == Answered::Value(true) {
        return Ok(());
    }
    if Interrupt::of_process().asked() {
        return Err(Failure { exit: Exit::Interrupted, report: None });
    }
    Err(Failure::new(Exit::WrongInput, NotAcknowledged))
}

/// The cautions as a list for the README.
#[cfg(test)]
fn as_markdown() -> String {
    CAUTIONS.iter().fold(String::new(), |list, (_, caution)| list + "- " + caution + "\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_readme_has_every_caution() {
        let readme = include_str!("../../../README.md");
        assert!(readme.contains(&as_markdown()), "put this into README.md:\n{}", as_markdown());
    }
}
