//! The parts of a socket: labels to cut out, sums to compare, how the part is wired, and what is to be minded of it.

use super::flow::{BODY, BOLD, Flow};
use crate::drawing::Page;
use crate::panel::Paper;
use crate::project::{Plan, SocketContents};
use crate::rom;

/// The page of a socket.
pub fn draw(plan: &Plan, seated: &SocketContents, paper: Paper) -> Vec<Page> {
    let (socket, notation) = (&plan.machine.sockets[seated.socket], plan.machine.panel.notation);
    let names: Vec<_> = seated.stages.iter().map(|&stage| plan.stages[stage].name.as_str()).collect();
    let names = names.join(", ");
    let mut flow = Flow::new(paper, &format!("Socket {}", socket.name));
    flow.paragraph(&format!(
        "{} in it, {}, at {}. It holds {names}.",
        rom_parts(seated.parts.len()),
        socket.part.name,
        socket.place(notation)
    ));
    flow.heading("Labels");
    for (_, file) in &seated.parts {
        let label = rom::label(&names, socket, &file.part, notation);
        let (first, rest) = label.split_once('\n').unwrap_or((&label, ""));
        flow.frame(first, &rest.trim_end().replace('\n', "; "));
    }
    flow.heading("Part checks");
    let columns = [(0.0, 40.0), (42.0, 50.0), (94.0, 30.0), (126.0, flow.width() - 126.0)];
    let heads = ["part", "file", "sum", "words to program; words that stay erased"];
    flow.row(&columns.iter().zip(heads).map(|(&column, head)| (column, BOLD, head)).collect::<Vec<_>>());
    for (name, file) in &seated.parts {
        let words = &file.part.words;
        let blank = words.iter().filter(|&&word| word == socket.part.erased_word()).count();
        let texts = [
            file.part.name.clone(),
            name.clone(),
            notation.word(file.part.sum()).to_string(),
            format!("{}; {blank}", words.len() - blank),
        ];
        flow.row(&columns.iter().zip(&texts).map(|(&column, text)| (column, BODY, text.as_str())).collect::<Vec<_>>());
    }
    for line in rom::wiring_lines(socket, notation) {
        flow.paragraph(&line);
    }
    flow.heading(&format!("Cautions for {} in {}", socket.part.name, socket.name));
    for caution in rom::cautions(socket.part.known) {
        flow.row(&[((0.0, 4.0), BODY, "-"), ((5.0, flow.width() - 5.0), BODY, &caution)]);
    }
    flow.finish()
}

fn rom_parts(count: usize) -> String {
    if count == 1 { "One part is".into() } else { format!("{count} parts are") }
}
