//! mc6850-2.asm, i8251-2.asm and uart-2.asm: the files of the chips once more, for a second device.

use coldwright::assembler::STDLIB;

use super::bench::{Chip, header, image};

/// The code is that of the first file under other names, so that what is measured there holds here.
#[test]
fn a_second_chip_has_the_code_of_the_first() {
    for chip in ["mc6850", "i8251", "uart"] {
        let text = |name: &str| STDLIB.iter().find(|file| file.name == name).unwrap().text;
        let (first, second) = (text(&format!("{chip}.asm")), text(&format!("{chip}-2.asm")));
        let code = |text: &'static str| text.split_once("\n\n").unwrap().1;
        assert_eq!(code(first).replace("SER", "SR2"), code(second), "{chip}");
        for row in header(chip).lines().filter(|line| line.starts_with("; SER")) {
            let row = row.replace("SER", "SR2");
            assert!(header(&format!("{chip}-2")).contains(&row), "{chip}-2 lacks {row}");
        }
    }
}

/// Any two chips stand in one program, those of one kind too.
#[test]
fn two_chips_stand_in_one_program() {
    let second = "SR2ST   EQU     211Q\nSR2DT   EQU     210Q\nSR2FMT  EQU     25Q\nSR2MOD  EQU     316Q\n\
                  SR2RX   EQU     100Q\nSR2TX   EQU     2\nSR2LOW  EQU     0\n";
    for first in [Chip::Mc6850, Chip::I8251, Chip::UartHigh] {
        for other in ["mc6850", "i8251", "uart"] {
            let source = format!(
                "{}{second}        CALL    SERINI\n        CALL    SR2INI\n        CALL    SERTST\n        CALL    SR2TST\n\
                         CALL    SERIN\n        CALL    SR2OUT\n        CALL    SR2IN\n        CALL    SEROUT\n        HLT\n\
                         INCLUDE '{}.asm'\n        INCLUDE '{other}-2.asm'\n        END\n",
                first.constants(),
                first.file(),
            );
            let image = image(&source);
            assert!(["SEROUT", "SR2OUT"].iter().all(|name| image.symbols.iter().any(|symbol| symbol.name == *name)));
        }
    }
}
