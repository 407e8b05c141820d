//! The framing `bare` does what its file says: the key-in loader that it is made for reads it from anywhere in the
//! leader, in any page, with and without a chip to set up, and starts what it loaded.

use coldwright::cpu::{Bus, Cpu};
use coldwright::image::Image;
use coldwright::isa::{Pair, Register};
use coldwright::notation::{Address, Notation};
use coldwright::source::{Origin, Position, SourceMap};
use coldwright::tape::framing::{Program, bundled, encode};
use proptest::collection::vec;
use proptest::prelude::*;

const STATUS: u8 = 0o211;
const DATA: u8 = 0o210;
const READY: u8 = 0o100;

/// The loader as the framing's file shows it: 17 bytes at 010, or with eight bytes before them that set a chip up.
fn loader(page: u8, ready_is_low: bool, sets_up: bool) -> (u8, Vec<u8>) {
    let poll = if ready_is_low { 0o302 } else { 0o312 };
    #[rustfmt::skip]
    let read = [
        0o041, 0o013, page,   //         LXI  H,STEP
        0o000,                // STEP:   NOP
        0o333, STATUS,        // POLL:   IN   STATUS
        0o346, READY,         //         ANI  READY
        poll, 0o014, page,    //         JZ   POLL
        0o333, DATA,          //         IN   DATA
        0o167,                //         MOV  M,A
        0o303, 0o013, page,   //         JMP  STEP
    ];
    #[rustfmt::skip]
    let set_up = [
        0o076, 0o003,         //         MVI  A,3      ; master reset
        0o323, STATUS,        //         OUT  STATUS
        0o076, 0o021,         //         MVI  A,21Q    ; 8 data, 2 stop bits
        0o323, STATUS,        //         OUT  STATUS
    ];
    if sets_up { (0, [&set_up[..], &read].concat()) } else { (0o010, read.to_vec()) }
}

/// Memory of noise, and a tape behind a port that is ready now and then.
struct Board {
    memory: Vec<u8>,
    tape: std::vec::IntoIter<u8>,
    ready_is_low: bool,
    polls: u32,
    outputs: Vec<u8>,
}

impl Bus for Board {
    fn read(&mut self, address: u16) -> u8 {
        self.memory[usize::from(address)]
    }

    fn write(&mut self, address: u16, byte: u8) {
        self.memory[usize::from(address)] = byte;
    }

    fn input(&mut self, port: u8) -> u8 {
        if port == DATA {
            return self.tape.next().expect("the loader reads past the end of the tape");
        }
        self.polls += 1;
        let ready = self.polls.is_multiple_of(3);
        // The other bits of the status say nothing.
        let noise = (self.polls as u8).wrapping_mul(37) & !READY;
        if ready != self.ready_is_low { noise | READY } else { noise }
    }

    fn output(&mut self, port: u8, byte: u8) {
        assert_eq!(port, STATUS);
        self.outputs.push(byte);
    }
}

fn stage(page: u8, low: &[u8], high: &[u8], entry: u8) -> Image {
    let made_by = Position { source: SourceMap::default().add("made up", "", Origin::Given), offset: 0 };
    let page = u16::from(page) << 8;
    let mut image = Image::default();
    image.insert(Address(page), low, made_by).unwrap();
    image.insert(Address(page + 0o031), high, made_by).unwrap();
    image.entry = Some(Address(page + u16::from(entry)));
    image
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn the_loader_starts_anywhere_in_the_leader_and_enters_the_stage(
        page in any::<u8>(),
        low in vec(any::<u8>(), 0..=10),
        high in vec(any::<u8>(), 1..=231),
        entry in any::<prop::sample::Index>(),
        skipped in 0..120usize,
        (ready_is_low, sets_up) in any::<(bool, bool)>(),
        (noise, registers) in any::<(u8, [u16; 4])>(),
    ) {
        let entry = 0o031 + entry.index(high.len()) as u8;
        let image = stage(page, &low, &high, entry);
        let program = Program { name: "courier", image: &image, lettering: "COURIER" };
        let tape = encode(&bundled("bare").unwrap(), &[program], Notation::default()).unwrap();
        let leader = tape.pieces.iter().find(|piece| piece.range.len() == 120).unwrap().range.start;
        let tape = tape.bytes[leader + skipped..].to_vec();
        let memory: Vec<u8> = (0..0x1_0000u32).map(|at| ((at * 97) >> 3) as u8 ^ noise).collect();
        let mut board = Board { memory, tape: tape.into_iter(), ready_is_low, polls: 0, outputs: Vec::new() };
        let (start, loader) = loader(page, ready_is_low, sets_up);
        prop_assert_eq!(loader.len(), if sets_up { 25 } else { 17 });
        let base = usize::from(page) << 8;
        board.memory[base + usize::from(start)..][..loader.len()].copy_from_slice(&loader);
        let before = board.memory.clone();
        let mut cpu = Cpu::default();
        for (pair, value) in [Pair::B, Pair::D, Pair::H].into_iter().zip(registers) {
            cpu.registers.set_pair(pair, value);
        }
        cpu.registers.set(Register::A, noise);
        cpu.registers.sp = registers[3];
        cpu.registers.pc = base as u16 + u16::from(start);
        let (goal, mut steps) = (base as u16 + u16::from(entry), 0);
        while cpu.registers.pc != goal {
            cpu.step(&mut board);
            steps += 1;
            prop_assert!(steps < 20_000, "the stage is never entered: {:?}", cpu.registers);
        }
        // All of the stage is there, the trailer is not yet read, and nothing else was touched.
        prop_assert_eq!(board.tape.len(), 60);
        prop_assert_eq!(&board.memory[base..base + low.len()], &low[..]);
        prop_assert_eq!(&board.memory[base + 0o031..base + 0o031 + high.len()], &high[..]);
        let elsewhere = |at: usize| at < base || at >= base + 0x100;
        prop_assert!((0..0x1_0000).filter(|&at| elsewhere(at)).all(|at| board.memory[at] == before[at]));
        // The stage can prove itself: 000 to 012 and 027 to 377 sum to zero.
        let sum = (0..=0o012).chain(0o027..=0o377).fold(0u8, |sum, at| sum.wrapping_add(board.memory[base + at]));
        prop_assert_eq!(sum, 0);
        prop_assert_eq!(board.outputs, if sets_up { vec![0o003, 0o021] } else { Vec::new() });
    }
}
