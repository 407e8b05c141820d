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
            NewChip::Mc6850 => "SERFMT  EQU     21Q             ; 8N2, clock of 16 times the speed\n",
            NewChip::I8251 => "SERMOD  EQU     316Q            ; 8N2, clock of 16 times the speed\n",
            NewChip::Uart => {
                "SERRX   EQU     1               ; bit 0: a character waits\n\
                 SERTX   EQU     200Q            ; bit 7: ready to send\n\
                 SERLOW  EQU     0               ; both are 1 for yes\n"
            }
        }
    }

    /// What the machine file says besides.
    fn bits(self) -> &'static str {
        match self {
            NewChip::Uart => {
                "\n[serial.bits]\n\
                 \"character received\" = { bit = 0, active = \"high\" }\n\
                 \"ready to send\" = { bit = 7, active = \"high\" }\n"
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
        files.push(("boot.asm", loader(wish, "BOOT", "176000Q", "The boot ROM: loads the payload.", false)));
    } else {
        files.push(("keyin.asm", keyin(wish)));
        // The S-record loader leaves no room for the check.
        let checks = wish.framing != NewFraming::SRecord;
        let purpose = "The second stage: checks itself, then loads the payload.";
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
         home = {{ tape = \"one\", framing = \"{}\" }}\n",
        framing.name()
    )
}

fn machine(wish: &Wish) -> String {
    let socket = match wish.rom {
        true => "\n[[socket]]\nname = \"U1\"\npart = \"2708\"\nbase = 0o176000\n",
        false => "",
    };
    format!(
        "# Describe your machine here: every command reads it.\n\n\
         clock_hz = 2_000_000\n\
         panel = {{ address = \"straight\", sense_port = 0o76 }}   # or \"split\", or \"hex\"\n\
         memory = [{{ base = 0, size = 0x2000 }}]\n{socket}\n\
         [[serial]]\nname = \"reader\"\nchip = \"{}\"\nstatus = 0o60\ndata = 0o61\nline = \"300 8N2\"\n{}\n\
         [[port]]\nnumber = 0o40\nout = \"lamps\"\n",
        wish.chip.file(),
        wish.chip.bits()
    )
}

fn ports(wish: &Wish) -> String {
    format!(
        "; ports.asm     What the machine is wired to.\n\n\
         SERST   EQU     60Q             ; reader: status and control\n\
         SERDT   EQU     61Q             ; its data\n{}\
         LAMPS   EQU     40Q\n\
         LDPORT  EQU     LAMPS           ; complaints light lamps\n\
         KIPAGE  EQU     0               ; page of the key-in loader\n\
         TOP     EQU     20000Q          ; first address above memory\n\
         HELLO   EQU     1000Q           ; where the payload lies\n",
        wish.chip.constants()
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
