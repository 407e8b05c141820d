//! The far end of a serial line: a pseudo-terminal pair whose one end the program opens, while the test reads and
//! writes the other through a helper process.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// Makes the pair, prints the name of the near end, then copies both ways until its input ends. It keeps the near end
/// open, so that the line outlives the program that uses it; its own end hangs the line up.
const HELPER: &str = "
import os, select, tty
master, slave = os.openpty()
tty.setraw(slave)
os.write(1, (os.ttyname(slave) + '\\n').encode())
while True:
    ready, _, _ = select.select([0, master], [], [])
    if master in ready:
        os.write(1, os.read(master, 4096))
    if 0 in ready:
        data = os.read(0, 4096)
        if not data:
            break
        os.write(master, data)
";

/// The far end of a line.
pub struct FarEnd {
    helper: Child,
    input: Option<ChildStdin>,
    heard: Receiver<u8>,
    /// The near end, as the program opens it.
    pub near: String,
}

impl FarEnd {
    /// A new line; nothing, with a printed line, where no Python can make one. That is a failure where `CI` is `true`.
    pub fn new() -> Option<FarEnd> {
        let helper = Command::new("python3").args(["-c", HELPER]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
        let Ok(mut helper) = helper else {
            assert!(std::env::var("CI").as_deref() != Ok("true"), "`python3` is not installed");
            println!("skipped: `python3` is not installed");
            return None;
        };
        let mut output = BufReader::new(helper.stdout.take().unwrap());
        let mut near = String::new();
        output.read_line(&mut near).unwrap();
        let (sender, heard) = channel();
        std::thread::spawn(move || {
            output.bytes().map_while(Result::ok).take_while(|byte| sender.send(*byte).is_ok()).for_each(drop);
        });
        let input = helper.stdin.take();
        Some(FarEnd { helper, input, heard, near: near.trim().to_owned() })
    }

    /// Whatever comes within a time, or until enough has come.
    pub fn take(&self, most: usize, time: Duration) -> Vec<u8> {
        let (mut bytes, end) = (Vec::new(), Instant::now() + time);
        while bytes.len() < most {
            match self.heard.recv_timeout(end.saturating_duration_since(Instant::now())) {
                Ok(byte) => bytes.push(byte),
                Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => break,
            }
        }
        bytes
    }

    /// Sends bytes to the program.
    pub fn put(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().unwrap();
        input.write_all(bytes).and_then(|()| input.flush()).unwrap();
    }

    /// Has nothing more read at the far end, until [`resume`](Self::resume).
    pub fn pause(&self) {
        self.signal("STOP");
    }

    /// Goes on after [`pause`](Self::pause).
    pub fn resume(&self) {
        self.signal("CONT");
    }

    fn signal(&self, name: &str) {
        let status = Command::new("kill").args([&format!("-{name}"), &self.helper.id().to_string()]).status().unwrap();
        assert!(status.success());
    }

    /// Tears the line off.
    pub fn tear(mut self) {
        self.close();
    }

    fn close(&mut self) {
        drop(self.input.take());
        let _ = self.helper.wait();
    }
}

impl Drop for FarEnd {
    fn drop(&mut self) {
        self.close();
    }
}
