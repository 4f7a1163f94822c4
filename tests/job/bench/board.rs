//! The simulated stimulator with the core's ignition, behind a pseudo-terminal as a board is behind its serial port.

use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use bobweight::quantity::Voltage;
use bobweight_tool::proof::{CoreIgnition, ImperfectIgnition, Imperfections, SimulatedBench, serve};
use bobweight_tool::sheet::{self, Settings};
use bobweight_wire::{Answer, BoardMessage, Frame, Greeting, HostMessage, Reply};

use super::line::{Line, Trouble};
use super::terminal;

/// The battery: 13 V, as that of the built-in bench.
const BATTERY: Voltage = bobweight::must!(Voltage::from_bits(13 << 8));

/// Something behind a serial port.
pub struct Board {
    path: PathBuf,
    stop: Arc<AtomicBool>,
    asked: Arc<Mutex<Option<HostMessage>>>,
    restarted: Receiver<()>,
    thread: Option<JoinHandle<()>>,
}

impl Board {
    /// A stimulator that drives the ignition of a sheet.
    pub fn stimulator(sheet: &Path, imperfections: Imperfections, trouble: Trouble) -> Self {
        let settings = Settings::from_sheet(&sheet::read(sheet).expect("a sheet")).expect("settings");
        Self::plugged_in(move |near, stop, asked, restarted| {
            let imperfect = ImperfectIgnition::new(&settings.model, &settings.pickup, &imperfections).expect("small");
            let table = imperfect.timetable(&settings.dwell, &settings.firmware).expect("a timetable");
            let switched_on = || {
                let ignition = CoreIgnition::new(&table, settings.firmware, BATTERY);
                SimulatedBench::new(ignition, imperfections, 1)
            };
            let mut line = Line::new(near, trouble, stop, asked);
            // It ends when the line does; how is the host's affair.
            let _ = serve(switched_on(), &mut line);
            if let Some(greets) = line.restart() {
                if greets {
                    let _ = line.write_all(&hello(*switched_on().link().expect("it greets").greeting()));
                }
                let _ = restarted.send(());
                let _ = serve(switched_on(), &mut line);
            }
        })
    }

    /// Something that says the same thing over and over, whatever it hears.
    pub fn stranger(says: &'static [u8], every: Duration) -> Self {
        Self::plugged_in(move |near, stop, asked, _| {
            let mut line = Line::new(near, Trouble::None, Arc::clone(&stop), asked);
            while !stop.load(Ordering::Relaxed) && line.write_all(says).is_ok() {
                // Its own rhythm; nothing is waited for.
                thread::sleep(every);
            }
        })
    }

    fn plugged_in(
        run: impl FnOnce(File, Arc<AtomicBool>, Arc<Mutex<Option<HostMessage>>>, &Sender<()>) + Send + 'static,
    ) -> Self {
        let (near, far) = terminal::pair();
        let path = terminal::path(&near);
        let (stop, asked) = (Arc::default(), Arc::default());
        let (stops, hears) = (Arc::clone(&stop), Arc::clone(&asked));
        let (restarts, restarted) = channel();
        let thread = thread::spawn(move || {
            run(near, stops, hears, &restarts);
            drop(far);
        });
        Self { path, stop, asked, restarted, thread: Some(thread) }
    }

    /// Its serial port.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The last message that it heard.
    pub fn last_asked(&self) -> Option<HostMessage> {
        *self.asked.lock().expect("nobody panics with it")
    }

    /// Waits until it has restarted.
    pub fn wait_for_restart(&self) {
        self.restarted.recv_timeout(Duration::from_mins(1)).expect("it restarts within a minute");
    }
}

/// A greeting that nobody asked for, with a zero before it that cuts off what the restart left behind.
fn hello(greeting: Greeting) -> Vec<u8> {
    let reply = BoardMessage::Reply(Reply { sequence: 0, answer: Answer::Greeting(greeting) });
    let frame = Frame::of(&reply).expect("it fits");
    [&[0], frame.as_bytes()].concat()
}

impl Drop for Board {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
