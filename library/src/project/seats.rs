//! The ROM sockets of a machine file, and the parts of the owner's own.

use super::entries::{Placed, bytes, needed};
use super::machine_file::Reader;
use crate::rom::{self, CheckEntry, FillEntry, Part, PartEntry, Parts, Socket, SocketEntry};
use crate::source::{Diagnostics, Span, Table, Value};

impl Reader<'_> {
    /// Every `[[part]]` that is sound, and the names of those that are not.
    pub(super) fn parts(&mut self, list: &[Table]) -> (Parts, Vec<String>) {
        let (mut parts, mut broken) = (Parts::default(), Vec::new());
        for table in list {
            let Some((entry, spot)) = part(*table, self.problems) else {
                broken.extend(table.get("name").and_then(|name| name.as_str()).map(str::to_owned));
                continue;
            };
            if let Err(problem) = parts.add(&entry) {
                self.problems.push(problem.at(spot, "this part"));
            }
        }
        (parts, broken)
    }

    /// Every `[[socket]]`; the names of all of them.
    pub(super) fn sockets(&mut self, list: &[Table], parts: &Parts, broken: &[String]) -> Vec<Placed<String>> {
        let (mut names, mut spots) = (Vec::new(), Vec::new());
        for table in list {
            let name = needed(*table, "name", SOCKET, self.problems);
            let entry = socket(*table, name.as_ref(), self.problems);
            names.extend(name);
            // What is wrong with a part is told there.
            let Some(entry) = entry.filter(|entry| !broken.contains(&entry.part)) else { continue };
            match Socket::checked(&entry, parts) {
                Ok(socket) => {
                    self.machine.sockets.push(socket);
                    spots.push(spot(*table, "name"));
                }
                Err(fault) => self.problems.push(fault.problem.at(spot(*table, fault.key), "written here")),
            }
        }
        for clash in rom::clashes(&self.machine.sockets) {
            let problem = clash.problem.at(spots[clash.second], "the second");
            self.problems.push(problem.and_at(spots[clash.first], "the first"));
        }
        names
    }
}

const SOCKET: &str = "`[[socket]]`";

/// Where the value of a key stands, or its table.
fn spot(table: Table, key: &str) -> Span {
    table.get(key).map_or(table.span(), |value| value.span())
}

fn part(table: Table, problems: &mut Diagnostics) -> Option<(PartEntry, Span)> {
    let what = "`[[part]]`";
    table.allow(&["name", "words", "bits", "erased"], what, problems);
    let name = needed(table, "name", what, problems);
    let [words, bits, erased] = ["words", "bits", "erased"].map(|key| table.need(key, what, problems));
    let words = words.and_then(|value| {
        let number = value.integer(2..=Part::MOST_WORDS as i64, problems)?;
        let is_power = (number as u64).is_power_of_two();
        if !is_power {
            value.wrong("a power of two", problems);
        }
        is_power.then_some(number as u32)
    });
    let bits = bits.and_then(|value| {
        let number = value.byte(problems)?;
        if ![4, 8].contains(&number) {
            value.wrong("`4` or `8`", problems);
        }
        Some(number).filter(|number| [4, 8].contains(number))
    });
    let erased = erased.and_then(|value| value.integer(0..=1, problems));
    let name = name?;
    Some((PartEntry { name: name.value, words: words?, bits: bits?, erased: erased? as u8 }, name.span))
}

fn socket(table: Table, name: Option<&Placed<String>>, problems: &mut Diagnostics) -> Option<SocketEntry> {
    let keys = ["name", "part", "base", "interleaved", "inverted", "data", "address", "fill", "check"];
    table.allow(&keys, SOCKET, problems);
    let part = needed(table, "part", SOCKET, problems);
    let base = table.need("base", SOCKET, problems).and_then(|value| value.integer(0..=0xFFFF, problems));
    let [interleaved, inverted] =
        ["interleaved", "inverted"].map(|key| table.get(key).map_or(Some(false), |value| value.boolean(problems)));
    let [data, address] = ["data", "address"].map(|key| table.get(key).map(|value| bytes(value, problems)));
    let fill = table.get("fill").map(|value| fill(value, problems));
    let check = table.get("check").map(|value| check(value, problems));
    Some(SocketEntry {
        name: name?.value.clone(),
        part: part?.value,
        base: base? as u16,
        interleaved: interleaved?,
        inverted: inverted?,
        data: whole(data)?,
        address: whole(address)?,
        fill: whole(fill)?,
        check: whole(check)?,
    })
}

/// What is not there is right; what is there must be.
fn whole<T>(value: Option<Option<T>>) -> Option<Option<T>> {
    match value {
        None => Some(None),
        Some(value) => value.map(Some),
    }
}

fn fill(value: Value, problems: &mut Diagnostics) -> Option<FillEntry> {
    if value.is_array() {
        bytes(value, problems).map(FillEntry::Pattern)
    } else {
        value.byte(problems).map(FillEntry::Byte)
    }
}

fn check(value: Value, problems: &mut Diagnostics) -> Option<CheckEntry> {
    let table = value.table(problems)?;
    table.allow(&["kind", "at"], "`check`", problems);
    let kind = needed(table, "kind", "`check`", problems);
    let at = table.need("at", "`check`", problems).and_then(|value| value.integer(0..=0xFFFF, problems));
    Some(CheckEntry { kind: kind?.value, at: at? as u16 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{Origin, SourceMap, TomlText};

    #[test]
    fn an_option_and_a_table_say_the_same() {
        let typed =
            "U7=82S131@376:000,interleaved,inverted,data=7.6.5.4.3.2.1.0,address=1.0,fill=0o166.0x76,check=xor8@0FFFFH";
        let table = "name = 'U7'\npart = '82S131'\nbase = 0o177000\ninterleaved = true\ninverted = true\n\
                     data = [7, 6, 5, 4, 3, 2, 1, 0]\naddress = [1, 0]\nfill = [0o166, 0x76]\n\
                     check = { kind = 'xor8', at = 0xFFFF }";
        let mut sources = SourceMap::default();
        let id = sources.add("machine.toml", table, Origin::Given);
        let mut problems = Diagnostics::default();
        let toml = TomlText::parse(&sources, id, &mut problems);
        let name = needed(toml.table(), "name", SOCKET, &mut problems);
        let read = socket(toml.table(), name.as_ref(), &mut problems);
        assert_eq!((SocketEntry::parse(typed).ok(), problems.len()), (read, 0));
    }
}
