//! The serial ports of a machine as text.

use serialport::{SerialPortInfo, SerialPortType};

/// A line for each port, and what to do next.
#[must_use]
pub fn render(ports: &[SerialPortInfo]) -> String {
    if ports.is_empty() {
        return "No serial port is there. Plug the board in, with a cable that carries data and not the supply alone, and look again.\n".to_owned();
    }
    let width = ports.iter().map(|port| port.port_name.len()).max().unwrap_or(0);
    let lines = ports.iter().map(|port| format!("{:width$}  {}\n", port.port_name, known(&port.port_type)));
    lines.chain([NEXT.to_owned()]).collect()
}

const NEXT: &str = "\nWhich one is the stimulator? Unplug it, look again, and see which line is gone. No port was opened: a board can reset when its \
port is, and an ignition that resets while its coil is on makes a spark.\n\nNext: bobweight bench SHEET.toml --serial PORT\n";

/// What the system says of a port; what a device says of itself is shown without its control characters.
fn known(kind: &SerialPortType) -> String {
    match kind {
        SerialPortType::UsbPort(usb) => {
            let said = [&usb.manufacturer, &usb.product, &usb.serial_number];
            let said: Vec<String> = said
                .into_iter()
                .flatten()
                .map(|text| text.chars().filter(|letter| !letter.is_control()).collect())
                .collect();
            format!("USB {:04x}:{:04x} {}", usb.vid, usb.pid, said.join(", ")).trim_end().to_owned()
        }
        SerialPortType::PciPort => "built into this machine".to_owned(),
        SerialPortType::BluetoothPort => "by radio; too slow to answer in time".to_owned(),
        SerialPortType::Unknown => "nothing more is known of it".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serialport::UsbPortInfo;

    fn port(name: &str, kind: SerialPortType) -> SerialPortInfo {
        SerialPortInfo { port_name: name.to_owned(), port_type: kind }
    }

    #[test]
    fn each_port_has_a_line_with_what_is_known_and_no_escape() {
        let usb = UsbPortInfo {
            vid: 0x1234,
            pid: 0xab,
            serial_number: Some("77".to_owned()),
            manufacturer: None,
            product: Some("bench \u{1b}[31mboard".to_owned()),
        };
        let text =
            render(&[port("/dev/ttyS0", SerialPortType::PciPort), port("/dev/ttyUSB10", SerialPortType::UsbPort(usb))]);
        assert!(
            text.starts_with(
                "/dev/ttyS0     built into this machine\n/dev/ttyUSB10  USB 1234:00ab bench [31mboard, 77\n"
            ),
            "{text}"
        );
        assert!(text.contains("--serial PORT"), "{text}");
    }

    #[test]
    fn without_a_port_it_says_what_to_do() {
        assert!(render(&[]).contains("Plug the board in"));
    }
}
