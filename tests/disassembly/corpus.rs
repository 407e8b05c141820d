//! Programs with known sources: the library, the examples, and some that stand nowhere else.

use std::fs;
use std::path::{Path, PathBuf};

use coldwright::assembler::{self, Assembly, LoadError, Loaded, Loader, Options, STDLIB, StdlibOnly};
use coldwright::image::Image;
use coldwright::notation::Address;
use coldwright::source::{Origin, SourceMap};

/// A program with what each of its bytes is.
pub struct Known {
    /// Its file.
    pub name: String,
    /// The bytes.
    pub image: Image,
    /// The addresses of bytes of instructions.
    pub code: Vec<bool>,
}

/// What the files of the library ask for.
const CONSTANTS: &str = "\
SERST   EQU     211Q
SERDT   EQU     210Q
SERFMT  EQU     25Q
SERMOD  EQU     316Q
SERRX   EQU     100Q
SERTX   EQU     2
SERLOW  EQU     2
SR2ST   EQU     211Q
SR2DT   EQU     210Q
SR2FMT  EQU     25Q
SR2MOD  EQU     316Q
SR2RX   EQU     100Q
SR2TX   EQU     2
SR2LOW  EQU     0
LDPORT  EQU     156Q
LDSTK   EQU     7000H
KIPAGE  EQU     1
EXIN    EQU     60Q
EXOUT   EQU     156Q
SNSPRT  EQU     304Q
FDST    EQU     304Q
FDTR    EQU     60Q
FDSC    EQU     211Q
FDDT    EQU     210Q
FDINV   EQU     0
FDREQ   EQU     211Q
FDDRQ   EQU     1
FDINT   EQU     2
FDLOW   EQU     0
FDHOLD  EQU     0
FDDRV   EQU     156Q
FDSEL   EQU     1
FDRATE  EQU     0
FDTRK   EQU     1
FDSEC   EQU     1
FDFRST  EQU     1
FDLAST  EQU     26
FDCNT   EQU     8
FDADR   EQU     2000H
FDENT   EQU     2000H
FDTRY   EQU     10
FDSTK   EQU     7000H
FDLMP   EQU     156Q
BWDATA  EQU     210Q
BWSTAT  EQU     211Q
BWNUM   EQU     60Q
BWCMD   EQU     304Q
BWLMP   EQU     156Q
BWRDY   EQU     1
BWMAY   EQU     2
BWZERO  EQU     4
BWREST  EQU     10Q
BWBYTE  EQU     20Q
BWLOW   EQU     0
BWMASK  EQU     37Q
BWSFT   EQU     0
BWHOLE  EQU     40Q
BWNLOW  EQU     40Q
BWSEL   EQU     3
BWIN    EQU     7
BWOUT   EQU     13Q
BWTRK   EQU     1
BWSEC   EQU     0
BWENT   EQU     2000H
BWTRY   EQU     10
BWMOST  EQU     80
BWBUF   EQU     6000H
BWSTK   EQU     7000H
";

/// Files of the library that stand on others.
const BELOW: &[(&str, &str)] = &[
    ("hex.asm", "mc6850.asm"),
    ("load-blocks.asm", "uart.asm"),
    ("load-intel-hex.asm", "i8251.asm"),
    ("load-s-record.asm", "mc6850.asm"),
    ("octal-in.asm", "i8251.asm"),
    ("octal.asm", "uart.asm"),
];

struct Beside(PathBuf);

impl Loader for Beside {
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError> {
        match fs::read(self.0.join(name)) {
            Ok(bytes) => Ok(Loaded { name: name.into(), identity: name.into(), bytes }),
            Err(_) => StdlibOnly.load(name, from),
        }
    }
}

pub fn assemble(name: &str, text: String, folder: &Path) -> Known {
    let mut sources = SourceMap::default();
    let root = sources.add(name, text, Origin::Given);
    let options = Options { definitions: vec![("BASE".into(), 0o177000)], ..Options::default() };
    let assembly = assembler::assemble(&mut sources, root, &options, &mut Beside(folder.into()));
    let errors: Vec<_> = assembly.diagnostics.iter().map(|problem| problem.headline.clone()).collect();
    assert!(!assembly.diagnostics.has_errors(), "{name}: {errors:?}");
    let code = code(&assembly);
    let mut image = assembly.image;
    image.entry = None;
    Known { name: name.into(), image, code }
}

/// Which bytes belong to instructions, as the assembler made them.
fn code(assembly: &Assembly) -> Vec<bool> {
    let mut code = vec![false; 0x1_0000];
    for statement in &assembly.statements {
        let Some(mnemonic) = statement.instruction() else { continue };
        for at in 0..u16::from(mnemonic.form().pattern.length()) {
            code[Address(statement.deposit()).wrapping_add(at).index()] = true;
        }
    }
    code
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    found.retain(|path| path.extension().is_some_and(|extension| extension == "asm"));
    found.sort();
    found
}

/// All of them.
pub fn all() -> Vec<Known> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut known: Vec<Known> = STDLIB.iter().map(|file| library(file.name)).collect();
    let mut folders = vec![root.join("tests/disassembly/programs")];
    folders.extend(["belfry", "headland", "lineboot", "probe", "rooster"].map(|name| root.join("examples").join(name)));
    for folder in folders {
        for path in sources(&folder).into_iter().filter(|path| !path.ends_with("ports.asm")) {
            let name = path.strip_prefix(root).unwrap().display().to_string();
            known.push(assemble(&name, fs::read_to_string(&path).unwrap(), &folder));
        }
    }
    known
}

/// A file of the library, with what it stands on behind it.
fn library(name: &str) -> Known {
    let below = BELOW.iter().find(|(file, _)| *file == name).map(|(_, below)| *below);
    let needs_octal = if name == "split.asm" { vec!["octal.asm", "uart.asm"] } else { Vec::new() };
    let mut text = format!("{CONSTANTS}\tORG 1000H\n\tINCLUDE '{name}'\n");
    for file in below.into_iter().chain(needs_octal) {
        text += &format!("\tINCLUDE '{file}'\n");
    }
    text += match name {
        "sense.asm" => "SNSTAB: DW 1000H,1000H,1000H,1000H,1000H,1000H,1000H,1000H\n",
        "load-text.asm" => "\tINCLUDE 'uart.asm'\n",
        "load-intel-hex.asm" => "LDRUN: JMP 400H\n",
        _ => "",
    };
    assemble(name, text, Path::new("."))
}
