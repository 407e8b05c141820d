//! A chain to start from: the files of `new`, for a chip, with or without a boot ROM, for a framing.

/// What a new chain is to be like.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wish {
    /// Its name.
    pub name: String,
    /// The serial chip.
    pub chip: NewChip,
    /// Whether a boot ROM takes the place of key-in loader and second stage.
    pub rom: bool,
    /// How the payload stands on its tape.
    pub framing: NewFraming,
}

/// A serial chip of a new chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NewChip {
    /// Motorola MC6850.
    Mc6850,
    /// Intel 8251.
    I8251,
    /// A hard-wired UART.
    Uart,
}

/// A framing of a new chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NewFraming {
    /// Numbered, checked blocks.
    Blocks,
    /// Intel HEX text.
    IntelHex,
    /// S-record text.
    SRecord,
}

impl NewChip {
    /// The library file of the chip.
    fn file(self) -> &'static str {
        match self {
            NewChip::Mc6850 => "mc6850",
            NewChip::I8251 => "i8251",
            NewChip::Uart => "uart",
        }
    }

    /// Bytes of its key-in loader.
    fn keyin(self) -> u8 {
        match self {
            NewChip::Mc6850 => 25,
            NewChip::I8251 => 24,
            NewChip::Uart => 17,
        }
    }

    /// What its library file wants to be defined.
    fn constants(self) -> &'static str {
        match self {
            NewChip::Mc6850 => {
                "; 21Q is 8N2; others with a clock of 16 times the speed: 25Q 8N1, 31Q 8E1, 35Q 8O1, 1Q 7E2, 11Q 7E1\n\
                 SERFMT  EQU     21Q             ; line, clock\n"
            }
            NewChip::I8251 => {
                "; 316Q is 8N2; others with a clock of 16 times the speed: 116Q 8N1, 176Q 8E1, 136Q 8O1, 372Q 7E2, 172Q 7E1\n\
                 SERMOD  EQU     316Q            ; line, clock\n"
            }
            NewChip::Uart => {
                "SERRX   EQU     40Q             ; bits: \"character received\", here bit 5\n\
                 SERTX   EQU     2               ; bits: \"ready to send\", here bit 1\n\
                 SERLOW  EQU     0               ; of these two, those that are 0 for yes: active = \"low\"\n"
            }
        }
    }

    /// What goes with the format of the line.
    fn line_note(self) -> &'static str {
        match self {
            NewChip::Mc6850 => "SERFMT",
            NewChip::I8251 => "SERMOD",
            NewChip::Uart => "wired to the chip: nothing in `ports.asm`",
        }
    }

    /// What the machine file says besides.
    fn bits(self) -> &'static str {
        match self {
            NewChip::Uart => {
                "\n[serial.bits]\n\
                 # \"high\": a 1 means yes; \"low\": a 0 does.\n\
                 \"character received\" = { bit = 5, active = \"high\" }   # SERRX, SERLOW\n\
                 \"ready to send\" = { bit = 1, active = \"high\" }        # SERTX, SERLOW\n"
            }
            _ => "",
        }
    }
}

impl NewFraming {
    fn name(self) -> &'static str {
        match self {
            NewFraming::Blocks => "blocks",
            NewFraming::IntelHex => "intel-hex",
            NewFraming::SRecord => "s-record",
        }
    }

    fn entry(self) -> &'static str {
        match self {
            NewFraming::Blocks => "LOADBL",
            NewFraming::IntelHex => "LOADHX",
            NewFraming::SRecord => "LOADSR",
        }
    }
}

/// The files of a new chain, by name.
pub fn scaffold(wish: &Wish) -> Vec<(&'static str, String)> {
    let mut files = vec![
        ("coldwright.toml", chain(wish)),
        ("machine.toml", machine(wish)),
        ("ports.asm", ports(wish)),
        ("hello.asm", HELLO.to_owned()),
    ];
    if wish.rom {
        files.push(("boot.asm", loader(wish, "BOOT", "BOOTAT", "The boot ROM: loads the payload.", false)));
    } else {
        files.push(("keyin.asm", keyin(wish)));
        // The S-record loader leaves no room for the check.
        let checks = wish.framing != NewFraming::SRecord;
        let purpose = match checks {
            true => "The second stage: checks itself, then loads the payload.",
            false => "The second stage: loads the payload. Nothing checks that it was read right itself.",
        };
        files.push(("courier.asm", loader(wish, "COURIER", "KIPAGE SHL 8 + 31Q", purpose, checks)));
    }
    files
}

fn chain(wish: &Wish) -> String {
    let Wish { name, chip, framing, .. } = wish;
    let loaders = match wish.rom {
        true => "# In ROM: it is there at power-on.\n[[stage]]\nname = \"boot\"\nsource = \"boot.asm\"\nhome = { socket = \"U1\" }\n".to_owned(),
        false => format!(
            "# Toggled in by hand.\n[[stage]]\nname = \"keyin\"\nsource = \"keyin.asm\"\nhome = {{ panel = {{ limit = {} }} }}\n\n\
             # Read by the key-in loader.\n[[stage]]\nname = \"courier\"\nsource = \"courier.asm\"\n\
             home = {{ tape = \"one\", framing = \"bare\" }}\n",
            chip.keyin()
        ),
    };
    format!(
        "[chain]\nname = \"{name}\"\nmachine = \"machine.toml\"\n\n{loaders}\n\
         # The payload.\n[[stage]]\nname = \"hello\"\nsource = \"hello.asm\"\n\
         home = {{ tape = \"one\", framing = \"{}\" }}\n\n\
         # For a recording to play from a cassette deck, take the marks away; the preset must carry the line.\n\
         # [[tape]]\n# name = \"one\"\n# sound = \"byte-300\"\n",
        framing.name()
    )
}

fn machine(wish: &Wish) -> String {
    let socket = match wish.rom {
        true => {
            "\n# `coldwright parts list` shows the known parts.\n[[socket]]\nname = \"U1\"\npart = \"2708\"\n\
             base = 0o176000          # BOOTAT\n"
        }
        false => "",
    };
    format!(
        "# Describe your machine here: every command reads it.\n\
         # The programs have their own copy of some of it in `ports.asm`: where a name of that file stands on the right,\n\
         # change both.\n\n\
         clock_hz = 2_000_000\n\
         # `address` is how your panel is read: \"straight\", six octal digits; \"split\", two bytes of three octal digits\n\
         # each; \"hex\", four hexadecimal digits. `sense_port` reads the sense switches; leave it out if there are none.\n\
         panel = {{ address = \"straight\", sense_port = 0o270 }}\n\
         memory = [{{ base = 0, size = 0x2000 }}]   # TOP\n{socket}\n\
         # `chip` is \"mc6850\", \"i8251\" or \"uart\". The sources include the file of the chip: for another one, make the\n\
         # chain anew with `coldwright new --chip`.\n\
         [[serial]]\nname = \"reader\"\nchip = \"{}\"\n\
         status = 0o75            # SERST\ndata = 0o74              # SERDT\n\
         line = \"300 8N2\"         # {}\n{}\n\
         [[port]]\nnumber = 0o135           # LAMPS\nout = \"lamps\"\n",
        wish.chip.file(),
        wish.chip.line_note(),
        wish.chip.bits()
    )
}

fn ports(wish: &Wish) -> String {
    format!(
        "; ports.asm     What the machine is wired to.\n;\n\
         ; Behind each name stands its key in `machine.toml`: where one changes, change the other.\n\n\
         SERST   EQU     75Q             ; status\n\
         SERDT   EQU     74Q             ; data\n{}\
         LAMPS   EQU     135Q            ; number of the lamps' [[port]]\n\
         TOP     EQU     20000Q          ; memory: the first address above it\n{}\n\
         ; What the programs agree on among themselves.\n\
         LDPORT  EQU     LAMPS           ; complaints light lamps\n\
         KIPAGE  EQU     0               ; page of the key-in loader\n\
         HELLO   EQU     1000Q           ; where the payload lies\n",
        wish.chip.constants(),
        if wish.rom { "BOOTAT  EQU     176000Q         ; base of the socket\n" } else { "" }
    )
}

fn keyin(wish: &Wish) -> String {
    format!(
        "; keyin.asm     The key-in loader.\n\n        INCLUDE 'ports.asm'\n        INCLUDE 'keyin-{}.asm'\n        END     KEYIN\n",
        wish.chip.file()
    )
}

fn loader(wish: &Wish, name: &str, origin: &str, purpose: &str, checks: bool) -> String {
    let (chip, framing) = (wish.chip.file(), wish.framing);
    let file = format!("{}.asm", name.to_lowercase());
    let mut text = format!(
        "{:<16}{purpose}\n\n        INCLUDE 'ports.asm'\nLDSTK   EQU     TOP\nLDRUN   EQU     HELLO\n\n        ORG     {origin}\n",
        format!("; {file}")
    );
    text += &format!("{:<8}LXI     SP,LDSTK\n", format!("{name}:"));
    if checks {
        text += "        CALL    BARECK          ; did the key-in loader read the page right?\n        JNZ     TORN\n";
    }
    text += &format!("        CALL    SERINI\n        JMP     {}\n\n", framing.entry());
    if checks {
        text += "TORN:   MVI     A,377Q          ; no: all lamps\n        OUT     LAMPS\n        HLT\n\n        INCLUDE 'check-bare.asm'\n";
    }
    text + &format!(
        "        INCLUDE '{chip}.asm'\n        INCLUDE 'load-{}.asm'\n        END     {name}\n",
        framing.name()
    )
}

const HELLO: &str = "; hello.asm     The payload: a light runs along the lamps.

        INCLUDE 'ports.asm'

        ORG     HELLO
START:  LXI     SP,TOP
        MVI     A,1
AGAIN:  OUT     LAMPS
        RLC
        MVI     C,0             ; a short rest
REST:   DCR     C
        JNZ     REST
        JMP     AGAIN

        END     START
";
