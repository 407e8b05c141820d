//! What can hurt, in one table: sheets, cards, labels, commands and the guide take their words from here.
//!
//! These are the usual cautions of the trade. Local electrical codes, the maker's own sheet and qualified people come
//! before all of them. Where a figure is published, [`SOURCES`] names the document.

use std::fmt::Write;

/// Where a caution stands: a section of the guide, and the word beside it on paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Topic {
    /// What ports drive.
    Outputs,
    /// Mains, earth, the first power-on.
    Power,
    /// What is heavy, and what lies inside.
    Cabinet,
    /// Seating and drawing.
    Parts,
    /// Ultraviolet light.
    Erasers,
    /// Voltages of a programmer.
    Programming,
    /// The wires of a serial line.
    Line,
    /// Levels and hearing.
    Sound,
}

/// What is being done when a caution applies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// A machine of that age is moved, opened or switched on.
    Machine,
    /// A program is deposited at the panel and started.
    Deposit,
    /// A program is stepped at the panel.
    Step,
    /// A part, a card or a cable is seated or drawn.
    Seat,
    /// A part is erased by light.
    Erase,
    /// A part is programmed.
    Program,
    /// ... of which a fuse is blown.
    Fuse,
    /// ... whose number has versions with other voltages.
    Versions,
    /// A part has three supplies.
    ThreeSupplies,
    /// A serial line is connected, or something is sent on it.
    Line,
    /// A recording is played or made.
    Sound,
}

/// One caution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caution {
    /// Where it stands.
    pub topic: Topic,
    /// When it applies.
    pub when: When,
    /// For paper and the terminal: as short as can be understood.
    pub short: &'static str,
    /// For the guide, in Markdown.
    pub long: &'static str,
}

impl Topic {
    /// All topics, in the order of the guide.
    pub const ALL: [Topic; 8] = [
        Topic::Outputs,
        Topic::Power,
        Topic::Cabinet,
        Topic::Parts,
        Topic::Erasers,
        Topic::Programming,
        Topic::Line,
        Topic::Sound,
    ];

    /// The word beside it on paper.
    pub fn word(self) -> &'static str {
        match self {
            Topic::Outputs => "outputs",
            Topic::Power => "power",
            Topic::Cabinet => "cabinet",
            Topic::Parts => "parts",
            Topic::Erasers => "erasers",
            Topic::Programming => "programming",
            Topic::Line => "line",
            Topic::Sound => "sound",
        }
    }

    /// Its heading in the guide.
    fn heading(self) -> &'static str {
        match self {
            Topic::Outputs => "Outputs, and machines that move",
            Topic::Power => "Power",
            Topic::Cabinet => "The cabinet and what is in it",
            Topic::Parts => "Parts, cards and cables",
            Topic::Erasers => "EPROM erasers",
            Topic::Programming => "Programming parts",
            Topic::Line => "Serial lines",
            Topic::Sound => "Sound",
        }
    }
}

/// Every caution, topic by topic.
pub const CAUTIONS: &[Caution] = &[
    Caution {
        topic: Topic::Outputs,
        when: When::Machine,
        short: "Before power comes on, disconnect or block what outputs drive: memory holds noise, and noise writes to any port.",
        long: "**Before power comes on, disconnect or block what the outputs drive**: strikers, motors, heaters, valves. \
               Memory holds noise at power-on, a port may come up in any state, and a processor that runs noise can write \
               to any of them.",
    },
    Caution {
        topic: Topic::Outputs,
        when: When::Machine,
        short: "A rehearsal makes nothing safe: people clear, and a switch at hand that cuts off what moves.",
        long: "**Never rely on a simulation where a machine drives something that can hurt.** A rehearsal says what the \
               bytes do in a machine as it was described. Keep people clear, and within reach a switch that removes the \
               power of what moves, until the program is proven at the machine. What must not happen must be prevented \
               outside the computer.",
    },
    Caution {
        topic: Topic::Outputs,
        when: When::Deposit,
        short: "Before RUN: outputs disconnected or blocked. One byte set wrong can write to any port.",
        long: "**RUN starts what was deposited, right or wrong.** One byte set wrong makes another program, and a program \
               that runs wild writes to any port. What the outputs drive stays disconnected or blocked for the first run.",
    },
    Caution {
        topic: Topic::Outputs,
        when: When::Step,
        short: "Stepping executes: at an OUT, what its port drives may move and stay on. Disconnect or block it first.",
        long: "**Single stepping executes.** At an `OUT` the port takes its byte, what it drives may move, and it stays as \
               it is for as long as you look at the lights: a coil that is made for a pulse burns. Disconnect or block it \
               before the first step.",
    },
    Caution {
        topic: Topic::Power,
        when: When::Machine,
        short: "Mains inside, and charge after the plug is out. Covers on; work inside is for qualified people.",
        long: "Old power supplies carry **mains voltage** on open terminals, and their capacitors hold a charge after the \
               plug is out. Unplug, wait, and measure before reaching in. Do not work alone on an open supply. Work on mains \
               circuits is for qualified people, by the local electrical code.",
    },
    Caution {
        topic: Topic::Power,
        when: When::Machine,
        short: "Protective earth whole and tested, on everything plugged in.",
        long: "**Protective earth.** A metal cabinet is safe only while its earth is whole. Old cords have lost it, or have \
               wires of other colours than today's. Have the earth of everything that is plugged in tested by a qualified \
               person before the first power-on, and never lift it to cure a hum.",
    },
    Caution {
        topic: Topic::Power,
        when: When::Machine,
        short: "Off for years: old capacitors burst and burn. Have them tested or reformed, power brought up in stages behind a \
                current limit, never unattended.",
        long: "**The first power-on after years** is work of its own. Electrolytic capacitors age without being used: with \
               the full voltage at once they leak, burst or catch fire, and so do old capacitors across the mains. Have a \
               qualified person inspect the supply, and test, replace or reform them: the voltage is raised slowly, behind \
               a current limit. Then go in stages: the supply alone, every card drawn, on a load that draws what it needs, \
               its voltages measured; then one card after the other. A variable transformer limits no current and isolates \
               nothing. Never leave the machine unattended, know the switch that cuts the mains, and keep an extinguisher \
               for electrical fires within reach.",
    },
    Caution {
        topic: Topic::Cabinet,
        when: When::Machine,
        short: "Picture tubes hold high voltage when off, and implode: leave them closed.",
        long: "**Picture tubes** of terminals and monitors hold thousands of volts long after they are off, and implode \
               when they are struck or scratched. Leave them closed; discharging one is for qualified people.",
    },
    Caution {
        topic: Topic::Cabinet,
        when: When::Machine,
        short: "Leaked batteries burn skin and eyes.",
        long: "**Batteries** that kept memory or a clock leak acid or lye, which burns skin and eyes and eats boards. Wear \
               gloves and goggles, do not charge or short what has leaked, and hand it in where your community collects \
               batteries. Charging lead cells give off hydrogen: ventilate.",
    },
    Caution {
        topic: Topic::Cabinet,
        when: When::Machine,
        short: "Heavy: two people lift.",
        long: "**Weight.** Transformers make a small cabinet heavy. Two people lift; secure a rack before anything is \
               drawn out of it, or it tips.",
    },
    Caution {
        topic: Topic::Cabinet,
        when: When::Machine,
        short: "Do not drill, brush or open old pads, boards and capacitors: asbestos, PCB.",
        long: "**Asbestos and PCB.** Heat shields, pads and gaskets of the time may hold asbestos, and oil-filled \
               capacitors PCB. Do not drill, sand, brush, blow or open them, do not touch what leaks, and leave their \
               removal to those who are licensed for it.",
    },
    Caution {
        topic: Topic::Parts,
        when: When::Seat,
        short: "Power off, plug out, and wait until every supply has fallen, before a part, a card or a cable is seated or \
                drawn. Find pin 1 twice: the wrong way round destroys.",
        long: "**Switch off, unplug, and wait until every supply has fallen** before seating or drawing a part, a card or a \
               cable. A board pulled live can take its neighbours along. Find pin 1 twice: a part with three supplies \
               seated the wrong way round has +12 V across its logic and is usually destroyed.",
    },
    Caution {
        topic: Topic::Parts,
        when: When::Seat,
        short: "Static kills: wear a wrist strap, keep parts in conductive foam.",
        long: "**Static.** Wear a wrist strap, touch the chassis first, and keep parts in conductive foam; plain foam is no \
               protection.",
    },
    Caution {
        topic: Topic::Parts,
        when: When::ThreeSupplies,
        short: "Three supplies: -5 V comes on first and goes off last.",
        long: "**Three supplies** (2704, 2708, TMS2716): -5 V comes on first and goes off last. Without it the part may be \
               destroyed.",
    },
    Caution {
        topic: Topic::Erasers,
        when: When::Erase,
        short: "Half a second at an eraser's ultraviolet lamp is all that eyes and skin may have in a day: keep it \
                enclosed and interlocked. Cover the window once the part is programmed.",
        long: "The lamp's short-wave **ultraviolet light injures eyes and skin**: at the distance at which it erases, the \
               limit for a working day is reached in half a second, and you do not feel it while it happens. Erasing itself \
               takes minutes: 21 at that distance for a dose of 15 watt-seconds a square centimetre. Use an eraser that is \
               enclosed and has an interlock. Ordinary glass stops this light; quartz does not.",
    },
    Caution {
        topic: Topic::Erasers,
        when: When::Erase,
        short: "Eraser tubes hold mercury and some make ozone: ventilate, and do not break them.",
        long: "The tubes hold **mercury**, and some make ozone: ventilate, and do not break them.",
    },
    Caution {
        topic: Topic::Erasers,
        when: When::Erase,
        short: "Check that an erased part reads blank, and read it again when its label is on.",
        long: "Cover the window of a programmed part with an **opaque label**: room light erases over years, sunlight in \
               days. Incomplete erasure makes bits that change with warmth or supply: check that a part reads blank, and \
               read it again after the label is on.",
    },
    Caution {
        topic: Topic::Programming,
        when: When::Program,
        short: "Programming voltages can hurt people and destroy parts; leave them to a programmer made for this very part \
                and to qualified people.",
        long: "Early parts are programmed with **high voltages**, some with tens of volts below ground. Use a programmer \
               made for the very part, and leave old high-voltage ones to qualified people. Take voltages and the order of \
               supplies from the maker's own sheet; the figures here are reminders, not instructions.",
    },
    Caution {
        topic: Topic::Programming,
        when: When::Versions,
        short: "Read the suffix: VPP for one version destroys another.",
        long: "**Read the exact part number with its suffix**: 25 V destroys a part made for 21 V or 12.5 V. The same number \
               is not the same part: a TMS2716 has three supplies and does not take the place of a 2716.",
    },
    Caution {
        topic: Topic::Programming,
        when: When::Fuse,
        short: "A blown fuse does not come back: compare the file and the label before programming.",
        long: "**A blown fuse does not come back.** Compare file, label and part before programming.",
    },
    Caution {
        topic: Topic::Line,
        when: When::Line,
        short: "RS-232 and current loops carry voltages that destroy TTL inputs: know both ends before the cable is plugged, \
                with both ends off.",
        long: "**Levels.** RS-232 swings up to 25 V to either side of ground, and a current loop may be fed from far more: \
               either destroys an input made for 5 V, and the wires of a loop can give a shock. Know what both ends are, use \
               a converter made for the two, and plug cables with both ends switched off.",
    },
    Caution {
        topic: Topic::Line,
        when: When::Line,
        short: "The far end may move: what it prints, punches or drives starts with the first character.",
        long: "**The far end may move.** Printers, punches and readers start with a character, and a program that is loaded \
               over the line may drive anything: keep fingers, hair and sleeves clear, and see what is connected there \
               before you send.",
    },
    Caution {
        topic: Topic::Sound,
        when: When::Sound,
        short: "Start with the level at its lowest, raise it slowly, and wear no headphones.",
        long: "**Hearing.** A tape's tones are loud and steady. Never judge them with headphones on your ears, and turn the \
               volume of a player down before it is plugged in.",
    },
    Caution {
        topic: Topic::Sound,
        when: When::Sound,
        short: "From a line output to a microphone input only through a lead that attenuates.",
        long: "**Levels.** A line or headphone output drives a cassette or microphone input far too hard, and an old input \
               may not stand a direct voltage. Start with the level at its lowest and raise it until the tape reads, with a \
               lead that attenuates or isolates where the input is for a microphone. Switch mains-powered equipment off \
               while leads are changed.",
    },
];

/// Where the figures among the cautions come from.
pub const SOURCES: &str = "The limit for short-wave light is from the ICNIRP guidelines on ultraviolet radiation (Health \
                           Physics 87(2), 2004), from memory, and the times follow from it, and from the dose, at 12 \
                           milliwatts a square centimetre; the dose, and erasing by room light and sunlight, are from ST \
                           data sheet M27C1001, the order of \
                           supplies from Intel data sheet 2708, from memory; the levels of RS-232 are from EIA \
                           RS-232-C (1969), from memory. The rest is common practice.";

/// What comes before all of them, and stands above them.
pub const FIRST: &str = "local electrical codes and qualified people come before this page";

/// The cautions that apply when these things are done, in the order of the table.
///
/// ```
/// use coldwright::cautions::{When, applying};
/// assert!(applying(&[When::ThreeSupplies]).all(|caution| caution.short.contains("-5 V comes on first")));
/// ```
pub fn applying(done: &[When]) -> impl Iterator<Item = &'static Caution> {
    CAUTIONS.iter().filter(move |caution| done.contains(&caution.when))
}

/// The cautions that apply when these things are done, a line each, for the terminal.
pub fn lines(done: &[When]) -> String {
    applying(done).map(|caution| format!("caution: {}\n", caution.short)).collect()
}

/// The table as Markdown, for the guide.
pub fn to_markdown() -> String {
    let mut out = String::new();
    for topic in Topic::ALL {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "## {}", topic.heading());
        for caution in CAUTIONS.iter().filter(|caution| caution.topic == topic) {
            let _ = writeln!(out, "- {}", caution.long);
        }
        out.push('\n');
    }
    let _ = writeln!(out, "## Where these come from\n{SOURCES}");
    out
}
