//! A curve into an ignition and back, through a real serial port library: a pseudo-terminal, and behind it the code that an
//! ignition's firmware has, on an array in the place of its EEPROM.
//!
//! The demo's figures are invented; what is tested is that a curve arrives whole or not at all, and what is said.
#![cfg(target_os = "linux")]

#[allow(dead_code, reason = "a stimulator's last message is asked for elsewhere")]
mod line;
mod terminal;
#[allow(dead_code, reason = "other commands are run elsewhere")]
mod tool;

use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Barrier, Mutex};
use std::thread::{self, JoinHandle};

use bobweight::image::EngineSettings;
use bobweight::store::{ByteStore, Slots, StoreError};
use bobweight_ignition_port::{Board, Port};
use bobweight_tool::record::ignition::IgnitionResult;
use bobweight_tool::sheet::{self, Settings};
use bobweight_wire::{FirmwareVersion, Frame};
use line::{Line, Trouble};
use rustix::process::{Pid, Signal, kill_process};
use tool::{Ran, demo, unwrapped};

/// What an ignition keeps without power, and what befalls it.
#[derive(Clone)]
struct Eeprom {
    bytes: Arc<Mutex<Vec<u8>>>,
    /// Writes until the engine begins to turn.
    edge_after: Arc<AtomicUsize>,
    /// Writes until one takes as long as the test wants: it waits for the test, and once more.
    stalls_after: Arc<AtomicUsize>,
    stalled: Arc<Barrier>,
    written: Arc<AtomicUsize>,
}

impl Eeprom {
    fn erased() -> Self {
        Self {
            bytes: Arc::new(Mutex::new(vec![0xff; 1_024])),
            edge_after: Arc::new(AtomicUsize::new(usize::MAX)),
            stalls_after: Arc::new(AtomicUsize::new(usize::MAX)),
            stalled: Arc::new(Barrier::new(2)),
            written: Arc::default(),
        }
    }

    fn holds(&self) -> Option<EngineSettings> {
        Slots::open(&mut self.clone()).1
    }
}

impl ByteStore for Eeprom {
    fn read(&mut self, address: usize) -> u8 {
        self.bytes.lock().unwrap()[address]
    }

    fn write(&mut self, address: usize, value: u8) -> Result<(), StoreError> {
        let written = self.written.fetch_add(1, Ordering::Relaxed);
        if written == self.stalls_after.load(Ordering::Relaxed) {
            self.stalled.wait();
            self.stalled.wait();
        }
        if written >= self.edge_after.load(Ordering::Relaxed) {
            return Err(StoreError::EngineTurns);
        }
        self.bytes.lock().unwrap()[address] = value;
        Ok(())
    }
}

/// An ignition behind a serial port, from key-on to key-off.
struct Ignition {
    path: PathBuf,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Ignition {
    fn on(store: &Eeprom, turns: bool, trouble: Trouble) -> Self {
        let (near, far) = terminal::pair();
        let path = terminal::path(&near);
        let stop: Arc<AtomicBool> = Arc::default();
        let (stops, store) = (Arc::clone(&stop), store.clone());
        let thread = thread::spawn(move || {
            let mut line = Line::new(near, trouble, Arc::clone(&stops), Arc::default());
            let board = Board {
                firmware: FirmwareVersion { major: 0, minor: 1, patch: 0 },
                tick_rate_hz: 2_000_000,
                clock_tolerance_ppm: 5_000,
                can_time: |_| true,
            };
            let (mut port, _) = Port::open(store, board, |settings| Some(*settings));
            let (mut bytes, mut answer) = ([0; 64], Frame::new());
            while !stops.load(Ordering::Relaxed) {
                let length = match line.read(&mut bytes) {
                    Ok(length) => length,
                    Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock) => 0,
                    Err(_) => break,
                };
                for &byte in &bytes[..length] {
                    if port.take(byte, turns, &mut answer) && line.write_all(answer.as_bytes()).is_err() {
                        break;
                    }
                }
            }
            drop(far);
        });
        Self { path, stop, thread: Some(thread) }
    }
}

impl Drop for Ignition {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn bobweight(arguments: &[&str], port: &Path) -> Ran {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bobweight"));
    command.args(arguments).arg("--serial").arg(port).arg("--acknowledge-cautions").stdin(Stdio::null());
    tool::ran(command)
}

fn changed_demo(folder: &Path, from: &str, to: &str) -> PathBuf {
    let text = std::fs::read_to_string(demo()).unwrap().replace("readings = ", "# readings = ");
    assert!(text.contains(from));
    let path = folder.join("sheet.toml");
    std::fs::write(&path, text.replace(from, to)).unwrap();
    path
}

fn settings_of(path: &Path) -> EngineSettings {
    let sheet = sheet::read(path).unwrap();
    sheet::engine_settings(&sheet, &Settings::from_sheet(&sheet).unwrap()).unwrap()
}

#[test]
fn a_curve_is_written_said_and_read_back() {
    let folder = tempfile::tempdir().unwrap();
    let store = Eeprom::erased();
    let sheet = demo().display().to_string();
    let on = Ignition::on(&store, false, Trouble::None);
    let empty = bobweight(&["read"], &on.path);
    assert_eq!(empty.exit, Some(1));
    assert!(empty.out.contains("holds no curve"), "{}", empty.out);
    let first = bobweight(&["write", &sheet], &on.path);
    assert_eq!(first.exit, Some(0), "{}{}", first.out, first.err);
    assert!(
        unwrapped(&first.err)
            .starts_with("A board that resets when its serial port is opened must not be connected to a coil"),
        "{}",
        first.err
    );
    assert!(
        first.out.contains("before  no curve") && first.out.contains("now     initial 8 crank degrees"),
        "{}",
        first.out
    );
    assert_eq!(store.holds(), Some(settings_of(&demo())));
    // Another curve: the one that was in it is named.
    let other = changed_demo(folder.path(), "initial = \"8 crank degrees\"", "initial = \"9 crank degrees\"");
    let json = folder.path().join("written.json").display().to_string();
    let second = bobweight(&["write", &other.display().to_string(), "--json", &json], &on.path);
    assert_eq!(second.exit, Some(0), "{}{}", second.out, second.err);
    assert!(second.out.contains("before  initial 8") && second.out.contains("now     initial 9"), "{}", second.out);
    let saved: IgnitionResult = serde_json::from_str(&std::fs::read_to_string(json).unwrap()).unwrap();
    assert_ne!(saved.before.unwrap().checksum, saved.now.unwrap().checksum);
    // Read back as the tables of a sheet, and compared.
    let read = bobweight(&["read"], &on.path);
    assert_eq!(read.exit, Some(0), "{}", read.err);
    assert!(read.out.contains("initial = \"9 crank degrees\"") && read.out.contains("[vacuum]"), "{}", read.out);
    let same = bobweight(&["read", "--against", &other.display().to_string()], &on.path);
    assert_eq!(same.exit, Some(0), "{}", same.out);
    let different = bobweight(&["read", "--against", &sheet], &on.path);
    assert_eq!(different.exit, Some(1));
    assert!(different.out.contains("it differs in advance\n"), "{}", different.out);
}

/// What was read, put into the sheet in the place of its own tables, makes the same curve.
#[test]
fn the_tables_that_are_read_are_a_sheet_s_own() {
    let folder = tempfile::tempdir().unwrap();
    let store = Eeprom::erased();
    let on = Ignition::on(&store, false, Trouble::None);
    assert_eq!(bobweight(&["write", &demo().display().to_string()], &on.path).exit, Some(0));
    let read = bobweight(&["read"], &on.path).out;
    let mut kept = String::new();
    let mut keeps = true;
    for line in std::fs::read_to_string(demo()).unwrap().lines() {
        if line.starts_with('[') {
            let header = line.split('#').next().unwrap_or_default().trim_end();
            keeps = !matches!(header, "[advance]" | "[centrifugal]" | "[vacuum]");
        }
        if keeps && !line.starts_with("readings") {
            kept.push_str(line);
            kept.push('\n');
        }
    }
    let path = folder.path().join("sheet.toml");
    std::fs::write(&path, kept + &read).unwrap();
    let (read, written) = (settings_of(&path), settings_of(&demo()));
    assert_eq!(read.model.settings().centrifugal, written.model.settings().centrifugal);
    assert_eq!((read.pickup, read.sensor), (written.pickup, written.sensor));
    // inHg are no whole thousandths of a kPa: the vacuum curve comes back to half of one.
    let (a, b) = (read.model.settings().vacuum.unwrap().curve, written.model.settings().vacuum.unwrap().curve);
    for i in 0..b.count() {
        let away = a.breakpoint(i).0.bits().abs_diff(b.breakpoint(i).0.bits());
        assert!(away <= 33, "{away} steps of 1/65 536 kPa");
    }
}

#[test]
fn a_sheet_that_breaks_its_limits_is_not_written_nor_the_port_opened() {
    let folder = tempfile::tempdir().unwrap();
    let broken = changed_demo(folder.path(), "greatest = \"42 crank degrees\"", "greatest = \"30 crank degrees\"");
    let refused = bobweight(&["write", &broken.display().to_string()], Path::new("/nowhere"));
    assert_eq!(refused.exit, Some(1), "{}", refused.err);
    assert!(unwrapped(&refused.err).contains("so nothing was written"), "{}", refused.err);
}

#[test]
fn an_engine_that_turns_refuses_and_keeps_its_curve() {
    let store = Eeprom::erased();
    let sheet = demo().display().to_string();
    let on = Ignition::on(&store, true, Trouble::None);
    let refused = bobweight(&["write", &sheet], &on.path);
    assert_eq!(refused.exit, Some(3));
    assert!(unwrapped(&refused.err).contains("the engine turns"), "{}", refused.err);
    assert_eq!(store.written.load(Ordering::Relaxed), 0);
}

/// How many bytes are written to the EEPROM when the demo's curve is in it and this sheet's is written without trouble.
fn bytes_of_a_second_write(sheet: &Path) -> usize {
    let store = Eeprom::erased();
    let on = Ignition::on(&store, false, Trouble::None);
    assert_eq!(bobweight(&["write", &demo().display().to_string()], &on.path).exit, Some(0));
    store.written.store(0, Ordering::Relaxed);
    assert_eq!(bobweight(&["write", &sheet.display().to_string()], &on.path).exit, Some(0));
    store.written.load(Ordering::Relaxed)
}

#[test]
fn an_edge_in_the_middle_of_a_write_ends_it_and_the_old_curve_stays() {
    let folder = tempfile::tempdir().unwrap();
    let other = changed_demo(folder.path(), "initial = \"8 crank degrees\"", "initial = \"9 crank degrees\"");
    let whole = bytes_of_a_second_write(&other);
    for edge_after in [0, 1, 17, whole / 2, whole - 7, whole - 6, whole - 1] {
        let store = Eeprom::erased();
        let on = Ignition::on(&store, false, Trouble::None);
        assert_eq!(bobweight(&["write", &demo().display().to_string()], &on.path).exit, Some(0));
        store.written.store(0, Ordering::Relaxed);
        store.edge_after.store(edge_after, Ordering::Relaxed);
        let cut = bobweight(&["write", &other.display().to_string()], &on.path);
        assert_eq!(cut.exit, Some(3), "{edge_after}: {}", cut.out);
        let said = unwrapped(&cut.err);
        assert!(said.contains("the engine turns: stop it, and write again; the old curve is in use still"), "{said}");
        assert_eq!(store.holds(), Some(settings_of(&demo())), "{edge_after}");
    }
}

/// A signal while the ignition is at a byte: what was written by then is said, and is what it holds.
#[test]
fn an_interrupted_write_says_what_is_in_the_ignition() {
    let folder = tempfile::tempdir().unwrap();
    let other = changed_demo(folder.path(), "initial = \"8 crank degrees\"", "initial = \"9 crank degrees\"");
    let whole = bytes_of_a_second_write(&other);
    let json = folder.path().join("written.json");
    let before = std::fs::read_dir(folder.path()).unwrap().count();
    for (at, signal, says) in [
        (0, Signal::INT, "nothing of the new curve was confirmed, and the curve that was in it is in use still"),
        (40, Signal::TERM, "32 of the new curve's"),
        (40, Signal::HUP, "the curve that was in it is in use still; write again"),
        (whole - 1, Signal::TERM, "had not confirmed that it made it the one in use"),
        (whole - 1, Signal::HUP, "it holds the old curve or the new one, whole: `bobweight read` says which"),
    ] {
        let store = Eeprom::erased();
        let on = Ignition::on(&store, false, Trouble::None);
        assert_eq!(bobweight(&["write", &demo().display().to_string()], &on.path).exit, Some(0));
        store.written.store(0, Ordering::Relaxed);
        store.stalls_after.store(at, Ordering::Relaxed);
        let mut command = Command::new(env!("CARGO_BIN_EXE_bobweight"));
        command.arg("write").arg(&other).arg("--serial").arg(&on.path).arg("--acknowledge-cautions");
        command.arg("--json").arg(&json).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let child = command.spawn().unwrap();
        store.stalled.wait();
        kill_process(Pid::from_raw(i32::try_from(child.id()).unwrap()).unwrap(), signal).unwrap();
        let ran: Ran = child.wait_with_output().unwrap().into();
        let held = store.holds();
        store.stalled.wait();
        assert_eq!(ran.exit, Some(130), "{at} {signal:?}: {}", ran.err);
        assert!(unwrapped(&ran.err).contains(says), "{at} {signal:?}: {}", ran.err);
        assert!(unwrapped(&ran.err).contains("interrupted; serial port"), "{at} {signal:?}: {}", ran.err);
        assert_eq!(held, Some(settings_of(&demo())), "{at} {signal:?}");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), before, "{at} {signal:?}: nothing is left");
    }
}

/// Whatever happens to the line, what the ignition holds is one of the two curves, and a write that says so has written.
#[test]
fn a_noisy_line_writes_the_whole_curve_or_says_that_it_did_not() {
    let folder = tempfile::tempdir().unwrap();
    let other = changed_demo(folder.path(), "initial = \"8 crank degrees\"", "initial = \"9 crank degrees\"");
    let (old, new) = (settings_of(&demo()), settings_of(&other));
    let (mut written, mut refused) = (0, 0);
    for seed in 1..=6 {
        let store = Eeprom::erased();
        let quiet = Ignition::on(&store, false, Trouble::None);
        assert_eq!(bobweight(&["write", &demo().display().to_string()], &quiet.path).exit, Some(0));
        drop(quiet);
        let trouble = match seed % 3 {
            0 => Trouble::Changed(300, seed),
            1 => Trouble::Misheard(300, seed),
            _ => Trouble::Unplugged(100 * usize::try_from(seed).unwrap()),
        };
        let on = Ignition::on(&store, false, trouble);
        let ran = bobweight(&["write", &other.display().to_string()], &on.path);
        drop(on);
        let holds = store.holds();
        if ran.exit == Some(0) {
            assert_eq!(holds, Some(new), "{trouble:?}");
            written += 1;
        } else {
            assert_eq!(ran.exit, Some(3), "{trouble:?}: {}", ran.err);
            assert!(holds == Some(old) || holds == Some(new), "{trouble:?}");
            refused += 1;
        }
    }
    println!(
        "{written} written over a noisy line, {refused} given up; each ignition held one of the two curves, whole"
    );
    assert!(written > 0);
}
