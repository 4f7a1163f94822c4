//! A stimulator behind a serial port.

use std::fs::OpenOptions;
use std::io::ErrorKind;
use std::time::Duration;

use serialport::SerialPort;

use super::{Link, LinkError};
use crate::interrupt::Interrupt;

/// Speed of a stimulator's serial port.
pub const BAUD: u32 = 250_000;

/// How long a read waits. Less than the two seconds after which a stimulator takes its host to be gone.
const PATIENCE: Duration = Duration::from_secs(1);

/// Opens a serial port and greets the stimulator behind it; heeds an interrupt at each read.
pub fn open(path: &str, interrupt: &Interrupt) -> Result<Link<Box<dyn SerialPort>>, LinkError> {
    Link::open_heeding(open_at(path, BAUD, PATIENCE)?, format!("serial port {path}"), interrupt)
}

/// Opens a serial port at a speed, with reads that wait so long.
pub(super) fn open_at(path: &str, baud: u32, patience: Duration) -> Result<Box<dyn SerialPort>, LinkError> {
    serialport::new(path, baud).timeout(patience).open().map_err(|error| refusal(path, &error))
}

fn paths() -> Vec<String> {
    ports().unwrap_or_default().into_iter().map(|port| port.port_name).collect()
}

fn refusal(path: &str, error: &serialport::Error) -> LinkError {
    let (why, remedy) = reason(path, error);
    LinkError::Serial { path: path.to_owned(), why, remedy }
}

fn reason(path: &str, error: &serialport::Error) -> (String, String) {
    let known = paths();
    let known =
        if known.is_empty() { "there is none now".to_owned() } else { format!("there are {}", known.join(", ")) };
    // The library says "no device" of an absent serial port and of a locked one alike: ask the system which it is.
    let system = OpenOptions::new().read(true).write(true).open(path).err().map(|error| error.kind());
    let kind = match (system, error.kind()) {
        (Some(kind), _) => kind,
        (None, serialport::ErrorKind::NoDevice) => ErrorKind::ResourceBusy,
        (None, _) => ErrorKind::Other,
    };
    match kind {
        ErrorKind::NotFound => {
            ("there is no such serial port".to_owned(), format!("plug the stimulator in and look at its path: {known}"))
        }
        ErrorKind::PermissionDenied => (
            "this user may not open it".to_owned(),
            "join the group that owns it (on many systems `dialout`), then log in anew".to_owned(),
        ),
        ErrorKind::ResourceBusy => {
            ("another program is using it".to_owned(), "close that program and run the bench again".to_owned())
        }
        ErrorKind::IsADirectory => ("this is a folder".to_owned(), format!("give a serial port: {known}")),
        _ => (format!("it cannot be opened ({error})"), format!("is it a serial port? {known}")),
    }
}

/// The serial ports that the system knows, by name. None is opened: many a board resets when its port is.
///
/// # Errors
/// [`LinkError::Serial`] where the system does not tell.
pub fn ports() -> Result<Vec<serialport::SerialPortInfo>, LinkError> {
    let mut ports = serialport::available_ports().map_err(|error| LinkError::Serial {
        path: "list".to_owned(),
        why: error.to_string(),
        remedy: "name the port yourself, as in `bobweight bench SHEET.toml --serial /dev/ttyUSB0`".to_owned(),
    })?;
    ports.sort_by(|a, b| a.port_name.cmp(&b.port_name));
    Ok(ports)
}
