//! Every single fault of a start, as data and in a fixed order.

mod hand;
mod left_out;
mod list;
mod machine;
mod media;

pub use left_out::left_out;

use self::list::List;
use super::fault::Fault;
use super::good::Good;
use super::scene::Scene;

/// All of them.
pub fn all(scene: &Scene, good: &Good) -> Vec<Fault> {
    let mut list = List::default();
    hand::rows(scene, &mut list);
    hand::again(scene, &mut list);
    machine::levers(scene, &mut list);
    machine::lines(&mut list);
    machine::cells(good, &mut list);
    machine::chips(scene, &mut list);
    machine::roms(scene, &mut list);
    machine::clock(&mut list);
    media::tapes(scene, &mut list);
    media::lines(scene, &mut list);
    media::disks(scene, good, &mut list);
    list.into_faults()
}
