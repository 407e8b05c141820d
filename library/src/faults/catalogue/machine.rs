//! What can be wrong with the machine.

use std::collections::BTreeSet;

use super::list::List;
use crate::faults::fault::{LeverBank, RomWrong, Wrong};
use crate::faults::good::Good;
use crate::faults::kind::Kind;
use crate::faults::scene::Scene;
use crate::faults::wires::{Defect, StuckBit};
use crate::isa::TStates;
use crate::notation::Address;
use crate::panel::{DataLevers, SenseLevers};

/// Each lever, both ways.
pub fn levers(scene: &Scene, list: &mut List) {
    let panel = &scene.panel;
    let mut banks = vec![(LeverBank::Address, panel.switches)];
    banks.extend((panel.data == DataLevers::Own).then_some((LeverBank::Data, 8)));
    banks.extend((panel.senses && panel.sense == SenseLevers::Own).then_some((LeverBank::Sense, 8)));
    for (bank, count) in banks {
        for lever in 0..count {
            [false, true].into_iter().for_each(|up| list.add(Kind::LeverStuck, Wrong::Lever { bank, lever, up }));
        }
    }
}

/// Data and address lines: stuck, crossed, touching.
pub fn lines(list: &mut List) {
    type Of = fn(Defect) -> Wrong;
    let groups: [(u8, Of, [Kind; 3]); 2] = [
        (8, Wrong::Data, [Kind::DataStuck, Kind::DataCrossed, Kind::DataTouching]),
        (16, Wrong::Address, [Kind::AddressStuck, Kind::AddressCrossed, Kind::AddressTouching]),
    ];
    for (count, of, [stuck, crossed, touching]) in groups {
        for line in 0..count {
            [false, true].into_iter().for_each(|high| list.add(stuck, of(Defect::Stuck { line, high })));
        }
        (0..count - 1).for_each(|line| list.add(crossed, of(Defect::Crossed(line))));
        (0..count - 1).for_each(|line| list.add(touching, of(Defect::Touching(line))));
    }
}

/// Each bit of memory that belongs to the chain, the other way than it should be in the end; and each bit of what is used
/// besides, such as the stack, both ways.
pub fn cells(good: &Good, list: &mut List) {
    let memory = &good.entry().machine.board.memory;
    let chain: BTreeSet<_> = good.chain.iter().copied().collect();
    let mut add = |address, bit, one| list.add(Kind::CellStuck, Wrong::Cell(StuckBit { address, bit, one }));
    for &address in chain.iter().filter(|&&address| memory.is_ram(address)) {
        (0..8).for_each(|bit| add(address, bit, memory.byte(address) >> bit & 1 == 0));
    }
    let used = (0..=u16::MAX).map(Address).filter(|&at| good.way.first(at) != TStates(u64::MAX) && memory.is_ram(at));
    for address in used.filter(|address| !chain.contains(address)).take(MOST_CELLS) {
        (0..8).for_each(|bit| [false, true].into_iter().for_each(|one| add(address, bit, one)));
    }
}

/// The most cells beside the chain's own whose bits are tried.
const MOST_CELLS: usize = 64;

/// The serial chips of the start's tapes and of all that is sent.
pub fn chips(scene: &Scene, list: &mut List) {
    for serial in 0..scene.stands[0].setup.serial.len() {
        (0..8).for_each(|bit| list.add(Kind::StatusTurned, Wrong::StatusTurned { serial, bit }));
        (0..7).for_each(|bit| list.add(Kind::StatusCrossed, Wrong::StatusCrossed { serial, bits: (bit, bit + 1) }));
        list.add(Kind::PortsExchanged, Wrong::Ports { serial });
        list.add(Kind::ChipAbsent, Wrong::Absent { serial });
    }
}

/// The ROMs that are seated in the start.
pub fn roms(scene: &Scene, list: &mut List) {
    let sockets = &scene.sockets;
    let rom = &scene.stands[0].setup.rom;
    for (number, socket) in sockets.iter().enumerate() {
        let erased = socket.erased_byte();
        let seated = &rom[number];
        let chain = scene.chain();
        for (offset, byte) in seated.1.iter().enumerate() {
            let address = seated.0.wrapping_add(offset as u16);
            if chain.binary_search(&address).is_err() {
                continue;
            }
            let programmed = byte ^ erased;
            for bit in (0..8).filter(|bit| programmed >> bit & 1 == 1) {
                list.add(Kind::RomBit, Wrong::Rom(RomWrong::Bit { address, bit }));
            }
        }
    }
    let seats: Vec<_> = sockets
        .iter()
        .enumerate()
        .flat_map(|(number, socket)| (0..socket.seats().len()).map(move |seat| (number, seat)))
        .collect();
    for (number, &(socket, seat)) in seats.iter().enumerate() {
        list.add(Kind::RomHalves, Wrong::Rom(RomWrong::Halves { socket, seat }));
        for &other in &seats[number + 1..] {
            if sockets[socket].part == sockets[other.0].part {
                list.add(Kind::RomExchanged, Wrong::Rom(RomWrong::Exchanged { one: (socket, seat), other }));
            }
        }
    }
    (0..sockets.len()).for_each(|socket| list.add(Kind::RomAbsent, Wrong::Rom(RomWrong::Absent { socket })));
}

/// By how many thousandths the clock is off.
const OFF: [i32; 8] = [-100, -50, -30, -10, 10, 30, 50, 100];

/// The clock, a few per cent off.
pub fn clock(list: &mut List) {
    OFF.into_iter().for_each(|per_mille| list.add(Kind::Clock, Wrong::Clock { per_mille }));
}
