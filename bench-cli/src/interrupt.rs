//! Ctrl-C, a termination and a hang-up are one interrupt, and one handler hears it for every command.
//!
//! Work that can stop at a good place calls itself [`orderly`]: it looks whether somebody [asked](Interrupt::asked), stops there,
//! and keeps what it has. All other work ends at once, though never in the middle of a file ([`unbroken`]).

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, LazyLock, Mutex, MutexGuard, PoisonError};

/// Whether somebody asked to stop. Clones are asked together.
#[derive(Clone, Debug, Default)]
pub struct Interrupt(Arc<AtomicBool>);

impl Interrupt {
    /// That of this process, which [`heed`] listens for.
    pub fn of_process() -> Self {
        PROCESS.clone()
    }

    /// Asks to stop.
    pub fn ask(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether somebody did.
    pub fn asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// A process has one set of signals, so all this is one for the process.
static PROCESS: LazyLock<Interrupt> = LazyLock::new(Interrupt::default);
/// How much of the work at hand stops by itself.
static ORDERLY: Mutex<usize> = Mutex::new(0);
/// Held while a file is written.
static WRITING: Mutex<()> = Mutex::new(());

/// Work that stops by itself once it is asked to, while this lives.
#[derive(Debug)]
pub struct Orderly(());

/// Begins work that looks at [`Interrupt::asked`] and stops by itself.
#[must_use = "the work is orderly only as long as this lives"]
pub fn orderly() -> Orderly {
    *locked(&ORDERLY) += 1;
    Orderly(())
}

impl Drop for Orderly {
    fn drop(&mut self) {
        *locked(&ORDERLY) -= 1;
    }
}

/// Does what no interrupt may cut in two, such as writing a file beside another and giving it that one's name.
pub fn unbroken<T>(work: impl FnOnce() -> T) -> T {
    let _writing = locked(&WRITING);
    work()
}

/// Listens for Ctrl-C, a termination and a hang-up from now on. Work that is not orderly ends with this exit status.
///
/// A second signal changes nothing: a closed terminal and a shut-down send several, and work that is asked stops soon.
pub fn heed(exit: u8) {
    let heard = move || {
        // Held to the end, so that nothing orderly begins meanwhile.
        let orderly = locked(&ORDERLY);
        PROCESS.ask();
        if *orderly == 0 {
            let _writing = locked(&WRITING);
            std::process::exit(i32::from(exit));
        }
    };
    // Where no handler can be set, an interrupt ends the program, and a stimulator rests after two seconds of silence.
    let _ = ctrlc::set_handler(heard);
}

/// What is counted here is right even after a panic.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
