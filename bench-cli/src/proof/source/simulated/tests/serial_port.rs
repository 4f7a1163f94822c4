//! The same through a pseudo-terminal and the serial port's library.

use super::*;
use crate::interrupt::Interrupt;
use crate::link::{LinkError, serial};
use serialport::{SerialPort, TTYPort};

/// Then the cable is pulled.
#[test]
fn a_serial_port_carries_the_same() {
    let (mut board, host) = TTYPort::pair().unwrap();
    board.set_timeout(std::time::Duration::from_millis(1)).unwrap();
    let path = host.name().unwrap();
    let (pull, pulled) = std::sync::mpsc::channel::<()>();
    let bench = std::thread::spawn(move || {
        let (table, firmware) = timetable(&Imperfections::default());
        let ignition = CoreIgnition::new(&table, firmware, volts(12));
        let mut cable = Cable { port: board, pulled };
        serve(SimulatedBench::new(ignition, Imperfections::default(), 12), &mut cable)
    });

    let mut link = serial::open(&path, &Interrupt::default()).unwrap();
    assert_eq!(link.place(), format!("serial port {path}"));
    let busy = serial::open(&path, &Interrupt::default()).err().unwrap();
    assert!(busy.to_string().contains("another program is using it"), "{busy}");
    link.request(pattern()).unwrap();
    settle(&mut link, 650.0, 0.0);
    // Longer than the two seconds of silence that a stimulator allows.
    let angles = steady_angles(&run(&mut link, 20), 650.0);
    assert_eq!(angles.len(), 80);
    assert!(angles.iter().all(|angle| (angle - 8.0).abs() < 0.05), "{angles:?}");

    pull.send(()).unwrap();
    let error = link.events().find_map(Result::err).unwrap();
    assert!(matches!(error, LinkError::Broken { .. } | LinkError::Silent { .. }), "{error:?}");
    assert!(error.to_string().contains("look at the cable"), "{error}");
    bench.join().unwrap().unwrap();
    drop(host);
}

/// A serial port that ends when it is pulled.
struct Cable {
    port: TTYPort,
    pulled: std::sync::mpsc::Receiver<()>,
}

impl Read for Cable {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.pulled.try_recv().is_ok() { Ok(0) } else { self.port.read(buffer) }
    }
}

impl Write for Cable {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.port.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.port.flush()
    }
}
