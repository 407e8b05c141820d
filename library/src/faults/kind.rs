//! The kinds of faults, one row each: what goes wrong, whose it is, how common it is, and what would find it.

use serde::{Deserialize, Serialize};

/// Whose a fault is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// The hand's at the panel.
    Hand,
    /// The machine's.
    Machine,
    /// The tape's.
    Tape,
    /// The line's.
    Line,
    /// The disk's or its drive's.
    Disk,
}

impl Group {
    /// Of what it is, in a word.
    pub const fn name(self) -> &'static str {
        match self {
            Group::Hand => "hand",
            Group::Machine => "machine",
            Group::Tape => "tape",
            Group::Line => "line",
            Group::Disk => "disk",
        }
    }
}

macro_rules! kinds {
    ($($(#[doc = $doc:literal])+ $kind:ident: $group:ident, $weight:literal, $name:literal, $finds:literal, $mend:literal;)+) => {
        /// What goes wrong.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum Kind { $($(#[doc = $doc])+ $kind,)+ }

        impl Kind {
            /// All of them, in the order in which they are told.
            pub const ALL: &'static [Kind] = &[$(Kind::$kind),+];

            /// Whose it is.
            pub const fn group(self) -> Group {
                match self { $(Kind::$kind => Group::$group,)+ }
            }

            /// How common it is: of a thousand starts that do not go as they should, in so many it is one of this kind. Common
            /// practice, and no measurement; what is said with it is an order, not a chance.
            pub const fn weight(self) -> u32 {
                match self { $(Kind::$kind => $weight,)+ }
            }

            /// What it is called.
            pub const fn name(self) -> &'static str {
                match self { $(Kind::$kind => $name,)+ }
            }

            /// What finds it before the machine is trusted.
            pub const fn finds(self) -> &'static str {
                match self { $(Kind::$kind => $finds,)+ }
            }

            /// What mends it.
            pub const fn mend(self) -> &'static str {
                match self { $(Kind::$kind => $mend,)+ }
            }
        }
    };
}

kinds! {
    /// A lever of a data byte.
    DataLever: Hand, 120, "a data lever wrong", "the CHECK rows of the sheet: compare every byte, tick it",
        "deposit the byte again, and compare every CHECK row";
    /// A lever of an address.
    AddressLever: Hand, 40, "an address lever wrong", "the CHECK rows of the sheet, and the address at the end of each block",
        "bring the address up again, deposit the block again, and compare every CHECK row";
    /// A row of the sheet is left out.
    LeftOut: Hand, 70, "a row left out", "the CHECK rows of the sheet; a tick on every row",
        "deposit the block again from that row on, and compare every CHECK row";
    /// A row of the sheet is done twice.
    Twice: Hand, 40, "a row done twice", "the address at the end of each block of the sheet",
        "deposit the block again from that row on, and compare every CHECK row";
    /// Two neighbouring rows are done in the other order.
    Exchanged: Hand, 15, "two rows changed over", "the CHECK rows of the sheet",
        "do the two rows again in the order of the sheet";
    /// A lever of the entry address.
    EntryLever: Hand, 20, "the entry address wrong", "the address lights before RUN",
        "EXAMINE the entry again and compare the address lights, then RUN";
    /// RUN without EXAMINE before it.
    NotExamined: Hand, 30, "RUN without EXAMINE", "the address lights before RUN",
        "EXAMINE the entry, then RUN";
    /// A sense switch.
    SenseLever: Hand, 50, "a sense switch wrong", "the levers, against the drawing of them on the sheet, before RUN",
        "set the sense switches as the sheet draws them, and start again";
    /// It is started again in memory that the first attempt has changed.
    SecondAttempt: Hand, 60, "started again without depositing again", "the CHECK rows of the sheet, once more before the second RUN",
        "deposit again what the first attempt has changed, compare the CHECK rows, and start again";
    /// A lever that makes no contact, or always does.
    LeverStuck: Machine, 25, "a lever stuck", "EXAMINE of an address and its complement, and DEPOSIT of 000 and 377, before the sheet",
        "clean or replace the lever; until then deposit with a loader that does not need it";
    /// A data line that is always high or always low.
    DataStuck: Machine, 12, "a data line stuck", "DEPOSIT of 000 and 377, and a look at them",
        "with the power off look for a bent pin, a bridge, a driver that holds the line";
    /// An address line that is always high or always low.
    AddressStuck: Machine, 12, "an address line stuck", "different bytes at addresses that differ in one bit, and a look at all of them",
        "with the power off look for a bent pin, a bridge, a driver that holds the line";
    /// Two data lines that lead to each other's places.
    DataCrossed: Machine, 4, "two data lines crossed", "a byte with a single one read from a ROM or a port that is known",
        "with the power off compare the wiring of the two lines with the drawing";
    /// Two address lines that lead to each other's places.
    AddressCrossed: Machine, 4, "two address lines crossed", "a ROM that is known, read at addresses with a single one",
        "with the power off compare the wiring of the two lines with the drawing";
    /// Two data lines that touch; the low one wins.
    DataTouching: Machine, 8, "two data lines touching", "DEPOSIT of bytes with a single one, and a look at them",
        "with the power off look for a bridge between the two lines";
    /// Two address lines that touch; the low one wins.
    AddressTouching: Machine, 8, "two address lines touching", "different bytes at addresses with a single one, and a look at all of them",
        "with the power off look for a bridge between the two lines";
    /// A bit of memory that does not change.
    CellStuck: Machine, 30, "a bit of memory stuck", "a test of memory before the start; EXAMINE of what was loaded",
        "change the memory part over with another; if the fault goes along, replace it";
    /// A bit of a status port that means the other thing.
    StatusTurned: Machine, 20, "a status bit the other way round", "the status port, single-stepped with a silent line",
        "compare the polarity of the bit in the machine file with the board and with what the loader tests";
    /// Two bits of a status port that are changed over.
    StatusCrossed: Machine, 15, "a status bit on its neighbour's place", "the status port, single-stepped with and without a character",
        "compare the place of the bit in the machine file with the board and with what the loader tests";
    /// The ports of status and data are changed over.
    PortsExchanged: Machine, 15, "status and data ports changed over", "the status port, single-stepped with a silent line",
        "compare the two ports in the machine file with the board's straps";
    /// A serial chip is not seated.
    ChipAbsent: Machine, 10, "a serial chip absent", "the status port, single-stepped: it reads 377",
        "with the power off seat the card or the chip, and look at its address straps";
    /// A cell of a ROM that reads as if it had not been programmed.
    RomBit: Machine, 20, "a ROM bit not programmed", "reading the part back and `coldwright compare`",
        "read the part back, erase it, and program it again";
    /// The halves of a ROM are changed over.
    RomHalves: Machine, 8, "the halves of a ROM changed over", "EXAMINE of the first bytes of the socket",
        "look at the highest address line of the socket, or program the part with its halves in order";
    /// A part lies in the other seat.
    RomExchanged: Machine, 8, "two ROM parts changed over", "the labels; EXAMINE of the first bytes of each socket",
        "with the power off change the two parts over";
    /// A part is not seated.
    RomAbsent: Machine, 10, "a ROM part absent", "EXAMINE of the first bytes of the socket: 377",
        "with the power off seat the part, pin 1 as it is marked";
    /// The clock of the processor is off.
    Clock: Machine, 10, "the clock off", "a counter or an oscilloscope at the clock",
        "measure the clock, and mend or replace its crystal or network";
    /// A frame with one bit wrong.
    FrameBit: Tape, 100, "a frame with a bit wrong", "a check over all that the framing carries, and a loader that heeds it",
        "rewind and read again; if it comes again, clean reader and tape, and cut the tape anew";
    /// A frame is missing.
    FrameLost: Tape, 50, "a frame lost", "a check that sees lost frames, as a CRC does and a sum may not, and a loader that heeds it",
        "rewind and read again; if it comes again, cut the tape anew";
    /// A frame stands there twice.
    FrameTwice: Tape, 20, "a frame doubled", "a check that sees doubled frames, as a CRC does and a sum may not, and a loader that heeds it",
        "rewind and read again; if it comes again, look at the reader's feed, and cut the tape anew";
    /// A block is missing.
    BlockMissing: Tape, 20, "a block missing", "a framing that numbers its blocks, and a loader that heeds the numbers",
        "cut the tape anew, and read it back with `coldwright tape read`";
    /// The tape is running before the loader listens.
    Early: Tape, 40, "the tape started early", "the order of the run card: RUN first",
        "rewind; RUN first, then start the tape";
    /// The tape is started late.
    Late: Tape, 30, "the tape started late", "nothing needs to: a loader waits",
        "rewind, and start the tape when the run card says so";
    /// Another tape of the chain.
    OtherTape: Tape, 30, "the wrong tape", "what is written on the tape",
        "put in the tape that the run card names";
    /// A tape with nothing but its leader.
    BlankTape: Tape, 20, "a blank tape, or the side with nothing on it", "`coldwright tape read`, or an ear",
        "turn the cassette over, or put in the tape that the run card names";
    /// The tape lies in the reader the other way up, so that its tracks are changed over.
    TurnedOver: Tape, 20, "the tape turned over", "the feed holes: three tracks on one side of them, five on the other",
        "put the tape in with its three tracks on the side that the reader asks for";
    /// The tape is read from its end.
    Backwards: Tape, 10, "the tape from its end", "the lettering or the arrow at its beginning",
        "wind the tape to its other end";
    /// The sender's speed is another.
    Speed: Line, 60, "the speed of the line wrong", "the sender's switches, against the machine file",
        "set the sender to the speed of the machine file";
    /// The sender adds a parity bit, or leaves it out.
    LineParity: Line, 30, "parity wrong", "the sender's switches, against the machine file",
        "set the sender to the parity of the machine file";
    /// The sender's stop bits are others.
    StopBits: Line, 15, "stop bits wrong", "the sender's switches, against the machine file",
        "set the sender to the stop bits of the machine file";
    /// The sender's data bits are others.
    DataBits: Line, 15, "data bits wrong", "the sender's switches, against the machine file",
        "set the sender to the data bits of the machine file";
    /// A sector holds a wrong bit.
    SectorBad: Disk, 40, "a sector bad", "`coldwright disk read` of a copy; a layout with a check over all of a sector",
        "read again; if it comes again, write the disk anew from its file";
    /// The door is open, or opened meanwhile.
    DoorOpen: Disk, 30, "the door open", "a look at the drive",
        "close the door, and start again";
    /// Another disk lies in the drive.
    OtherDisk: Disk, 30, "the wrong disk", "what is written on the disk",
        "put in the disk that the run card names";
    /// The head takes longer to rest than is said.
    HeadUnsettled: Disk, 15, "the head not settled", "a longer time in the loader; the drive's own adjustment",
        "lengthen the times in the loader, and have the drive adjusted by somebody who knows how";
    /// The disk turns at another speed.
    TurnsOff: Disk, 10, "the drive too fast or too slow", "a stroboscope disk",
        "have the speed adjusted with a stroboscope disk";
}
