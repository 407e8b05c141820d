//! How near things lie to each other in memory.

use super::outcome::{Gap, StageOutcome};
use crate::project::{Plan, Start};

/// The distances between neighbours: the programs of a start, and the stacks as deep as they grew.
pub fn gaps(plan: &Plan, start: &Start, reached: &[StageOutcome]) -> Vec<Gap> {
    let mut regions: Vec<(usize, usize, String)> = Vec::new();
    for &number in &start.stages {
        let stage = &plan.stages[number];
        let extents = stage.image.extents();
        regions.extend(extents.map(|extent| (extent.base.index(), extent.last().index(), stage.name.clone())));
    }
    for stage in reached {
        let Some(stack) = stage.stack.filter(|stack| stack.depth() > 0) else { continue };
        let top = usize::from(stack.top.0.wrapping_sub(1));
        regions.push((stack.lowest.index(), top, format!("the stack of {}", stage.name)));
    }
    regions.sort();
    // Only in one piece of RAM do two things come near each other.
    let together = |pair: &&[(usize, usize, String)]| {
        plan.machine.memory.iter().any(|memory| memory.contains(pair[0].1) && memory.contains(pair[1].0))
    };
    let neighbours = regions.windows(2).filter(together).filter(|pair| pair[0].2 != pair[1].2);
    let gap = |pair: &[(usize, usize, String)]| {
        let bytes = pair[1].0.checked_sub(pair[0].1 + 1)?;
        Some(Gap { below: pair[0].2.clone(), above: pair[1].2.clone(), bytes })
    };
    neighbours.filter_map(gap).collect()
}
