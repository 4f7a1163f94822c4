//! How long a motion is waited for: as long as it takes, and the stated margin; never without end. And a stimulator that has forgotten
//! it.

use super::*;
use crate::link::LinkError;
use crate::proof::measure::Pickup;
use crate::proof::source::{Driver, DriverError};
use bobweight_wire::{Answer, BoardMessage, Decoder, Frame, Refusal, Reply, Request};

/// A bench whose stimulator may answer orders to record and forget them: the crank turns on, and nothing ends.
struct Forgetful<S> {
    stream: S,
    answers: Option<Answer>,
    decoder: Decoder,
    outbound: std::collections::VecDeque<u8>,
}

impl<S: Read + Write> Read for Forgetful<S> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.outbound.is_empty() { self.stream.read(buffer) } else { self.outbound.read(buffer) }
    }
}

impl<S: Read + Write> Write for Forgetful<S> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        for &byte in bytes {
            let Some(Ok(request)) = self.decoder.push::<Request>(byte) else { continue };
            match (self.answers, request.message) {
                (Some(answer), HostMessage::Run(_)) => {
                    let reply = BoardMessage::Reply(Reply { sequence: request.sequence, answer });
                    self.outbound.extend(Frame::of(&reply).unwrap().as_bytes());
                }
                _ => self.stream.write_all(Frame::of(&request).unwrap().as_bytes())?,
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

fn with_driver(
    pulses: usize,
    answers: Option<Answer>,
    run: impl FnOnce(Driver<Forgetful<SimulatedBench<CoreIgnition<'_>>>>),
) {
    let (table, firmware) = timetable(&Imperfections::default());
    let ignition = CoreIgnition::new(&table, firmware, volts(12));
    let stream = SimulatedBench::new(ignition, Imperfections::default(), 3);
    let (decoder, outbound) = (Decoder::new(), std::collections::VecDeque::new());
    let link = Link::open(Forgetful { stream, answers, decoder, outbound }, "the test's bench").unwrap();
    let pickup = Pickup { pulses_in_two_turns: pulses, angle: 60.0 };
    run(Driver::open(link, pickup, None, TimingEdge::Falling, 500.0).unwrap());
}

/// Kinematics: a turn at N crank rpm takes 60 / N seconds. 20 cycles at 600 crank rpm take 4 s.
#[test]
fn a_motion_that_does_not_end_is_given_up_after_its_time_and_the_margin() {
    with_driver(4, Some(Answer::Accepted), |mut driver| {
        driver.steady(600.0).unwrap();
        let before = driver.link().now();
        let error = driver.cycles(20).unwrap_err();
        let passed = (driver.link().now() - before) as f64 / TICKS;
        // Its own time, at most three pulses before it begins, and 5 s; a batch of events more.
        assert!((9.0..9.5).contains(&passed), "{passed} s by the stimulator's clock");
        let DriverError::Overdue { lasts_s, .. } = error else { panic!("{error:?}") };
        assert!((4.0..4.2).contains(&lasts_s), "{lasts_s}");
        let said = error.to_string();
        assert!(
            said.starts_with("the test's bench: the motion that was asked for takes 4.2 s, and 5 s later"),
            "{said}"
        );
        assert!(said.contains("run the bench again"), "{said}");
    });
}

/// Only a restart takes the pickup away from a stimulator that had one.
#[test]
fn a_pickup_that_is_forgotten_is_a_restart() {
    with_driver(4, Some(Answer::Refused(Refusal::NoPattern)), |mut driver| {
        driver.steady(600.0).unwrap();
        let error = driver.cycles(20).unwrap_err();
        assert!(matches!(error, DriverError::Link(LinkError::Restarted { .. })), "{error:?}");
    });
}

/// The slowest motions of the wire, with one pulse in two turns: it takes 6 s, longer than the margin.
#[test]
fn no_motion_is_given_up_while_it_goes() {
    for pulses in [1, 4] {
        with_driver(pulses, None, |mut driver| {
            driver.crank(20.0, 3.0).unwrap();
            driver.cycles(3).unwrap();
            driver.steady(20.0).unwrap();
            driver.cycles(2).unwrap();
            driver.steady(400.0).unwrap();
            driver.ramp(20.0).unwrap();
            driver.upset(bobweight_wire::Disturbance::Lose, 2, 3).unwrap();
            driver.crank(1000.0, 1.0).unwrap();
            driver.cycles(100).unwrap();
            driver.crank(20.0, 1.0).unwrap();
        });
    }
}
