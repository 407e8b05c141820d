//! The machine as its file describes it: panel, memory with its holes and stacks, sockets, chips, ports.

use super::flow::{BODY, BOLD, Flow};
use crate::drawing::Page;
use crate::image::MEMORY;
use crate::notation::{Address, counted};
use crate::panel::{Paper, Port, Stop};
use crate::project::{Chip, DriveController, Plan, Serial};
use crate::rehearsal::Outcome;

/// The page.
pub fn draw(plan: &Plan, rehearsed: Option<&[Outcome]>, paper: Paper) -> Vec<Page> {
    let mut flow = Flow::new(paper, "The machine");
    flow.paragraph("As its machine file describes it; compare it with what stands before you.");
    let mut page = Machine { plan, flow };
    page.panel();
    page.memory();
    page.stacks(rehearsed.unwrap_or_default());
    page.sockets();
    page.chips();
    page.ports();
    page.flow.finish()
}

struct Machine<'a> {
    plan: &'a Plan,
    flow: Flow,
}

impl Machine<'_> {
    /// A row of a name and what is said of it.
    fn row(&mut self, name: &str, told: &str) {
        let room = self.flow.width() - 52.0;
        self.flow.row(&[((0.0, 50.0), BOLD, name), ((52.0, room), BODY, told)]);
    }

    fn range(&self, first: usize, last: usize) -> String {
        let address = |at: usize| self.plan.machine.panel.notation.address(Address(at as u16));
        format!("{} to {}", address(first), address(last))
    }

    fn panel(&mut self) {
        let machine = &self.plan.machine;
        self.flow.heading("Processor and panel");
        match machine.clock_hz {
            Some(hertz) => self.row("clock", &format!("8080 at {} MHz", hertz as f64 / 1e6)),
            None => self.row("clock", "the machine file does not say it"),
        }
        let panel = &machine.panel;
        let mut keys = vec!["EXAMINE"];
        keys.extend(panel.examine_next.then_some("EXAMINE NEXT"));
        keys.push("DEPOSIT");
        keys.extend(panel.deposit_next.then_some("DEPOSIT NEXT"));
        let stop = if panel.stop == Stop::Lever { "a lever for STOP and RUN" } else { "RUN" };
        self.row("levers and keys", &format!("{} address switches; {}, {stop}", panel.switches, keys.join(", ")));
        if let Some(port) = machine.sense_port {
            self.row("sense switches", &format!("read at port {}", panel.notation.byte(port)));
        }
    }

    /// All addresses: what answers there, and where nothing does.
    fn memory(&mut self) {
        let machine = &self.plan.machine;
        self.flow.heading("Memory");
        if machine.memory.is_empty() {
            return self.flow.paragraph("The machine file does not say where memory is.");
        }
        let ram = machine.memory.iter().map(|it| (it.base.index(), it.base.index() + it.size - 1, "RAM".to_owned()));
        let sockets = machine.sockets.iter();
        let sockets = sockets.map(|it| (it.range().start, it.range().end - 1, format!("socket {}", it.name)));
        let mut regions: Vec<_> = ram.chain(sockets).collect();
        regions.sort();
        let (mut next, mut rows) = (0, Vec::new());
        for (first, last, name) in regions {
            if next < first {
                rows.push((next, first - 1, "nothing answers".to_owned()));
            }
            rows.push((first, last, name));
            next = next.max(last + 1);
        }
        if next < MEMORY {
            rows.push((next, MEMORY - 1, "nothing answers".to_owned()));
        }
        for (first, last, name) in rows {
            let size = counted((last + 1 - first) as u64, "byte");
            self.row(&self.range(first, last), &format!("{name}, {size}{}", self.stages_in(first, last)));
        }
    }

    /// The programs that lie in a run of addresses.
    fn stages_in(&self, first: usize, last: usize) -> String {
        let lies = |extent: &crate::image::Extent| extent.base.index() <= last && extent.last().index() >= first;
        let mut told = String::new();
        for stage in &self.plan.stages {
            for extent in stage.image.extents().filter(lies) {
                told += &format!("; {} at {}", stage.name, self.range(extent.base.index(), extent.last().index()));
            }
        }
        told
    }

    /// The stacks that the rehearsals saw.
    fn stacks(&mut self, rehearsed: &[Outcome]) {
        let notation = self.plan.machine.panel.notation;
        let mut told: Vec<(String, String)> = Vec::new();
        for stage in rehearsed.iter().flat_map(|outcome| &outcome.stages) {
            let Some(stack) = stage.stack else { continue };
            let row = (format!("stack of {}", stage.name), stack.words(notation));
            if !told.contains(&row) {
                told.push(row);
            }
        }
        told.iter().for_each(|(name, words)| self.row(name, words));
    }

    fn sockets(&mut self) {
        let (plan, notation) = (self.plan, self.plan.machine.panel.notation);
        if plan.machine.sockets.is_empty() {
            return;
        }
        self.flow.heading("Sockets");
        for (number, socket) in plan.machine.sockets.numbered() {
            let stages = plan.stages.iter().filter(|stage| stage.home.sockets().contains(&number));
            let names: Vec<_> = stages.map(|stage| stage.name.as_str()).collect();
            let holds = if names.is_empty() { "nothing of this chain".into() } else { names.join(", ") };
            let told = format!("{} at {}: {holds}", socket.part.name, socket.place(notation));
            self.row(&socket.name, &told);
        }
    }

    fn chips(&mut self) {
        let machine = &self.plan.machine;
        if machine.serial.is_empty() && machine.drives.is_empty() {
            return;
        }
        self.flow.heading("Chips");
        for serial in &machine.serial {
            let told = self.serial(serial);
            self.row(&serial.name, &told);
        }
        for drive in &machine.drives {
            let chip = match drive.controller {
                DriveController::Wired(_) => "disk drive, hard-wired",
                DriveController::Chip(_) => "disk drive, FD1771",
            };
            let (reads, writes) = (self.bytes(&drive.controller.inputs()), self.bytes(&drive.controller.outputs()));
            self.row(&drive.name, &format!("{chip}; read at {reads}; written at {writes}"));
        }
    }

    fn serial(&self, serial: &Serial) -> String {
        let chip = match serial.chip {
            Chip::Mc6850 => "MC6850",
            Chip::I8251 => "Intel 8251",
            Chip::Uart(_) => "UART",
        };
        let line = serial.line.map(|line| format!(", {line}")).unwrap_or_default();
        let byte = |port| self.plan.machine.panel.notation.byte(port);
        let received = serial.received();
        let bit = if received == 0 { String::new() } else { format!(" (bit {}: received)", received.trailing_zeros()) };
        format!("{chip}{line}; status port {}{bit}, data port {}", byte(serial.status), byte(serial.data))
    }

    fn bytes(&self, ports: &[u8]) -> String {
        let notation = self.plan.machine.panel.notation;
        let ports: Vec<_> = ports.iter().map(|&port| notation.byte(port).to_string()).collect();
        format!("port{} {}", if ports.len() == 1 { "" } else { "s" }, ports.join(", "))
    }

    fn ports(&mut self) {
        let ports = &self.plan.machine.ports;
        if ports.inputs.is_empty() && ports.outputs.is_empty() {
            return;
        }
        self.flow.heading("Ports");
        for (way, list) in [("IN", &ports.inputs), ("OUT", &ports.outputs)] {
            for (&number, port) in list {
                let name = format!("{way} {}", self.plan.machine.panel.notation.byte(number));
                self.row(&name, &port_words(port));
            }
        }
    }
}

/// What a port is, with its bits.
fn port_words(port: &Port) -> String {
    match port.bit_words() {
        bits if bits.is_empty() => port.name.clone(),
        bits => format!("{}; bits: {bits}", port.name),
    }
}
