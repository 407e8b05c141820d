//! What a person says who stands before the panel.

use coldwright::diagnosis::{Answer, Look};
use coldwright::faults::{Compared, Ending, Rest, Words};
use coldwright::notation::Address;

/// What is seen without touching anything: the lights at rest, the lamps of ports, terminals, and the first tape.
pub fn at_rest(ending: &Ending, good: &Ending, words: &Words) -> String {
    let notation = words.notation();
    let address = |at: u16| notation.address(Address(at)).to_string();
    let mut says = match ending.rest {
        Rest::Halts { at } => vec![format!("halted at {}", address(at.0.wrapping_add(1)))],
        Rest::Circles { low, high, .. } if low == high => vec!["running".to_owned()],
        Rest::Circles { low, high, .. } => vec![format!("running, address {} to {}", address(low.0), address(high.0))],
        Rest::RunsOn => vec!["running, address flickers".to_owned()],
        Rest::Held { .. } => vec!["running".to_owned()],
        // Noise goes on until it holds a HLT: somewhere.
        Rest::Noise { at } => vec![format!("halted at {}", address(at.0.wrapping_mul(40_503).wrapping_add(1)))],
    };
    let steady = |bank: &coldwright::faults::Bank| bank.open == 0 && bank.flickers == 0;
    if let Some(data) = ending.lamps.and_then(|lamps| lamps.data).filter(steady) {
        says.push(format!("data {}", notation.byte(data.lit as u8)));
    }
    says.extend(
        ending.ports.iter().map(|(port, byte)| format!("port {} shows {}", notation.byte(*port), notation.byte(*byte))),
    );
    if let Some(text) = ending.text.first() {
        says.extend(text_shown(&text.last));
    }
    if ending.text.is_empty() && !good.text.is_empty() {
        says.push("the terminal shows nothing".to_owned());
    }
    let names = words.tapes();
    for tape in &ending.tapes {
        let does = if tape.passed >= tape.frames { "ran out" } else { "still runs" };
        says.push(format!("the tape \"{}\" {does}", names[tape.tape]));
    }
    says.join("; ")
}

/// An answer to a look; nothing if it is not one thing.
pub fn answered(look: Look, answer: &Answer, words: &Words) -> Option<String> {
    let notation = words.notation();
    let address = |at: u16| notation.address(Address(at)).to_string();
    Some(match (look, answer) {
        (_, Answer::Halted) => "halted".into(),
        (_, Answer::Running) => "running".into(),
        (_, Answer::Address(at)) => format!("address {}", address(*at)),
        (_, Answer::Between(low, high)) => format!("address {} to {}", address(*low), address(*high)),
        (_, Answer::Flickers) => "address flickers".into(),
        (Look::Port(port), Answer::Byte(byte)) => {
            format!("port {} shows {}", notation.byte(port), notation.byte(*byte))
        }
        (Look::Memory(at), Answer::Byte(byte)) => {
            format!("{} holds {}", notation.address(at), notation.byte(*byte))
        }
        (Look::Listing(stage), Answer::Compared(shows)) => {
            let name = words.stages().nth(stage)?.0;
            match shows {
                Compared::Agrees => format!("the listing \"{name}\" agrees"),
                Compared::Differs { at, found } => {
                    let (at, found) = (notation.address(*at), notation.byte(*found));
                    format!("the listing \"{name}\" differs at {at} with {found}")
                }
            }
        }
        (Look::Tape(tape), Answer::RanOut) => format!("the tape \"{}\" ran out", words.tapes()[tape]),
        (Look::Tape(tape), Answer::StillRuns) => format!("the tape \"{}\" still runs", words.tapes()[tape]),
        (Look::Terminal, Answer::Text(bytes)) => text_shown(bytes)?,
        _ => return None,
    })
}

/// The end of what a terminal shows, as far as it can be typed in quotes.
fn text_shown(bytes: &[u8]) -> Option<String> {
    let shown: String = bytes.iter().map(|byte| char::from(byte & 0o177)).filter(|it| !it.is_control()).collect();
    let from = shown.rfind('"').map_or(0, |quote| quote + 1);
    let shown = &shown[from..];
    let shown = &shown[shown.len().saturating_sub(8)..];
    (!shown.is_empty()).then(|| format!("the terminal shows \"{shown}\""))
}
