//! No library file can be shorter, as far as `shorten` sees: with nothing known before its routines and everything read
//! behind them. What the headers of the key-in loaders say is searched for as well.

use coldwright::assembler::{Assembly, Options, STDLIB, StdlibOnly, assemble};
use coldwright::shortening::{Depth, Outside, Search, shorten};
use coldwright::source::{Origin, SourceId, SourceMap};

use crate::bench::Chip;
use crate::fd1771::KINDS;

/// Constants that are not those of a chip, and those of a second one.
const MORE: &str = "
SR2ST   EQU     213Q
SR2DT   EQU     212Q
SR2FMT  EQU     25Q
SR2MOD  EQU     316Q
SR2RX   EQU     100Q
SR2TX   EQU     2
SR2LOW  EQU     0
";

/// Those of a drive without registers.
const WIRED: &str = "
BWDATA  EQU     210Q
BWSTAT  EQU     211Q
BWRDY   EQU     20Q
BWMAY   EQU     10Q
BWZERO  EQU     200Q
BWREST  EQU     2
BWBYTE  EQU     1
BWLOW   EQU     2
BWNUM   EQU     304Q
BWMASK  EQU     37Q
BWSFT   EQU     0
BWHOLE  EQU     40Q
BWNLOW  EQU     40Q
BWCMD   EQU     60Q
BWSEL   EQU     76Q
BWIN    EQU     56Q
BWOUT   EQU     66Q
BWLMP   EQU     156Q
BWTRK   EQU     2
BWSEC   EQU     3
BWENT   EQU     2000Q
BWTRY   EQU     10
BWMOST  EQU     80
BWBUF   EQU     17400Q
BWSTK   EQU     20000Q
LDSTK   EQU     20000Q
";

/// What a file needs besides.
fn besides(name: &str) -> &'static str {
    match name {
        "hex" | "octal" | "octal-in" | "load-blocks" | "load-s-record" | "load-text" => " INCLUDE 'mc6850.asm'\n",
        "split" => " INCLUDE 'octal.asm'\n INCLUDE 'mc6850.asm'\n",
        "load-intel-hex" => "LDRUN: HLT\n INCLUDE 'mc6850.asm'\n",
        "sense" => "SNSTAB: DW START,START,START,START,START,START,START,START\n",
        _ => "",
    }
}

fn assembled(text: &str) -> Option<(SourceMap, SourceId, Assembly)> {
    let mut sources = SourceMap::default();
    let own = sources.add("own.asm", text, Origin::Given);
    let options = Options { definitions: Vec::new(), warn_unused: false, keep_lines: false };
    let assembly = assemble(&mut sources, own, &options, &mut StdlibOnly);
    (!assembly.diagnostics.has_errors()).then_some((sources, own, assembly))
}

/// The routines that a file's header names.
fn routines(text: &str) -> Vec<&str> {
    let names = text.lines().filter_map(|line| line.strip_prefix("; ")?.split_whitespace().next());
    let is_label = |name: &&str| text.lines().any(|line| line.strip_prefix(name).is_some_and(|it| it.starts_with(':')));
    let mut names: Vec<_> = names.filter(is_label).collect();
    names.dedup();
    names
}

/// The constants of every kind of board that a file is for.
fn boards(name: &str) -> Vec<String> {
    match name {
        "boot-fd1771" | "drill-fd1771" => KINDS.map(|kind| kind.constants() + "LDSTK EQU FDSTK\n").to_vec(),
        "boot-wired" | "drill-wired" => vec![WIRED.to_owned()],
        _ => vec![Chip::Mc6850.constants() + MORE],
    }
}

/// A file as a source by itself, with the constants of a board, and the line where it begins.
fn program(name: &str, text: &str, constants: &str) -> (String, usize) {
    if name.starts_with("keyin") {
        return (format!("{constants}{text}\n END KEYIN\n"), constants.lines().count());
    }
    let all = [" POP PSW\n POP B\n POP D\n POP H\n", " PUSH PSW\n PUSH B\n PUSH D\n PUSH H\n"];
    let calls: String = routines(text).iter().map(|name| format!("{} CALL {name}\n{}", all[0], all[1])).collect();
    assert!(!calls.is_empty(), "{name}: no routine is named in its header");
    let head = format!("{constants} ORG 4000H\nSTART: LXI SP,LDSTK\n{calls} HLT\n");
    let lines = head.lines().count();
    // Nothing runs on into what it needs.
    (format!("{head}{text}\n NOP\n{} END START\n", besides(name)), lines)
}

/// What is found for every board.
fn found(name: &str, text: &str, depth: Depth) -> Vec<String> {
    let mut boards = boards(name).into_iter().map(|constants| found_for(name, text, &constants, depth));
    let first = boards.next().unwrap_or_default();
    boards.fold(first, |all, other| all.into_iter().filter(|it| other.contains(it)).collect())
}

fn found_for(name: &str, text: &str, constants: &str, depth: Depth) -> Vec<String> {
    let (text, begins) = program(name, text, constants);
    let (sources, own, assembly) = assembled(&text).unwrap_or_else(|| panic!("{name}\n{text}"));
    let found = shorten(&sources, own, &assembly, &Outside::default(), &Search::new(depth), &assembled);
    let found = found.unwrap_or_else(|unseen| panic!("{name}: {unseen:?}"));
    let own = found.into_iter().filter(|it| it.line() > begins);
    own.map(|it| format!("{name}: {:?}", it.places)).collect()
}

fn name(file: &str) -> &str {
    file.trim_end_matches(".asm")
}

#[test]
fn nothing_is_found_that_could_be_shorter() {
    let found: Vec<_> = STDLIB.iter().flat_map(|file| found(name(file.name), file.text, Depth::Two)).collect();
    assert!(found.is_empty(), "apply it, or say in the file why not:\n{}", found.join("\n"));
}

/// A key-in loader that puts what it reads elsewhere.
fn unwritten(text: &str) -> String {
    assert!(text.contains("H,KISTEP"));
    text.replace("H,KISTEP", "H,7000H")
}

/// The pieces of a key-in loader as its header counts them: no form of up to three instructions, or of four where there are
/// few enough, does the same in fewer bytes.
#[test]
fn key_in_loaders_cannot_be_smaller() {
    let loaders: Vec<_> = STDLIB.iter().filter(|file| file.name.starts_with("keyin")).collect();
    assert_eq!(loaders.len(), 3);
    for file in loaders {
        assert!(file.text.contains("; Why no smaller"), "{}", file.name);
        // As they are, and as they would be if the tape did not write into them, where more could be shorter.
        for text in [file.text.to_owned(), unwritten(file.text)] {
            let found = found(name(file.name), &text, Depth::Deep);
            assert!(found.is_empty(), "{found:?}");
        }
    }
    // What the header of the one for the 8251 says is found: its command costs one byte to make.
    let file = STDLIB.iter().find(|file| file.name == "keyin-i8251.asm").unwrap();
    let longer = file.text.replace("        RRC                     ; 47Q: command", "        MVI     A,47Q");
    assert_ne!(longer, file.text);
    let found = found("keyin-i8251", &unwritten(&longer), Depth::Two);
    assert!(found.len() == 1 && found[0].contains("RRC"), "{found:?}");
}
