//! The serial port of `send` and `receive`: opening it, and what can go wrong on it.

use std::io::{self, Read, Write};
use std::time::{Duration, Instant};

use clap::Args;
use serialport::{DataBits, SerialPort};

use super::stop::is_stopped;
use super::values;
use coldwright::line::{LineFormat, Parity, StopBits};
use coldwright::source::{Code, Diagnostic, nearest};

/// DC1 of the 7-bit code (ISO 646, ECMA-6), by practice the character that starts a tape reader.
pub const READER_ON: u8 = 0o021;

/// DC3 of the 7-bit code, by practice the character that stops a tape reader.
pub const READER_OFF: u8 = 0o023;

/// Which port and how it is set.
#[derive(Args, Clone, Debug)]
pub struct PortOptions {
    /// The port, as `coldwright ports` lists it
    #[arg(long, value_name = "PORT")]
    pub port: String,
    /// Speed and character of the line, as in "300 8N2"
    #[arg(long, value_name = "LINE", value_parser = values::line)]
    pub line: LineFormat,
}

impl PortOptions {
    /// Opens the port.
    ///
    /// # Errors
    /// A diagnostic if it is not there, is in use, or cannot be set as asked.
    pub fn open(&self) -> Result<Port, Diagnostic> {
        let line = self.line;
        let stop_bits = match line.stop_bits {
            StopBits::One => serialport::StopBits::One,
            // With five data bits a port's two stop bits are one and a half.
            StopBits::OneAndHalf if line.data_bits == 5 => serialport::StopBits::Two,
            StopBits::OneAndHalf => {
                let headline = format!("no port can send `{line}`: one and a half stop bits need five data bits");
                return Err(Diagnostic::error(Code::PortUnavailable, headline));
            }
            StopBits::Two => serialport::StopBits::Two,
        };
        let builder = serialport::new(&self.port, line.speed.whole_baud())
            .data_bits(data_bits(line.data_bits))
            .parity(match line.parity {
                Parity::None => serialport::Parity::None,
                Parity::Even => serialport::Parity::Even,
                Parity::Odd => serialport::Parity::Odd,
            })
            .stop_bits(stop_bits)
            .timeout(Port::GLANCE);
        let inner = builder.open().map_err(|error| unavailable(&self.port, &error))?;
        Ok(Port { name: self.port.clone(), inner })
    }
}

fn data_bits(count: u8) -> DataBits {
    match count {
        5 => DataBits::Five,
        6 => DataBits::Six,
        7 => DataBits::Seven,
        _ => DataBits::Eight,
    }
}

fn unavailable(name: &str, error: &serialport::Error) -> Diagnostic {
    use serialport::ErrorKind;
    let headline = format!("cannot open the port `{name}`: {error}");
    let problem = Diagnostic::error(Code::PortUnavailable, headline);
    let known: Vec<_> =
        serialport::available_ports().unwrap_or_default().into_iter().map(|port| port.port_name).collect();
    let near = nearest(name, known.iter().map(String::as_str));
    match (error.kind(), near) {
        (ErrorKind::Io(io::ErrorKind::PermissionDenied), _) => problem
            .with_help("your user must be allowed to use serial ports: on many systems, to be in the group `dialout`"),
        (_, Some(near)) if near != name => problem.with_help(format!("did you mean `{near}`?")),
        (ErrorKind::NoDevice, _) => problem
            .with_note("a port that is unplugged is not there, one that another program holds is busy")
            .with_help("`coldwright ports` lists the ports that are there"),
        _ => problem.with_help("`coldwright ports` lists the ports that are there"),
    }
}

/// An open port.
pub struct Port {
    name: String,
    inner: Box<dyn SerialPort>,
}

impl Port {
    /// How long one look at the port lasts, so that a stop takes effect at once.
    pub const GLANCE: Duration = Duration::from_millis(50);

    /// The port's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What has come in, waiting for it at most a glance; nothing if the line is quiet.
    ///
    /// # Errors
    /// A diagnostic if the port is gone.
    pub fn read(&mut self, buffer: &mut [u8]) -> Result<usize, Diagnostic> {
        match self.inner.read(buffer) {
            // A port that can be read and holds nothing has been hung up.
            Ok(0) => Err(self.gone(&io::Error::from(io::ErrorKind::UnexpectedEof))),
            Ok(count) => Ok(count),
            Err(error) if is_quiet(&error) => Ok(0),
            Err(error) => Err(self.gone(&error)),
        }
    }

    /// Whether something has come in.
    ///
    /// # Errors
    /// A diagnostic if the port is gone.
    pub fn has_input(&self) -> Result<bool, Diagnostic> {
        match self.inner.bytes_to_read() {
            Ok(count) => Ok(count > 0),
            Err(error) => Err(self.gone(&io::Error::other(error.to_string()))),
        }
    }

    /// Sends bytes, as far as the port takes them before `patience` ends or a stop is asked for; adds how many to `sent`.
    ///
    /// # Errors
    /// A diagnostic if the port is gone or takes no more.
    pub fn write(&mut self, bytes: &[u8], patience: Duration, sent: &mut usize) -> Result<(), Diagnostic> {
        let (mut rest, mut since) = (bytes, Instant::now());
        while !rest.is_empty() && !is_stopped() {
            match self.inner.write(rest) {
                Ok(count) if count > 0 => {
                    *sent += count;
                    (rest, since) = (&rest[count..], Instant::now());
                }
                Ok(_) => {}
                Err(error) if is_quiet(&error) => {}
                Err(error) => return Err(self.gone(&error)),
            }
            if !rest.is_empty() && since.elapsed() > patience {
                let headline = format!("`{}` takes no more bytes for {} seconds", self.name, patience.as_secs_f64());
                return Err(Diagnostic::error(Code::LineAnswer, headline)
                    .with_help("is the other end connected, and does it hold the line with a handshake?"));
            }
        }
        Ok(())
    }

    /// Sends one last byte if the port takes it at once, whether a stop was asked for or not.
    pub fn part_with(&mut self, byte: u8) {
        // The other end may be gone by now.
        let _ = self.inner.write(&[byte]);
    }

    /// Waits until what was written has left the machine, at most so long.
    pub fn drain(&mut self, patience: Duration) {
        let start = Instant::now();
        while self.inner.bytes_to_write().is_ok_and(|left| left > 0) && start.elapsed() < patience && !is_stopped() {
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    fn gone(&self, error: &io::Error) -> Diagnostic {
        let headline = format!("the port `{}` is gone: {error}", self.name);
        Diagnostic::error(Code::PortUnavailable, headline).with_help("is the adapter still plugged in?")
    }
}

fn is_quiet(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock | io::ErrorKind::Interrupted)
}

/// Waits until a moment, or until a stop is asked for.
pub fn wait_until(moment: Instant) {
    while !is_stopped() {
        let left = moment.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return;
        }
        std::thread::sleep(left.min(Port::GLANCE));
    }
}
