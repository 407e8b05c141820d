//! `docs/short-forms.md` is what the search finds: every pair of some common instructions, with the shorter form that leaves
//! the same in every register, and in every flag or in none. The page is made by the search, and a part of it is searched anew
//! here; all of it with `COLDWRIGHT_FORMS=all`, and `COLDWRIGHT_FORMS=write` writes it.

use std::path::Path;

use coldwright::assembler::{Assembly, Options, StdlibOnly, assemble};
use coldwright::shortening::{Depth, Outside, Search, shorten};
use coldwright::source::{Origin, SourceId, SourceMap};

/// The instructions of which the pairs are looked at.
const COMMON: [&str; 49] = [
    "MVI A,0",
    "MVI A,1",
    "MVI A,377Q",
    "MVI B,0",
    "MOV A,B",
    "MOV B,A",
    "MOV A,A",
    "XRA A",
    "ORA A",
    "ANA A",
    "SUB A",
    "INR A",
    "DCR A",
    "INR B",
    "DCR B",
    "ADI 1",
    "ADI 377Q",
    "SUI 1",
    "ACI 0",
    "SBI 0",
    "CPI 0",
    "CPI 1",
    "ANI 377Q",
    "ANI 0",
    "ORI 0",
    "ORI 377Q",
    "XRI 0",
    "XRI 377Q",
    "CMA",
    "STC",
    "CMC",
    "RLC",
    "RRC",
    "RAL",
    "RAR",
    "ADD A",
    "ADC A",
    "ADD B",
    "SUB B",
    "CMP B",
    "XCHG",
    "LXI H,0",
    "INX H",
    "DCX H",
    "MVI H,0",
    "MVI L,0",
    "DAD H",
    "MOV M,A",
    "MOV A,M",
];

/// One of so many pairs is searched anew.
const PART: usize = 97;

fn assembled(text: &str) -> Option<(SourceMap, SourceId, Assembly)> {
    let mut sources = SourceMap::default();
    let own = sources.add("form.asm", text, Origin::Given);
    let options = Options { definitions: Vec::new(), warn_unused: false, keep_lines: false };
    let assembly = assemble(&mut sources, own, &options, &mut StdlibOnly);
    (!assembly.diagnostics.has_errors()).then_some((sources, own, assembly))
}

/// The lines before the run: nothing is known of any register.
const BEFORE: &str = " ORG 100H\nSTART: LXI SP,4000H\n POP PSW\n POP B\n POP D\n POP H\n";

/// The shorter form of a run, if it takes the whole of it: no part of it saves as much by itself.
fn form(run: &[&str], flags: bool) -> Option<String> {
    // Every register is read behind the run; the flags are read too, or written first.
    let behind =
        if flags { " PUSH PSW\n" } else { " PUSH B\n PUSH D\n PUSH H\n MOV B,A\n PUSH B\n SUB A\n PUSH PSW\n" };
    let lines: String = run.iter().map(|line| format!(" {line}\n")).collect();
    let text = format!("{BEFORE}{lines}{behind} PUSH B\n PUSH D\n PUSH H\n HLT\n END START\n");
    let (sources, own, assembly) = assembled(&text)?;
    let found = shorten(&sources, own, &assembly, &Outside::default(), &Search::new(Depth::Deep), &assembled).ok()?;
    let first = BEFORE.lines().count() + 1;
    let places = found.iter().filter_map(|it| Some((it.places.first().filter(|_| it.places.len() == 1)?, it.saves)));
    let places: Vec<_> =
        places.filter(|(it, _)| it.line >= first && it.line + it.before.len() <= first + run.len()).collect();
    let (whole, saves) = places.iter().find(|(it, _)| it.before.len() == run.len())?;
    let part = places.iter().filter(|(it, _)| it.before.len() < run.len()).map(|(_, saves)| *saves).max();
    if part.is_some_and(|part| part >= *saves) {
        return None;
    }
    let after: Vec<_> = whole.after.iter().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    Some(if after.is_empty() { "nothing".to_owned() } else { after.join("; ") })
}

/// The row of the page for a pair, if there is one.
fn row(run: &[&str]) -> Option<String> {
    let (any, some) = (form(run, true), form(run, false));
    let written = run.join("; ");
    match (any, some) {
        (None, None) => None,
        (Some(any), None) => Some(format!("| `{written}` | `{any}` | |")),
        (Some(any), Some(some)) if any == some => Some(format!("| `{written}` | `{any}` | |")),
        (Some(any), Some(some)) => Some(format!("| `{written}` | `{any}` | `{some}` |")),
        (None, Some(some)) => Some(format!("| `{written}` | | `{some}` |")),
    }
}

fn runs() -> Vec<Vec<&'static str>> {
    let singles = COMMON.iter().map(|&one| vec![one]);
    let pairs = COMMON.iter().flat_map(|&one| COMMON.iter().map(move |&other| vec![one, other]));
    singles.chain(pairs).collect()
}

const HEAD: &str = "# Short forms

What [`shorten`](shortening.md) finds for every pair of some common instructions, found by its search and by nothing else: a form in
fewer bytes that leaves the same in every register and does the same to memory. Where a pair is not here, there is none of up to
four instructions, or a part of it can be shorter by itself.

| instead of | shorter, and the flags are the same | shorter, where nobody reads the flags |
| --- | --- | --- |
";

#[test]
fn the_page_of_short_forms_is_what_the_search_finds() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/short-forms.md");
    let wish = std::env::var("COLDWRIGHT_FORMS").unwrap_or_default();
    if wish == "write" {
        let rows: Vec<_> = runs().iter().filter_map(|run| row(run)).collect();
        return std::fs::write(path, format!("{HEAD}{}\n", rows.join("\n"))).unwrap();
    }
    let page = std::fs::read_to_string(path).unwrap().replace("\r\n", "\n");
    assert!(page.starts_with(HEAD));
    let rows: Vec<&str> = page.lines().filter(|line| line.starts_with("| `")).collect();
    let step = if wish == "all" { 1 } else { PART };
    let mut found = 0;
    for run in runs().iter().skip(step / 2).step_by(step) {
        let told = rows
            .iter()
            .find(|line| line.starts_with(&format!("| `{}` |", run.join("; "))))
            .map(|line| (*line).to_owned());
        assert_eq!(row(run), told, "`COLDWRIGHT_FORMS=write cargo test --test properties forms` writes the page anew");
        found += usize::from(told.is_some());
    }
    assert!(rows.len() > 100 && found > 0, "{} rows, {found} of them searched anew", rows.len());
}
