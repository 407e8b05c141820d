//! The FD1771 under any use: no panic, no event in the past, and the same to the bit however time is cut up.

use coldwright::isa::TStates;
use coldwright::rehearsal::disk::fd1771::Register;
use proptest::prelude::*;

use super::fd1771_bench::{Bench, TURN};

/// Something that is done to the chip or its drive.
#[derive(Clone, Copy, Debug)]
enum Act {
    Wait(u64),
    Read(u8),
    Write(u8, u8),
    /// Serves the data register, if it asks.
    Serve(u8),
    Turns(bool),
    Ready(bool),
    Protected(bool),
}

fn act() -> impl Strategy<Value = Act> {
    let wait = prop_oneof![1..200u64, 1..30_000u64, 1..3 * TURN];
    prop_oneof![
        8 => wait.prop_map(Act::Wait),
        3 => (0..4u8).prop_map(Act::Read),
        3 => (1..4u8, prop_oneof![0..30u8, any::<u8>()]).prop_map(|(register, byte)| Act::Write(register, byte)),
        4 => any::<u8>().prop_map(|byte| Act::Write(0, byte)),
        // Without that a busy chip takes no other command.
        2 => (0o320..0o340u8).prop_map(|byte| Act::Write(0, byte)),
        6 => any::<u8>().prop_map(Act::Serve),
        1 => any::<bool>().prop_map(Act::Turns),
        1 => any::<bool>().prop_map(Act::Ready),
        1 => any::<bool>().prop_map(Act::Protected),
    ]
}

/// Does something; time passes in one go, or in pieces of any length and from event to event.
fn does(bench: &mut Bench, act: Act, pieces: Option<u64>) {
    match act {
        Act::Wait(states) => {
            let end = bench.now + states;
            while let Some(piece) = pieces.filter(|_| bench.now < end) {
                let event = bench.chip.next_event(&bench.drive).map_or(u64::MAX, |at| at.0);
                bench.wait(event.min(bench.now + piece).min(end) - bench.now);
            }
            bench.wait(end - bench.now);
            let event = bench.chip.next_event(&bench.drive);
            assert!(event.is_none_or(|at| at > TStates(end)), "{event:?} is not ahead of {end}");
        }
        Act::Read(register) => _ = bench.read(Register::from_bits(register)),
        Act::Write(register, byte) => bench.write(Register::from_bits(register), byte),
        Act::Serve(byte) if bench.chip.drq() => bench.write(Register::Data, byte),
        Act::Serve(_) => {}
        Act::Turns(turns) => {
            (bench.drive.turns, bench.drive.ready) = (turns, turns);
            bench.wait(0);
        }
        Act::Ready(ready) => {
            bench.drive.ready = ready;
            bench.wait(0);
        }
        Act::Protected(protected) => bench.drive.protected = protected,
    }
}

/// All that can be seen of it.
fn seen(bench: &mut Bench) -> impl PartialEq + std::fmt::Debug + use<> {
    let registers =
        [0, 1, 2, 3].map(|bits| bench.chip.peek(Register::from_bits(bits), TStates(bench.now), &bench.drive));
    let lines = (bench.chip.drq(), bench.chip.intrq(), bench.chip.is_busy());
    let trouble = bench.chip.take_trouble();
    (registers, lines, trouble, bench.drive.head, bench.drive.steps.clone(), bench.drive.loaded)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn it_is_the_same_however_time_is_cut_up(
        acts in prop::collection::vec(act(), 1..60),
        piece in prop_oneof![40..400u64, 1000..100_000u64],
        head in 0..77usize,
    ) {
        let (mut whole, mut cut) = (Bench::just_reset(head), Bench::just_reset(head));
        for act in acts {
            does(&mut whole, act, None);
            does(&mut cut, act, Some(piece));
            prop_assert_eq!(seen(&mut whole), seen(&mut cut));
        }
        prop_assert!(whole.drive.tracks == cut.drive.tracks);
    }
}
