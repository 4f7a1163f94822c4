//! The stimulator's logic at one end and the ignition's firmware on its simulated chip at the other, under one clock.

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Error, ErrorKind, Read, Result, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use bobweight_bench::link::Link;
use bobweight_stimulator::{CoilEdge, Settings, Stimulator};
use bobweight_wire::{Abilities, BoardMessage, Decoder, FirmwareVersion, Frame, Request};

/// Nanoseconds in a tick of the stimulator: 2 MHz.
const TICK_NS: f64 = 500.0;
/// How often the stimulator looks at its clock: every millisecond.
const HOUSEKEEPING: u64 = 2_000;
/// How long a read waits: one second.
const PATIENCE: u64 = 2_000_000;

/// The folder of the rig's programs and firmware.
pub fn folder() -> PathBuf {
    std::env::var_os("BOBWEIGHT_RIG")
        .map(PathBuf::from)
        .expect("BOBWEIGHT_RIG names the rig's folder; see tests/suites/rig.sh")
}

/// The ignition's simulated chip.
struct Chip {
    child: Child,
    stdin: ChildStdin,
    stdout: BufReader<ChildStdout>,
}

impl Chip {
    fn switch_on(firmware: &Path, keys: &[String]) -> Self {
        let mut child = Command::new(folder().join("by_pipe"))
            .arg(firmware)
            .args(keys)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the rig's program runs");
        let stdin = child.stdin.take().expect("a pipe");
        let stdout = BufReader::new(child.stdout.take().expect("a pipe"));
        Self { child, stdin, stdout }
    }

    fn tell(&mut self, what: &str, value: f64) {
        writeln!(self.stdin, "{what} {value:.6}").expect("the chip listens");
    }

    /// Lets time pass up to a moment or to a change of the coil's pin.
    fn run(&mut self, until_ns: f64) -> Option<(CoilEdge, f64)> {
        self.tell("run", until_ns);
        self.stdin.flush().expect("the chip listens");
        let mut line = String::new();
        self.stdout.read_line(&mut line).expect("the chip answers");
        let (level, ns) = line.trim().split_once(' ').expect("a level and a time");
        let edge = match level {
            "1" => CoilEdge::On,
            "0" => CoilEdge::Off,
            _ => return None,
        };
        Some((edge, ns.parse().expect("a time")))
    }
}

impl Drop for Chip {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The bench. Its clock moves only while somebody reads.
pub struct ChipBench {
    stimulator: Stimulator,
    chip: Chip,
    decoder: Decoder,
    outbound: VecDeque<u8>,
    /// In ticks of the stimulator.
    now: u64,
    housekeeping: u64,
    told: Option<(u16, bool)>,
}

impl ChipBench {
    /// Switches the ignition on, `after` ticks before the stimulator's clock begins. `keys` are those of the rig's program.
    pub fn switch_on(firmware: &str, keys: &[String], after: u64) -> Self {
        let abilities = Abilities {
            shortest_interval: 40,
            shortest_pulse: 40,
            shortest_pulse_in_ramp: 40,
            shortest_pulse_cranking: 40,
            depression_step: 128,
            throttle: true,
        };
        let settings = Settings {
            firmware: FirmwareVersion { major: 0, minor: 1, patch: 0 },
            tick_rate_hz: 2_000_000,
            clock_tolerance_ppm: 100,
            abilities,
        };
        let mut bench = Self {
            stimulator: Stimulator::new(settings).expect("two megahertz are in range"),
            chip: Chip::switch_on(&folder().join(firmware), keys),
            decoder: Decoder::new(),
            outbound: VecDeque::new(),
            now: 0,
            housekeeping: 0,
            told: None,
        };
        bench.chip.tell("battery", 13.0);
        bench.chip.tell("pickup", 1.0);
        // Time enough for the ignition to read the atmosphere at key-on.
        bench.advance_to(600_000 + after);
        bench
    }

    /// A link to this bench, greeted.
    pub fn link(self) -> Link<Self> {
        Link::open(self, "the chip").expect("it greets")
    }

    #[expect(clippy::cast_possible_truncation, reason = "the clock wraps on purpose")]
    fn clock(&self) -> u32 {
        self.now as u32
    }

    fn advance_to(&mut self, until: u64) {
        while self.outbound.is_empty() && self.now < until {
            self.step(until);
            if let Some(batch) = self.stimulator.events(self.clock()).cloned() {
                self.send(&BoardMessage::Events(batch));
            }
        }
    }

    /// To the next thing that happens.
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "times of tests"
    )]
    fn step(&mut self, until: u64) {
        let clock = self.clock();
        let flank = self.stimulator.next_flank();
        let flank_at = flank
            .map(|order| self.now.saturating_add_signed(i64::from(order.at.wrapping_sub(clock).cast_signed().max(0))));
        let next = flank_at.unwrap_or(u64::MAX).min(self.housekeeping).min(until).max(self.now);
        if let Some((edge, ns)) = self.chip.run(next as f64 * TICK_NS) {
            // Captured at the tick that has begun.
            self.now = ((ns / TICK_NS).floor() as u64).max(self.now);
            let clock = self.clock();
            self.stimulator.coil(edge, clock);
            return;
        }
        self.now = next;
        if flank_at.is_some_and(|at| at <= next) {
            let moves = flank.is_some_and(|order| order.flank.is_some());
            self.stimulator.passed();
            if moves {
                let high = self.stimulator.outputs().pickup_high;
                self.chip.tell("pickup", f64::from(u8::from(high)));
            }
        } else if self.housekeeping <= next {
            self.housekeeping = self.now + HOUSEKEEPING;
            self.keep_house();
        }
    }

    fn keep_house(&mut self) {
        self.stimulator.poll(self.clock());
        let intake = self.stimulator.outputs().intake;
        let told = (intake.depression.0, intake.throttle_closed);
        if self.told != Some(told) {
            self.told = Some(told);
            // An absolute sensor, 20 kPa at 0.5 V and 22.5 kPa a volt, in an atmosphere of 101.25 kPa.
            let absolute = 101.25 - f64::from(intake.depression.0) / 256.0;
            self.chip.tell("manifold", 0.5 + (absolute - 20.0) / 22.5);
            self.chip.tell("throttle_closed", f64::from(u8::from(intake.throttle_closed)));
        }
    }

    fn send(&mut self, message: &BoardMessage) {
        self.outbound.extend(Frame::of(message).expect("every board message fits a frame").as_bytes());
    }
}

impl Read for ChipBench {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        self.advance_to(self.now + PATIENCE);
        if self.outbound.is_empty() {
            return Err(Error::from(ErrorKind::TimedOut));
        }
        self.outbound.read(buffer)
    }
}

impl Write for ChipBench {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        for &byte in bytes {
            match self.decoder.push::<Request>(byte) {
                Some(Ok(request)) => {
                    let reply = self.stimulator.message(&request, self.clock());
                    self.send(&BoardMessage::Reply(reply));
                }
                Some(Err(fault)) => self.send(&BoardMessage::Unreadable(fault)),
                None => {}
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        Ok(())
    }
}
