//! Where bytes lie, in pass one: parts that run elsewhere, limits, boundaries and filling.

use super::location::TOP;
use super::regions::Region;
use super::state::{PassOne, Place};
use super::statement::Task;
use crate::notation::{Address, Both, counted};
use crate::source::{Code, Diagnostic};
use crate::syntax::{Line, Operand, unquote};

impl PassOne<'_> {
    pub(super) fn run_at(&mut self, place: Place, line: &Line) {
        self.keep(place, line, Task::Nothing);
        let Some(address) = self.value_now(place, self.operand(line), "RUNAT") else { return };
        let span = place.span(line.word);
        self.regions.push(Region::Run { outer_shift: self.location.shift, span });
        self.location.run_at(address);
    }

    pub(super) fn end_run(&mut self, place: Place, line: &Line) {
        let Some(Region::Run { outer_shift, .. }) =
            self.region(place, line, |region| matches!(region, Region::Run { .. }))
        else {
            return;
        };
        self.location.end_run(outer_shift);
        self.keep(place, line, Task::Nothing);
    }

    pub(super) fn limit(&mut self, place: Place, text: &str, line: &Line) {
        self.keep(place, line, Task::Nothing);
        let operands = self.operands(line);
        let most = self.value_now(place, operands[0], "LIMIT").unwrap_or(u16::MAX);
        let name = match operands.get(1) {
            Some(&Operand::Text(start, end)) => unquote(&text[start as usize..end as usize]).collect(),
            _ => format!("the region at {}", Both(Address(self.location.here()))),
        };
        self.regions.push(Region::Limit { most, start: self.location.at, name, span: place.span(line.word) });
    }

    pub(super) fn end_limit(&mut self, place: Place, line: &Line) {
        let Some(Region::Limit { most, start, name, span }) =
            self.region(place, line, |region| matches!(region, Region::Limit { .. }))
        else {
            return;
        };
        self.keep(place, line, Task::Nothing);
        let used = self.location.at.saturating_sub(start);
        if used <= most.into() {
            return;
        }
        let over = used - u32::from(most);
        let problem = Diagnostic::error(
            Code::LimitExceeded,
            format!("{name} is {} over its limit of {most}", counted(over, "byte")),
        )
        .at(place.span(line.word), format!("{} used up to here", counted(used, "byte")))
        .and_at(span, format!("the limit of {}", counted(most, "byte")));
        self.diagnostics.push(self.with_largest(problem, start, self.location.at));
    }

    /// Closes the innermost region, if it is of the wanted kind.
    fn region(&mut self, place: Place, line: &Line, wanted: impl Fn(&Region) -> bool) -> Option<Region> {
        let fits = self.regions.last().is_some_and(wanted);
        if fits {
            return self.regions.pop();
        }
        let word = self.sources.text(place.span(line.word)).to_ascii_uppercase();
        let problem = Diagnostic::error(Code::RegionUnbalanced, format!("this {word} closes nothing"))
            .at(place.span(line.word), "no region that it could close is open here");
        self.diagnostics.push(match self.regions.last() {
            Some(open) => problem.and_at(open.span(), format!("this one is open and wants {}", open.closer())),
            None => problem,
        });
        None
    }

    pub(super) fn boundary(&mut self, place: Place, line: &Line) {
        let Some(multiple) = self.value_now(place, self.operand(line), "BOUNDARY") else { return };
        if multiple == 0 {
            let problem = Diagnostic::error(Code::ValueRange, "the multiple of BOUNDARY is 0")
                .at(place.span(line.word), "expected 1..=65535");
            return self.diagnostics.push(problem);
        }
        let gap = self.location.at.next_multiple_of(multiple.into()) - self.location.at;
        if line.count == 2 && gap < TOP {
            return self.fill(place, line, gap as u16);
        }
        self.keep(place, line, Task::Nothing);
        self.advance(place, line, gap);
    }

    pub(super) fn stuff_to(&mut self, place: Place, line: &Line) {
        // A program that has run past the top of memory has begun again at its bottom; that is told elsewhere.
        if self.location.past_top.is_some() {
            return self.keep(place, line, Task::Nothing);
        }
        let Some(end) = self.value_now(place, self.operand(line), "STUFFTO") else { return };
        // Up to address 0 means up to the top of memory.
        let end = if end == 0 { TOP } else { end.into() };
        match end.checked_sub(self.location.at) {
            Some(count) if count < TOP => self.fill(place, line, count as u16),
            _ => {
                let past = self.location.at.saturating_sub(end);
                let problem = Diagnostic::error(
                    Code::LimitExceeded,
                    format!("the program is {} past {} already", counted(past, "byte"), Both(Address(end as u16))),
                )
                .at(place.span(line.word), "expected to fill up to this address");
                self.diagnostics.push(problem);
                self.keep(place, line, Task::Nothing);
            }
        }
    }

    /// Equal bytes; their value is the last operand.
    pub(super) fn fill(&mut self, place: Place, line: &Line, count: u16) {
        self.keep(place, line, Task::Fill(count));
        self.advance(place, line, count.into());
    }
}
