//! An image as an ELF file.

use object::elf;
use object::endian::Endianness;
use object::write::StringId;
use object::write::elf::{FileHeader, SectionHeader, Sym, Writer};

use super::note::{CHECKS, Checks, OWNER, entry_field};
use crate::image::{Extent, Image, Symbol, SymbolKind};

/// Index of the first section that holds an extent; the null section and the note come before.
const FIRST_EXTENT: u32 = 2;

/// An image as an ELF32 file: its bytes, symbols and entry. An entry of zero reads back as none, as the standard says.
///
/// # Errors
/// The reason given by the library that lays the file out; no image is known to cause one.
pub fn write(image: &Image) -> Result<Vec<u8>, object::write::Error> {
    let extents: Vec<_> = image.extents().collect();
    let names: Vec<_> = extents.iter().map(|extent| format!(".at_{:04X}", extent.base.0)).collect();
    let note = note(Checks::of(image));
    let mut out = Vec::new();
    let mut writer = Writer::new(Endianness::Little, false, &mut out);
    let layout = reserve(&mut writer, image, &extents, &names, note.len())?;

    writer.write_file_header(&FileHeader {
        os_abi: elf::ELFOSABI_NONE,
        abi_version: 0,
        e_type: elf::ET_EXEC,
        e_machine: elf::EM_NONE,
        e_entry: entry_field(image.entry).into(),
        e_flags: Default::default(),
    })?;
    writer.pad_until(layout.note_at);
    writer.write(&note);
    for extent in &extents {
        writer.write(extent.bytes);
    }
    writer.write_null_symbol();
    for (symbol, name) in image.symbols.iter().zip(&layout.symbol_names) {
        let sym = sym(symbol, writer.string_offset(Some(*name)), &extents);
        writer.write_symbol(&sym);
    }
    writer.write_strtab();
    writer.write_shstrtab();
    write_section_headers(&mut writer, &extents, &layout, note.len());
    Ok(out)
}

/// Where things will stand in the file.
struct Layout {
    note_name: StringId,
    note_at: u64,
    extent_names: Vec<StringId>,
    extents_at: Vec<u64>,
    symbol_names: Vec<StringId>,
}

/// Reserves every part in the order in which it is written.
fn reserve<'a>(
    writer: &mut Writer<'a>,
    image: &'a Image,
    extents: &[Extent<'_>],
    names: &'a [String],
    note: usize,
) -> Result<Layout, object::write::Error> {
    writer.reserve_file_header();
    writer.reserve_null_section_index();
    writer.reserve_section_index();
    let note_name = writer.add_section_name(b".note.coldwright");
    let note_at = writer.reserve(note as u64, 4);
    let mut extent_names = Vec::with_capacity(extents.len());
    let mut extents_at = Vec::with_capacity(extents.len());
    for (extent, name) in extents.iter().zip(names) {
        writer.reserve_section_index();
        extent_names.push(writer.add_section_name(name.as_bytes()));
        extents_at.push(writer.reserve(extent.bytes.len() as u64, 1));
    }
    writer.reserve_null_symbol_index();
    let symbol_names = image.symbols.iter().map(|symbol| writer.add_string(symbol.name.as_bytes())).collect();
    for _ in &image.symbols {
        writer.reserve_symbol_index(None);
    }
    writer.reserve_symtab_section_index();
    writer.reserve_strtab_section_index();
    writer.reserve_shstrtab_section_index();
    writer.reserve_symtab();
    writer.reserve_strtab()?;
    writer.reserve_shstrtab()?;
    writer.reserve_section_headers();
    Ok(Layout { note_name, note_at, extent_names, extents_at, symbol_names })
}

fn write_section_headers(writer: &mut Writer<'_>, extents: &[Extent<'_>], layout: &Layout, note: usize) {
    writer.write_null_section_header();
    let plain = SectionHeader {
        sh_name: writer.section_name_offset(Some(layout.note_name)),
        sh_type: elf::SHT_NOTE,
        sh_flags: Default::default(),
        sh_addr: 0,
        sh_offset: layout.note_at,
        sh_size: note as u64,
        sh_link: 0,
        sh_info: 0,
        sh_addralign: 4,
        sh_entsize: 0,
    };
    writer.write_section_header(&plain);
    for ((extent, name), at) in extents.iter().zip(&layout.extent_names).zip(&layout.extents_at) {
        let sh_name = writer.section_name_offset(Some(*name));
        writer.write_section_header(&SectionHeader {
            sh_name,
            sh_type: elf::SHT_PROGBITS,
            sh_flags: elf::SHF_ALLOC | elf::SHF_EXECINSTR,
            sh_addr: u64::from(extent.base.0),
            sh_offset: *at,
            sh_size: extent.bytes.len() as u64,
            sh_addralign: 1,
            ..plain.clone()
        });
    }
    writer.write_symtab_section_header(1);
    writer.write_strtab_section_header();
    writer.write_shstrtab_section_header();
}

fn sym(symbol: &Symbol, st_name: u32, extents: &[Extent<'_>]) -> Sym {
    let nearest = extents.partition_point(|extent| extent.base.0 <= symbol.value).checked_sub(1);
    let within =
        nearest.filter(|&nearest| symbol.kind == SymbolKind::Label && symbol.value <= extents[nearest].last().0);
    let section = within.map(|extent| extent as u32 + FIRST_EXTENT);
    let reserved = symbol.kind == SymbolKind::Label && section.is_none();
    let kind = if reserved { elf::STT_OBJECT } else { elf::STT_NOTYPE };
    Sym {
        section,
        st_name,
        st_info: elf::SymbolInfo::new(elf::STB_GLOBAL, kind),
        st_other: Default::default(),
        st_shndx: if section.is_none() { elf::SHN_ABS } else { Default::default() },
        st_value: u64::from(symbol.value),
        st_size: 0,
    }
}

/// The note: sizes of owner and contents, type, then both, each padded to a multiple of four.
fn note(checks: Checks) -> Vec<u8> {
    let mut out = Vec::new();
    for word in [OWNER.len() as u32 + 1, 8, CHECKS] {
        out.extend(word.to_le_bytes());
    }
    out.extend_from_slice(OWNER);
    out.resize(12 + (OWNER.len() + 1).next_multiple_of(4), 0);
    out.extend(checks.memory.to_le_bytes());
    out.extend(checks.symbols.to_le_bytes());
    out
}
