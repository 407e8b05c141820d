//! The processor against `iz80`, an independent one, on the same program in the same run. Fails when the ratio of
//! instruction rates is below the budget.

use std::hint::black_box;
use std::time::{Duration, Instant};

use coldwright::cpu::{Bus, Cpu, MachineCycle, Pause};
use coldwright::isa::{CycleKind, TStates};
use divan::Bencher;
use divan::counter::ItemsCount;
use iz80::Machine;

/// Instruction rate relative to that of `iz80`.
const BUDGET: f64 = 2.0;

/// Fills 256 bytes with a pseudo-random sequence, then sorts them and sums them with a subroutine, over and over, and
/// halts. It touches each group of instructions, with the loops, calls and memory traffic of a loader.
#[rustfmt::skip]
const PROGRAM: &[u8] = &[
    0o061, 0o000, 0o040, //         LXI  SP,2000H
    0o026, 0o004,        //         MVI  D,4        ; rounds
    0o041, 0o000, 0o020, // round:  LXI  H,1000H    ; 005
    0o172,               //         MOV  A,D
    0o007,               // fill:   RLC             ; 011
    0o256,               //         XRA  M
    0o306, 0o035,        //         ADI  35Q
    0o167,               //         MOV  M,A
    0o054,               //         INR  L
    0o302, 0o011, 0o000, //         JNZ  fill
    0o006, 0o000,        // sort:   MVI  B,0        ; 022, exchanges
    0o056, 0o000,        //         MVI  L,0
    0o176,               // pair:   MOV  A,M        ; 026
    0o043,               //         INX  H
    0o276,               //         CMP  M
    0o332, 0o044, 0o000, //         JC   next
    0o312, 0o044, 0o000, //         JZ   next
    0o116,               //         MOV  C,M        ; exchange
    0o315, 0o100, 0o000, //         CALL swap
    0o000,               //         NOP
    0o175,               // next:   MOV  A,L        ; 044
    0o376, 0o377,        //         CPI  377Q
    0o302, 0o026, 0o000, //         JNZ  pair
    0o170,               //         MOV  A,B
    0o267,               //         ORA  A
    0o302, 0o022, 0o000, //         JNZ  sort
    0o025,               //         DCR  D
    0o302, 0o005, 0o000, //         JNZ  round
    0o166,               //         HLT             ; 063
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    0o325,               // swap:   PUSH D          ; 100
    0o167,               //         MOV  M,A
    0o053,               //         DCX  H
    0o161,               //         MOV  M,C
    0o043,               //         INX  H
    0o004,               //         INR  B
    0o321,               //         POP  D
    0o311,               //         RET
];

#[derive(Clone)]
struct Memory(Box<[u8; 0x10000]>);

impl Memory {
    fn with_program() -> Memory {
        let mut memory = Box::new([0; 0x10000]);
        memory[..PROGRAM.len()].copy_from_slice(PROGRAM);
        Memory(memory)
    }
}

impl Bus for Memory {
    fn read(&mut self, address: u16) -> u8 {
        self.0[usize::from(address)]
    }
    fn write(&mut self, address: u16, byte: u8) {
        self.0[usize::from(address)] = byte;
    }
    fn input(&mut self, _port: u8) -> u8 {
        0o377
    }
    fn output(&mut self, _port: u8, _byte: u8) {}
}

impl Machine for Memory {
    fn peek(&mut self, address: u16) -> u8 {
        self.0[usize::from(address)]
    }
    fn poke(&mut self, address: u16, value: u8) {
        self.0[usize::from(address)] = value;
    }
    fn port_in(&mut self, _address: u16) -> u8 {
        0o377
    }
    fn port_out(&mut self, _address: u16, _value: u8) {}
}

/// A bus on which every cycle is watched.
struct Watched {
    memory: Memory,
    lights: u64,
}

impl Bus for Watched {
    fn read(&mut self, address: u16) -> u8 {
        self.memory.read(address)
    }
    fn write(&mut self, address: u16, byte: u8) {
        self.memory.write(address, byte);
    }
    fn input(&mut self, _port: u8) -> u8 {
        0o377
    }
    fn output(&mut self, _port: u8, _byte: u8) {}
    fn begin(&mut self, kind: CycleKind, _address: Option<u16>, at: TStates) -> TStates {
        self.lights ^= u64::from(kind.status().unwrap_or(0)) ^ at.0;
        TStates(0)
    }
    fn complete(&mut self, cycle: MachineCycle) {
        self.lights = self.lights.rotate_left(8) ^ u64::from(cycle.data.unwrap_or(0));
    }
}

fn main() {
    let instructions = count_instructions();
    let ratio = ratio(9);
    println!("{instructions} instructions; {ratio:.2} times the rate of iz80 (at least {BUDGET})");
    if ratio < BUDGET {
        eprintln!("the processor is too slow");
        std::process::exit(1);
    }
    divan::main();
}

#[divan::bench]
fn plain_bus(bencher: Bencher) {
    bencher.counter(ItemsCount::new(count_instructions())).with_inputs(Memory::with_program).bench_local_values(run);
}

#[divan::bench]
fn watched_bus(bencher: Bencher) {
    bencher
        .counter(ItemsCount::new(count_instructions()))
        .with_inputs(|| Watched { memory: Memory::with_program(), lights: 0 })
        .bench_local_values(|mut bus| {
            run_on(&mut bus);
            bus.lights
        });
}

#[divan::bench]
fn iz80(bencher: Bencher) {
    bencher
        .counter(ItemsCount::new(count_instructions()))
        .with_inputs(Memory::with_program)
        .bench_local_values(run_iz80);
}

/// The ratio of the best times of each, taken by turns so that both meet the same disturbances.
fn ratio(rounds: usize) -> f64 {
    let (mut ours, mut theirs) = (Duration::MAX, Duration::MAX);
    for _ in 0..rounds {
        ours = ours.min(time(run));
        theirs = theirs.min(time(run_iz80));
    }
    theirs.as_secs_f64() / ours.as_secs_f64()
}

fn time(run: impl Fn(Memory) -> u64) -> Duration {
    let memory = Memory::with_program();
    let start = Instant::now();
    black_box(run(black_box(memory)));
    start.elapsed()
}

fn run(mut memory: Memory) -> u64 {
    run_on(&mut memory)
}

fn run_on(bus: &mut impl Bus) -> u64 {
    let mut cpu = Cpu::default();
    assert_eq!(cpu.run(bus, TStates(u64::MAX)), Pause::Halted);
    cpu.clock.0
}

fn run_iz80(mut memory: Memory) -> u64 {
    let mut cpu = iz80::Cpu::new_8080();
    while !cpu.is_halted() {
        cpu.execute_instruction(&mut memory);
    }
    cpu.cycle_count()
}

/// Instructions until the halt; checks on the way that both agree on the time.
fn count_instructions() -> u64 {
    let mut memory = Memory::with_program();
    let mut cpu = iz80::Cpu::new_8080();
    let mut count = 0_u64;
    while !cpu.is_halted() {
        cpu.execute_instruction(&mut memory);
        count += 1;
    }
    assert_eq!(cpu.cycle_count(), run(Memory::with_program()), "T-states");
    count
}
