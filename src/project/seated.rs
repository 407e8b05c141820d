//! What lies in a socket: all the stages that have their home there, as one image.

use super::plan::{Home, Plan, Stage};
use crate::image::Image;
use crate::source::{Code, Diagnostic};

/// A socket with what is to be seated in it.
#[derive(Clone, Debug)]
pub struct Seated {
    /// The stages in it, by number, in the order of the chain file.
    pub stages: Vec<usize>,
    /// Their bytes together.
    pub image: Image,
}

/// What is seated in a socket; `None` if no stage is at home there.
///
/// # Errors
/// Two of its stages claim the same bytes.
pub fn seated(plan: &Plan, socket: usize) -> Result<Option<Seated>, Box<Diagnostic>> {
    let mut seated: Option<Seated> = None;
    for (number, stage) in plan.stages.iter().enumerate().filter(|(_, stage)| stage.home == Home::Socket(socket)) {
        let Some(seated) = &mut seated else {
            seated = Some(Seated { stages: vec![number], image: stage.image.clone() });
            continue;
        };
        for extent in stage.image.extents() {
            for (at, byte) in extent.bytes.iter().enumerate() {
                let address = extent.base.wrapping_add(at as u16);
                if seated.image.byte(address).is_some() {
                    return Err(Box::new(clash(plan, socket, &seated.stages, stage)));
                }
                if let Some(place) = stage.made_by(address) {
                    // The byte is free: that was looked at just now.
                    let _ = seated.image.insert(address, &[*byte], place);
                }
            }
        }
        seated.stages.push(number);
    }
    Ok(seated)
}

fn clash(plan: &Plan, socket: usize, before: &[usize], stage: &Stage) -> Diagnostic {
    let shares = |number: &&usize| super::audit::common(&plan.stages[**number].image, &stage.image).is_some();
    let first = before.iter().find(shares).map_or(stage, |&number| &plan.stages[number]);
    let name = &plan.machine.sockets[socket].name;
    let notation = plan.machine.panel.notation;
    let range = super::audit::common(&first.image, &stage.image)
        .map(|(low, high)| format!(" at `{}` to `{}`", notation.address(low), notation.address(high)));
    let headline = format!(
        "the stages `{}` and `{}` both lie in socket `{name}`{}",
        first.name,
        stage.name,
        range.unwrap_or_default()
    );
    Diagnostic::error(Code::StagesOverlap, headline)
        .at(stage.span, "this stage")
        .and_at(first.span, "and this one")
        .with_help("move one of them, or give it another home: what is seated holds both")
}
