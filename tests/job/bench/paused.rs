//! Host or line pause between the order to record and the order to upset a pulse: the disturbance then lies outside the record,
//! and a record without it proves nothing of it.

use std::collections::VecDeque;
use std::io::{Read, Result, Write};

use bobweight_tests::plain::voltage;
use bobweight_tests::whole_bench::{Demo, VOLTS};
use bobweight_tool::link::Link;
use bobweight_tool::proof::{CoreIgnition, Imperfections, SimulatedBench};
use bobweight_tool::record::bench::BenchResult;
use bobweight_tool::record::verdict::Verdict;
use bobweight_wire::{BoardMessage, Decoder, EventKind, HostMessage, Request};

/// A line that pauses before the first so many upsets, until so many timing flanks have gone by.
struct Paused<S> {
    stream: S,
    pauses: usize,
    flanks: usize,
    /// The frame that is being written, and what was heard of the board meanwhile.
    frame: Vec<u8>,
    heard: VecDeque<u8>,
    listener: Decoder,
    reader: Decoder,
}

impl<S: Read + Write> Paused<S> {
    fn of(stream: S, pauses: usize, flanks: usize) -> Self {
        let (frame, heard) = (Vec::new(), VecDeque::new());
        Self { stream, pauses, flanks, frame, heard, listener: Decoder::new(), reader: Decoder::new() }
    }

    /// Lets the board turn its crank while nobody writes.
    fn pause(&mut self) -> Result<()> {
        let mut passed = 0;
        while passed < self.flanks {
            let mut bytes = [0; 256];
            let length = self.stream.read(&mut bytes)?;
            for &byte in &bytes[..length] {
                self.heard.push_back(byte);
                if let Some(Ok(BoardMessage::Events(batch))) = self.reader.push::<BoardMessage>(byte) {
                    passed += batch.events.iter().filter(|event| event.kind == EventKind::Timing).count();
                }
            }
        }
        Ok(())
    }
}

impl<S: Read + Write> Read for Paused<S> {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        if self.heard.is_empty() { self.stream.read(buffer) } else { self.heard.read(buffer) }
    }
}

impl<S: Read + Write> Write for Paused<S> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        for &byte in bytes {
            self.frame.push(byte);
            let Some(request) = self.listener.push::<Request>(byte) else { continue };
            if matches!(request, Ok(Request { message: HostMessage::Upset(_), .. })) && self.pauses > 0 {
                self.pauses -= 1;
                self.pause()?;
            }
            self.stream.write_all(&std::mem::take(&mut self.frame))?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        self.stream.flush()
    }
}

fn paused(pauses: usize, flanks: usize) -> BenchResult {
    let demo = Demo::read();
    let ignition = CoreIgnition::new(&demo.settings.timetable, demo.settings.firmware, voltage(VOLTS));
    let bench = SimulatedBench::new(ignition, Imperfections::default(), 1);
    demo.run_link(Link::open(Paused::of(bench, pauses, flanks), "a bench that pauses").expect("it greets"))
}

/// A record has 14 cycles of four pulses, the upset comes after 24: 30 flanks later it lies just inside, and too near to the end
/// to show that all is right again; 40 later it lies outside.
#[test]
fn a_disturbance_outside_the_record_is_driven_again() {
    for flanks in [28, 30, 33, 40, 60] {
        let result = paused(1, flanks);
        assert_eq!(result.verdict, Verdict::Pass, "{flanks}: {:?}", result.disturbed_pulses);
        assert_eq!(result.disturbed_pulses.len(), 6);
        assert!(result.disturbed_pulses.iter().all(|pulse| pulse.confirmed), "{:?}", result.disturbed_pulses);
        // A lost pulse leaves its own pulse without a spark or with a late one: the untouched record has neither.
        let first = &result.disturbed_pulses[0];
        assert!(first.missing > 0 || first.greatest_late_crank_degrees > 5.0, "{flanks}: {first:?}");
    }
}

/// Three tries are enough for a line that pauses now and then; one that always does shows nothing.
#[test]
fn a_disturbance_that_is_never_confirmed_is_undecided() {
    let result = paused(3, 40);
    assert_eq!(result.verdict, Verdict::Undecided);
    let [first, others @ ..] = result.disturbed_pulses.as_slice() else { panic!("{:?}", result.disturbed_pulses) };
    assert!(!first.confirmed && first.verdict == Verdict::Undecided, "{first:?}");
    assert!(others.iter().all(|pulse| pulse.confirmed && pulse.verdict == Verdict::Pass), "{others:?}");
}
