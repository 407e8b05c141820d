//! `ports`: the serial ports that are there.

use clap::Args;
use serde_json::json;
use serialport::{SerialPortInfo, SerialPortType};

use super::report::Report;
use coldwright::source::{Code, Diagnostic};

/// List the serial ports that are there
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright ports\n  coldwright ports --json")]
pub struct Ports {}

impl Ports {
    pub(super) fn run(self, report: &mut Report) {
        let mut ports = match serialport::available_ports() {
            Ok(ports) => ports,
            Err(error) => {
                let headline = format!("the system does not tell its serial ports: {error}");
                return report.problem(Diagnostic::error(Code::PortUnavailable, headline));
            }
        };
        ports.sort_by(|one, other| one.port_name.cmp(&other.port_name));
        let lines: String = match report.json() {
            true => ports.iter().map(|port| format!("{}\n", port_json(port))).collect(),
            false if ports.is_empty() => "no serial port is there\n".into(),
            false => ports.iter().map(|port| format!("{:20} {}\n", port.port_name, kind(&port.port_type))).collect(),
        };
        report.print(lines);
    }
}

fn port_json(port: &SerialPortInfo) -> serde_json::Value {
    json!({ "port": port.port_name, "kind": kind(&port.port_type) })
}

/// What kind of port it is; of an adapter, what it says of itself.
fn kind(port: &SerialPortType) -> String {
    match port {
        SerialPortType::UsbPort(usb) => {
            let product = usb.product.as_deref().unwrap_or("adapter");
            format!("USB {product} ({:04X}:{:04X})", usb.vid, usb.pid)
        }
        SerialPortType::PciPort => "built in".into(),
        SerialPortType::BluetoothPort => "Bluetooth".into(),
        SerialPortType::Unknown => String::new(),
    }
}
