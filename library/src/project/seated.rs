//! What lies in a socket: all the stages that have their home there, as one image.

use super::listed::Id;
use super::plan::{Plan, Stage};
use crate::image::{Image, MEMORY};
use crate::notation::Address;
use crate::rom::Socket;
use crate::source::{Code, Diagnostic};

/// A socket with what is to be seated in it.
pub struct Seated {
    /// The stages in it, in the order of the chain file.
    pub stages: Vec<Id<Stage>>,
    /// Their bytes together.
    pub image: Image,
}

/// The bytes of a stage that belong into one of its sockets, with their lowest addresses: those of the socket's addresses, or
/// all of them if it has no other.
pub fn share<'a>(stage: &'a Stage, socket: &'a Socket) -> impl Iterator<Item = (Address, &'a [u8])> {
    let alone = stage.home.sockets().len() == 1;
    let range = if alone { 0..MEMORY } else { socket.range() };
    stage.image.extents().filter_map(move |extent| {
        let base = extent.base.index();
        let first = range.start.max(base);
        let last = range.end.min(base + extent.bytes.len());
        (first < last).then(|| (Address(first as u16), &extent.bytes[first - base..last - base]))
    })
}

/// What is seated in a socket; `None` if no stage is at home there.
///
/// # Errors
/// Two of its stages claim the same bytes.
pub fn seated(plan: &Plan, socket: Id<Socket>) -> Result<Option<Seated>, Box<Diagnostic>> {
    let mut seated: Option<Seated> = None;
    let at_home = |stage: &&Stage| stage.home.sockets().contains(&socket);
    for (number, stage) in plan.stages.numbered().filter(|(_, stage)| at_home(stage)) {
        let Seated { stages, image } = seated.get_or_insert_with(|| {
            let mut image = Image::default();
            image.symbols.clone_from(&stage.image.symbols);
            Seated { stages: Vec::new(), image }
        });
        for (base, bytes) in share(stage, &plan.machine.sockets[socket]) {
            for (at, byte) in bytes.iter().enumerate() {
                let address = base.wrapping_add(at as u16);
                if image.byte(address).is_some() {
                    return Err(Box::new(clash(plan, socket, stages, stage)));
                }
                if let Some(place) = stage.made_by(address) {
                    // The byte is free: that was looked at just now.
                    let _ = image.insert(address, &[*byte], place);
                }
            }
        }
        stages.push(number);
    }
    Ok(seated)
}

fn clash(plan: &Plan, socket: Id<Socket>, before: &[Id<Stage>], stage: &Stage) -> Diagnostic {
    let seat = &plan.machine.sockets[socket];
    let shared = |first: &Stage| {
        let mut shared = share(stage, seat).flat_map(|(base, bytes)| base.index()..base.index() + bytes.len());
        let mut shared = shared.by_ref().filter(|&at| first.image.byte(Address(at as u16)).is_some());
        let low = shared.next()?;
        Some((low, shared.last().unwrap_or(low)))
    };
    let found = before.iter().map(|&number| &plan.stages[number]).find_map(|first| Some((first, shared(first)?)));
    let (name, notation) = (&seat.name, plan.machine.panel.notation);
    let (first, range) = match found {
        Some((first, (low, high))) => {
            let [low, high] = [low, high].map(|at| notation.address(Address(at as u16)).to_string());
            (first, format!(" at `{low}` to `{high}`"))
        }
        None => (stage, String::new()),
    };
    let headline = format!("the stages `{}` and `{}` both lie in socket `{name}`{range}", first.name, stage.name);
    Diagnostic::error(Code::StagesOverlap, headline)
        .at(stage.span, "this stage")
        .and_at(first.span, "and this one")
        .with_help("move one of them, or give it another home: what is seated holds both")
}
