//! `objcopy`, `readelf`, `nm` and `objdump` (GNU Binutils), `srec_cat` (SRecord) and the Python library `intelhex` read
//! what we write, and we read what they write.

use std::fs;
use std::path::Path;

use coldwright::image::s_record::Width;
use coldwright::image::{Format, Image, Reading, Symbol, SymbolKind};
use coldwright::source::{Code, Severity};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;

use crate::tool;

#[path = "../support/images.rs"]
mod support;
use support::{edges, image, images, read, read_sound, symbols, write};

const HEX: Format = Format::IntelHex;
const S19: Format = Format::SRecord(Width::S19);
const S28: Format = Format::SRecord(Width::S28);
const S37: Format = Format::SRecord(Width::S37);

/// The images at the edges and some random ones, the same in every run.
fn samples() -> Vec<Image> {
    let mut runner = TestRunner::deterministic();
    let random = (0..12).map(|_| images().new_tree(&mut runner).unwrap().current());
    edges().into_iter().chain(random).collect()
}

/// Bytes only: tools differ in where they keep an entry.
fn bytes_of(image: &Image) -> Vec<(u16, Vec<u8>)> {
    image.extents().map(|extent| (extent.base.0, extent.bytes.to_vec())).collect()
}

/// What is in a file that another tool wrote; it may have notes, not errors.
fn taken(format: Format, path: &Path) -> Image {
    let (reading, sources) = read(format, &fs::read(path).unwrap());
    let sound = !reading.problems.has_errors();
    assert!(sound, "{}: {:?}", path.display(), reading.problems.sorted(&sources));
    reading.image
}

#[test]
fn objcopy_reads_and_writes_every_format() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for original in samples().iter().filter(|image| !image.is_empty()) {
        for (format, theirs) in
            [(HEX, "ihex"), (S19, "srec"), (S28, "srec"), (S37, "srec"), (Format::Elf, "elf32-little")]
        {
            fs::write(at("ours"), write(format, original)).unwrap();
            for (back, output) in [(HEX, "ihex"), (S19, "srec")] {
                let arguments = ["-I", theirs, "-O", output, "ours", "theirs"];
                let Some(_) = tool::run("objcopy", &arguments, folder.path()) else { return };
                assert_eq!(bytes_of(&taken(back, &at("theirs"))), bytes_of(original), "{} to {output}", format.title());
            }
        }
        let arguments = ["-I", "ihex", "-O", "elf32-little", "ours", "theirs"];
        fs::write(at("ours"), write(HEX, original)).unwrap();
        let Some(_) = tool::run("objcopy", &arguments, folder.path()) else { return };
        assert_eq!(bytes_of(&taken(Format::Elf, &at("theirs"))), bytes_of(original));
    }
}

#[test]
fn objcopy_keeps_what_elf_keeps() {
    let folder = tempfile::tempdir().unwrap();
    let mut runner = TestRunner::deterministic();
    for mut original in samples() {
        original.symbols = symbols().new_tree(&mut runner).unwrap().current();
        fs::write(folder.path().join("ours"), write(Format::Elf, &original)).unwrap();
        let Some(_) = tool::run("objcopy", &["-I", "elf32-little", "ours", "theirs"], folder.path()) else { return };
        let (reading, _) = read(Format::Elf, &fs::read(folder.path().join("theirs")).unwrap());
        assert!(reading.problems.is_empty(), "{:?}", reading.problems);
        assert_eq!(reading.image, original);
        let sorted = |symbols: &[Symbol]| {
            let mut symbols = symbols.to_vec();
            symbols.sort_by(|a, b| a.name.cmp(&b.name));
            symbols
        };
        assert_eq!(sorted(&reading.image.symbols), sorted(&original.symbols));
    }
}

#[test]
fn objcopy_makes_the_same_raw_binary() {
    let folder = tempfile::tempdir().unwrap();
    for original in samples().iter().filter(|image| !image.is_empty()) {
        fs::write(folder.path().join("ours"), write(Format::Elf, original)).unwrap();
        let arguments = ["-I", "elf32-little", "-O", "binary", "--gap-fill", "0", "ours", "theirs"];
        let Some(_) = tool::run("objcopy", &arguments, folder.path()) else { return };
        assert!(fs::read(folder.path().join("theirs")).unwrap() == write(Format::Raw, original));
    }
}

#[test]
fn srec_cat_reads_and_writes_records() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for original in samples().iter().filter(|image| !image.is_empty()) {
        for (format, theirs) in [(HEX, "-intel"), (S19, "-motorola"), (S28, "-motorola"), (S37, "-motorola")] {
            fs::write(at("ours"), write(format, original)).unwrap();
            for (back, output) in [
                (HEX, &["-intel"][..]),
                (HEX, &["-intel", "-address-length=3"]),
                (S19, &["-motorola"]),
                (S28, &["-motorola", "-address-length=3"]),
                (S37, &["-motorola", "-address-length=4"]),
            ] {
                let arguments = [&["ours", theirs, "-o", "theirs"], output].concat();
                let Some(_) = tool::run("srec_cat", &arguments, folder.path()) else { return };
                let found = taken(back, &at("theirs"));
                assert_eq!(bytes_of(&found), bytes_of(original), "{} to {output:?}", format.title());
                if back != HEX && format != HEX {
                    assert_eq!(found.entry, original.entry, "{} to {output:?}", format.title());
                }
            }
        }
    }
}

/// Reads `ours`, prints its segments with their bytes, and writes them anew to `theirs`.
const INTELHEX: &str = "
from intelhex import IntelHex
hex = IntelHex('ours')
for start, end in hex.segments():
    print('%04X' % start, bytes(hex.tobinarray(start=start, end=end - 1)).hex())
hex.write_hex_file('theirs')
";

#[test]
fn intelhex_reads_and_writes_intel_hex() {
    let folder = tempfile::tempdir().unwrap();
    let Some(found) =
        tool::run("python3", &["-c", "import importlib.util as u; print(u.find_spec('intelhex'))"], folder.path())
    else {
        return;
    };
    if found.trim() == "None" {
        return tool::skip("intelhex");
    }
    for original in samples() {
        fs::write(folder.path().join("ours"), write(HEX, &original)).unwrap();
        let Some(printed) = tool::run("python3", &["-c", INTELHEX], folder.path()) else { return };
        let expected: String =
            original.extents().map(|extent| format!("{:04X} {}\n", extent.base.0, hex::encode(extent.bytes))).collect();
        assert!(printed == expected, "{printed}\n{expected}");
        assert_eq!(bytes_of(&taken(HEX, &folder.path().join("theirs"))), bytes_of(&original));
    }
}

/// The last 512 bytes of memory with its labels, a variable elsewhere and a constant.
fn boot_rom() -> Image {
    let bytes = (0..512u32).map(|at| (at * 7) as u8).collect();
    let mut original = image(&[(0xFE00, bytes)], Some(0xFE00));
    let symbol = |name: &str, value, kind| Symbol { name: name.into(), value, kind };
    original.symbols = vec![
        symbol("ROOST", 0xFE00, SymbolKind::Label),
        symbol("CROW", 0xFFFF, SymbolKind::Label),
        symbol("PERCH", 0x1000, SymbolKind::Label),
        symbol("BELLS", 0o156, SymbolKind::Constant),
    ];
    original
}

#[test]
fn readelf_has_no_warning_and_sees_section_and_entry() {
    let folder = tempfile::tempdir().unwrap();
    for original in samples().into_iter().chain([boot_rom()]) {
        fs::write(folder.path().join("ours"), write(Format::Elf, &original)).unwrap();
        let script = "readelf -a --wide --lint ours 2>&1";
        let Some(printed) = tool::run("sh", &["-c", script], folder.path()) else { return };
        let warned = printed.to_lowercase().contains("warning") || printed.contains("rror");
        assert!(!warned, "{printed}");
        for extent in original.extents() {
            assert!(printed.contains(&format!(".at_{:04X}", extent.base.0)), "{printed}");
        }
        let entry = original.entry.map_or(0, |entry| entry.0);
        assert!(printed.contains(&format!("Entry point address:               0x{entry:x}\n")), "{printed}");
    }
}

#[test]
fn nm_lists_every_symbol_and_objdump_every_byte() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("ours"), write(Format::Elf, &boot_rom())).unwrap();
    let Some(printed) = tool::run("nm", &["-n", "ours"], folder.path()) else { return };
    assert_eq!(printed, "0000006e A BELLS\n00001000 A PERCH\n0000fe00 T ROOST\n0000ffff T CROW\n");
    let Some(printed) = tool::run("objdump", &["-s", "ours"], folder.path()) else { return };
    assert!(printed.contains(" fe00 00070e15 1c232a31 383f464d 545b6269 "), "{printed}");
    assert!(printed.contains(" fff0 90979ea5 acb3bac1 c8cfd6dd e4ebf2f9 "), "{printed}");
}

/// A linker's file has program headers, its own symbols and another machine; what is not linked is refused.
#[test]
fn a_linked_file_is_read_and_an_unlinked_one_refused() {
    let folder = tempfile::tempdir().unwrap();
    let source = ".globl _start\n.byte 1\n_start: .long _start\n.data\n.byte 9, 8\n";
    fs::write(folder.path().join("tune.s"), source).unwrap();
    let Some(_) = tool::run("as", &["--32", "-o", "tune.o", "tune.s"], folder.path()) else { return };
    let arguments = ["-m", "elf_i386", "-Ttext=0x1000", "-Tdata=0x3000", "-o", "tune.elf", "tune.o"];
    let Some(_) = tool::run("ld", &arguments, folder.path()) else { return };
    let (reading, sources) = read(Format::Elf, &fs::read(folder.path().join("tune.elf")).unwrap());
    assert_eq!(bytes_of(&reading.image), [(0x1000, vec![1, 1, 0x10, 0, 0]), (0x3000, vec![9, 8])]);
    assert_eq!(reading.image.entry.map(|entry| entry.0), Some(0x1001));
    assert!(reading.image.symbols.iter().any(|symbol| symbol.name == "_start" && symbol.value == 0x1001));
    let codes = |reading: Reading, sources| -> Vec<_> {
        reading.problems.sorted(sources).iter().map(|problem| (problem.code, problem.severity)).collect()
    };
    assert_eq!(codes(reading, &sources), [(Code::ElfUnfit, Severity::Warning)]);
    let (reading, sources) = read(Format::Elf, &fs::read(folder.path().join("tune.o")).unwrap());
    assert_eq!(codes(reading, &sources), [(Code::ElfUnfit, Severity::Error)]);
}

#[test]
fn a_c_compiler_takes_the_table() {
    let folder = tempfile::tempdir().unwrap();
    let table = write(Format::ByteTable(coldwright::image::byte_table::Language::C), &boot_rom());
    fs::write(folder.path().join("table.c"), &table).unwrap();
    let main = "#include <stdio.h>\n#include \"table.c\"\nint main(void)\n{\n    fwrite(extent_FE00, 1, sizeof extent_FE00, stdout);\n    return 0;\n}\n";
    fs::write(folder.path().join("main.c"), main).unwrap();
    let Some(_) = tool::run("cc", &["-Wall", "-Wextra", "-Werror", "-o", "main", "main.c"], folder.path()) else {
        return;
    };
    let Some(_) = tool::run("sh", &["-c", "./main > out"], folder.path()) else { return };
    assert!(fs::read(folder.path().join("out")).unwrap() == write(Format::Raw, &boot_rom()));
    assert_eq!(read_sound(Format::ByteTable(coldwright::image::byte_table::Language::C), &table), boot_rom());
}
