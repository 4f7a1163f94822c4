//! What can go wrong on the way to a stimulator and back.

use std::io;

use bobweight_wire::{FrameFault, HostMessage, PROTOCOL, Refusal};
use thiserror::Error;

/// Why the link failed. Each text says what, where, and what to do next.
#[derive(Debug, Error)]
pub enum LinkError {
    /// Nothing answered as a stimulator does.
    #[error(
        "{place}: no stimulator answered{}; look whether the stimulator's firmware is on the board, whether the board has power and \
         whether this is its serial port (`bobweight serial` lists them)",
        heard.map(|fault| format!(" (heard only {fault})")).unwrap_or_default()
    )]
    NotAStimulator {
        /// The link's name.
        place: String,
        /// What was heard instead, if anything.
        heard: Option<FrameFault>,
    },
    /// An ignition answered.
    #[error("{place}: this is an ignition, not a stimulator; give the other board's serial port")]
    Ignition {
        /// The link's name.
        place: String,
    },
    /// The board's firmware speaks a newer protocol.
    #[error("{place}: the stimulator speaks protocol {theirs}, this program only {PROTOCOL}; update this program")]
    UpdateHost {
        /// The link's name.
        place: String,
        /// The board's protocol.
        theirs: u8,
    },
    /// The board's firmware speaks an older protocol.
    #[error(
        "{place}: the stimulator speaks protocol {theirs}, this program {PROTOCOL}; update the stimulator's firmware"
    )]
    UpdateBoard {
        /// The link's name.
        place: String,
        /// The board's protocol.
        theirs: u8,
    },
    /// A message was not answered.
    #[error(
        "{place}: the stimulator stopped answering; look at the cable and the board's power, then run the bench again"
    )]
    Silent {
        /// The link's name.
        place: String,
    },
    /// The board greets though nobody asked, or has forgotten the pickup: it has restarted.
    #[error(
        "{place}: the stimulator restarted in the middle of the run; look at its supply and its reset, lay the coil's leads away from it, \
         then run the bench again"
    )]
    Restarted {
        /// The link's name.
        place: String,
    },
    /// The board answers, but says nothing of the motion that was asked for: a crank that turns says something twice a second.
    #[error(
        "{place}: the stimulator answers, but its crank stands in the middle of a motion: it may have restarted; look at its supply and its \
         reset, lay the coil's leads away from it, then run the bench again"
    )]
    Stands {
        /// The link's name.
        place: String,
    },
    /// The user interrupted.
    #[error(
        "interrupted; {}",
        if *stopped {
            "the stimulator's outputs were stopped".to_owned()
        } else {
            format!(
                "{place}: the stimulator did not confirm that its outputs were stopped, which it does by itself after two seconds without a \
                 host; take its power and the coil's away before you touch anything"
            )
        }
    )]
    Interrupted {
        /// The link's name.
        place: String,
        /// Whether the stimulator confirmed that its outputs rest.
        stopped: bool,
    },
    /// The stream broke.
    #[error("{place}: the link broke ({cause}); look at the cable, then run the bench again")]
    Broken {
        /// The link's name.
        place: String,
        /// The system's reason.
        #[source]
        cause: io::Error,
    },
    /// The stimulator's frame arrived damaged.
    #[error(
        "{place}: the stimulator sent {fault}; look for a loose plug or a cable beside the coil's lead, then run the bench again"
    )]
    Damaged {
        /// The link's name.
        place: String,
        /// What was wrong with it.
        fault: FrameFault,
    },
    /// Our frame arrived damaged.
    #[error(
        "{place}: the stimulator received {fault}; look for a loose plug or a cable beside the coil's lead, then run the bench again"
    )]
    Unreadable {
        /// The link's name.
        place: String,
        /// What was wrong with it.
        fault: FrameFault,
    },
    /// A message was refused.
    #[error("{place}: the stimulator refused {}: {refusal}", in_words(asked))]
    Refused {
        /// The link's name.
        place: String,
        /// What was asked.
        asked: HostMessage,
        /// Why not.
        refusal: Refusal,
    },
    /// A reply to nothing that was asked.
    #[error(
        "{place}: the stimulator replied out of turn; is another program using it? Unplug it, plug it in and run the bench again"
    )]
    OutOfTurn {
        /// The link's name.
        place: String,
    },
    /// Events are missing. The link itself goes on.
    #[error(
        "{place}: {} of the stimulator were lost; repeat the test point, and if it stays so, at a lower speed or on a quieter computer",
        match count { Some(n) => format!("{n} events or more"), None => "some events".to_owned() }
    )]
    EventsLost {
        /// The link's name.
        place: String,
        /// How many, where the stimulator counted them.
        count: Option<u8>,
    },
    /// The serial port cannot be opened.
    #[error("serial port {path}: {why}; {remedy}")]
    Serial {
        /// The serial port.
        path: String,
        /// What is wrong.
        why: String,
        /// What to do next.
        remedy: String,
    },
}

/// What was asked of the stimulator, as a person would say it.
fn in_words(asked: &HostMessage) -> &'static str {
    match asked {
        HostMessage::Identify => "to say who it is",
        HostMessage::KeepAlive => "a sign of life",
        HostMessage::Stop => "to stop",
        HostMessage::Pattern(_) => "this pickup",
        HostMessage::Speed(_) => "this speed",
        HostMessage::Ramp(_) => "this ramp",
        HostMessage::Crank(_) => "to crank like this",
        HostMessage::Run(_) => "to count so many sparks",
        HostMessage::Upset(_) => "to upset a pulse like this",
        HostMessage::Halt(_) => "to halt like this",
        HostMessage::Intake(_) => "this depression",
    }
}
