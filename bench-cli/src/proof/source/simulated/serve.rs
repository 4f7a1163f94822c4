//! The built-in bench behind a stream of bytes, as a board is behind its serial port.

use std::io::{ErrorKind, Read, Result, Write};

use super::bench::SIMULATED_TICK_RATE;
use super::{IgnitionUnderTest, SimulatedBench};

/// How far simulated time may run ahead of the last message: a host that reads as fast as it can still keeps itself heard.
const AHEAD: f64 = SIMULATED_TICK_RATE as f64;

/// Simulated time that passes between two looks at the stream.
const STRIDE: f64 = AHEAD / 20.0;

/// Serves a bench on a stream until the other end is gone. A read of the stream must not wait long: a millisecond or so.
pub fn serve<I: IgnitionUnderTest, S: Read + Write>(mut bench: SimulatedBench<I>, stream: &mut S) -> Result<()> {
    let mut heard = bench.now();
    loop {
        let mut buffer = [0; 256];
        match stream.read(&mut buffer) {
            Ok(0) => return Ok(()),
            Ok(length) => {
                bench.write_all(&buffer[..length])?;
                heard = bench.now();
            }
            Err(error)
                if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock | ErrorKind::Interrupted) => {}
            Err(error) => return Err(error),
        }
        let until = (bench.now() + STRIDE).min(heard + AHEAD);
        while let Some(bytes) = bench.until(until) {
            stream.write_all(&bytes)?;
        }
    }
}
