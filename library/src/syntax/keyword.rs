//! The reserved words, and the words that only mean something where an operation stands.

use crate::isa::{FORMS, Mnemonic, Pair, Register};

use super::operator::{Binary, Unary};

/// What a word means to the language.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keyword {
    /// An instruction.
    Mnemonic(Mnemonic),
    /// A register or register pair.
    Register(RegisterName),
    /// An operator before its operand.
    Unary(Unary),
    /// An operator between its operands.
    Binary(Binary),
    /// A directive, of the manual or beyond it.
    Directive(Directive),
    /// A listing control of printed sources.
    Control(Control),
    /// A directive of relocatable programs.
    Relocation(Relocation),
    /// A directive as other hands write it.
    OtherHands(Directive),
}

impl Keyword {
    /// Whether the manual reserves the word, so that it can name nothing else. The directives beyond the manual, listing
    /// controls, relocation directives and the words of other hands step aside for a user's own name.
    pub const fn is_reserved(self) -> bool {
        match self {
            Keyword::Mnemonic(_) | Keyword::Register(_) | Keyword::Unary(_) | Keyword::Binary(_) => true,
            Keyword::Directive(directive) => !directive.is_beyond_manual(),
            Keyword::Control(_) | Keyword::Relocation(_) | Keyword::OtherHands(_) => false,
        }
    }

    /// Whether the word can stand where an operation does.
    pub const fn is_operation(self) -> bool {
        !matches!(self, Keyword::Register(_) | Keyword::Unary(_) | Keyword::Binary(_))
    }
}

/// A register as a word of the language.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum RegisterName {
    A,
    B,
    C,
    D,
    E,
    H,
    L,
    M,
    Sp,
    Psw,
}

impl RegisterName {
    /// Its spelling.
    pub const fn name(self) -> &'static str {
        match self {
            RegisterName::Sp => "SP",
            RegisterName::Psw => "PSW",
            _ => match self.register() {
                Some(register) => register.name(),
                None => "",
            },
        }
    }

    /// The code by which an expression may name the register: B=0 C=1 D=2 E=3 H=4 L=5 M=6 A=7, SP=6, PSW=6.
    pub const fn code(self) -> u16 {
        match self {
            RegisterName::Sp | RegisterName::Psw => 6,
            _ => match self.register() {
                Some(register) => register as u16,
                None => 6,
            },
        }
    }

    /// The eight-bit register of this name.
    pub const fn register(self) -> Option<Register> {
        Some(match self {
            RegisterName::A => Register::A,
            RegisterName::B => Register::B,
            RegisterName::C => Register::C,
            RegisterName::D => Register::D,
            RegisterName::E => Register::E,
            RegisterName::H => Register::H,
            RegisterName::L => Register::L,
            RegisterName::M => Register::M,
            RegisterName::Sp | RegisterName::Psw => return None,
        })
    }

    /// The register pair of this name.
    pub const fn pair(self) -> Option<Pair> {
        Some(match self {
            RegisterName::B => Pair::B,
            RegisterName::D => Pair::D,
            RegisterName::H => Pair::H,
            RegisterName::Sp => Pair::Sp,
            RegisterName::Psw => Pair::Psw,
            _ => return None,
        })
    }
}

/// The directives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Directive {
    /// Set the location counter.
    Org,
    /// Give a name a fixed value.
    Equ,
    /// Give a name a value that may change.
    Set,
    /// End of the program, with its start address.
    End,
    /// Bytes and strings.
    Db,
    /// Words, low byte first.
    Dw,
    /// Reserve bytes.
    Ds,
    #[allow(missing_docs)]
    If,
    #[allow(missing_docs)]
    Else,
    #[allow(missing_docs)]
    EndIf,
    /// Define a macro.
    Macro,
    /// End a macro, or the body of a repetition.
    EndM,
    /// Names unique to each expansion.
    Local,
    /// Repeat a number of times.
    Rept,
    /// Repeat for each item of a list.
    Irp,
    /// Repeat for each character of a text.
    Irpc,
    /// End an expansion early.
    ExitM,
    /// Beyond the manual: read another source file here.
    Include,
    /// Beyond the manual: the raw bytes of a file.
    Embed,
    /// Beyond the manual: assemble here for another run address.
    RunAt,
    /// Beyond the manual: end of `RUNAT`.
    EndRun,
    /// Beyond the manual: fail with a message unless an expression holds.
    Insist,
    /// Beyond the manual: a region with a size limit.
    Limit,
    /// Beyond the manual: end of `LIMIT`.
    EndLimit,
    /// Beyond the manual: go on at the next multiple of a number.
    Boundary,
    /// Beyond the manual: a number of equal bytes.
    Stuff,
    /// Beyond the manual: equal bytes up to an address.
    StuffTo,
}

impl Directive {
    /// Whether it is one of ours rather than the manual's.
    pub const fn is_beyond_manual(self) -> bool {
        use Directive::*;
        matches!(self, Include | Embed | RunAt | EndRun | Insist | Limit | EndLimit | Boundary | Stuff | StuffTo)
    }

    /// The least and the most operands that it takes.
    #[inline]
    pub(super) const fn operand_range(self) -> (u32, u32) {
        use Directive::*;
        match self {
            Org | Equ | Set | Ds | If | Rept | Include | RunAt => (1, 1),
            Db | Dw => (1, u32::MAX),
            End => (0, 1),
            Embed => (1, 3),
            Insist | Limit | Boundary => (1, 2),
            Stuff | StuffTo => (2, 2),
            Else | EndIf | Macro | EndM | Local | Irp | Irpc | ExitM | EndRun | EndLimit => (0, 0),
        }
    }

    /// Whether a string by itself may be an operand.
    pub(super) const fn takes_strings(self) -> bool {
        use Directive::*;
        matches!(self, Db | Include | Embed | Insist | Limit)
    }

    /// Whether what follows is text for the assembler and no operands.
    pub const fn takes_text(self) -> bool {
        use Directive::*;
        matches!(self, Macro | Local | Irp | Irpc)
    }
}

/// Marks in printed sources that steer the listing or state what is so here anyway.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Control {
    /// Titles, page ejects, listing switches.
    Listing,
    /// Absolute segment, module name, the mark of the processor: what every program is here.
    Absolute,
}

/// Directives of programs that are relocated and linked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Relocation {
    /// The code segment.
    Code,
    /// The data segment.
    Data,
    /// The length of the stack.
    Stack,
    /// Names offered to other modules.
    Public,
    /// Names that other modules offer.
    External,
}

/// Every word with its meaning; the place in this list is the number of its name.
pub(super) static KEYWORDS: [(&str, Keyword); FORMS.len() + OTHERS.len()] = {
    let mut all = [OTHERS[0]; FORMS.len() + OTHERS.len()];
    let mut at = 0;
    while at < FORMS.len() {
        all[at] = (FORMS[at].name, Keyword::Mnemonic(FORMS[at].mnemonic));
        at += 1;
    }
    while at < all.len() {
        all[at] = OTHERS[at - FORMS.len()];
        at += 1;
    }
    all
};

const OTHERS: [(&str, Keyword); 69 + 23] = {
    use Control::*;
    use Directive::*;
    use Keyword as K;
    use RegisterName as R;
    [
        ("A", K::Register(R::A)),
        ("B", K::Register(R::B)),
        ("C", K::Register(R::C)),
        ("D", K::Register(R::D)),
        ("E", K::Register(R::E)),
        ("H", K::Register(R::H)),
        ("L", K::Register(R::L)),
        ("M", K::Register(R::M)),
        ("SP", K::Register(R::Sp)),
        ("PSW", K::Register(R::Psw)),
        ("NOT", K::Unary(Unary::Not)),
        ("HIGH", K::Unary(Unary::High)),
        ("LOW", K::Unary(Unary::Low)),
        ("NUL", K::Unary(Unary::Nul)),
        ("MOD", K::Binary(Binary::Mod)),
        ("SHL", K::Binary(Binary::Shl)),
        ("SHR", K::Binary(Binary::Shr)),
        ("EQ", K::Binary(Binary::Eq)),
        ("NE", K::Binary(Binary::Ne)),
        ("LT", K::Binary(Binary::Lt)),
        ("LE", K::Binary(Binary::Le)),
        ("GT", K::Binary(Binary::Gt)),
        ("GE", K::Binary(Binary::Ge)),
        ("AND", K::Binary(Binary::And)),
        ("OR", K::Binary(Binary::Or)),
        ("XOR", K::Binary(Binary::Xor)),
        ("ORG", K::Directive(Org)),
        ("EQU", K::Directive(Equ)),
        ("SET", K::Directive(Set)),
        ("END", K::Directive(End)),
        ("DB", K::Directive(Db)),
        ("DW", K::Directive(Dw)),
        ("DS", K::Directive(Ds)),
        ("IF", K::Directive(If)),
        ("ELSE", K::Directive(Else)),
        ("ENDIF", K::Directive(EndIf)),
        ("MACRO", K::Directive(Macro)),
        ("ENDM", K::Directive(EndM)),
        ("LOCAL", K::Directive(Local)),
        ("REPT", K::Directive(Rept)),
        ("IRP", K::Directive(Irp)),
        ("IRPC", K::Directive(Irpc)),
        ("EXITM", K::Directive(ExitM)),
        ("INCLUDE", K::Directive(Include)),
        ("EMBED", K::Directive(Embed)),
        ("RUNAT", K::Directive(RunAt)),
        ("ENDRUN", K::Directive(EndRun)),
        ("INSIST", K::Directive(Insist)),
        ("LIMIT", K::Directive(Limit)),
        ("ENDLIMIT", K::Directive(EndLimit)),
        ("BOUNDARY", K::Directive(Boundary)),
        ("STUFF", K::Directive(Stuff)),
        ("STUFFTO", K::Directive(StuffTo)),
        ("TITLE", K::Control(Listing)),
        ("SUBTITLE", K::Control(Listing)),
        ("EJECT", K::Control(Listing)),
        ("PAGE", K::Control(Listing)),
        ("SPACE", K::Control(Listing)),
        ("LIST", K::Control(Listing)),
        ("NOLIST", K::Control(Listing)),
        ("XREF", K::Control(Listing)),
        ("NOXREF", K::Control(Listing)),
        ("ASEG", K::Control(Absolute)),
        ("NAME", K::Control(Absolute)),
        ("CSEG", K::Relocation(Relocation::Code)),
        ("DSEG", K::Relocation(Relocation::Data)),
        ("STKLN", K::Relocation(Relocation::Stack)),
        ("PUBLIC", K::Relocation(Relocation::Public)),
        ("EXTRN", K::Relocation(Relocation::External)),
        (".8080", K::Control(Absolute)),
        ("DEFB", K::OtherHands(Db)),
        ("DEFW", K::OtherHands(Dw)),
        ("DEFS", K::OtherHands(Ds)),
        (".ORG", K::OtherHands(Org)),
        (".EQU", K::OtherHands(Equ)),
        (".SET", K::OtherHands(Set)),
        (".END", K::OtherHands(End)),
        (".DB", K::OtherHands(Db)),
        (".DW", K::OtherHands(Dw)),
        (".DS", K::OtherHands(Ds)),
        (".IF", K::OtherHands(If)),
        (".ELSE", K::OtherHands(Else)),
        (".ENDIF", K::OtherHands(EndIf)),
        (".MACRO", K::OtherHands(Macro)),
        (".ENDM", K::OtherHands(EndM)),
        (".LOCAL", K::OtherHands(Local)),
        (".REPT", K::OtherHands(Rept)),
        (".IRP", K::OtherHands(Irp)),
        (".IRPC", K::OtherHands(Irpc)),
        (".EXITM", K::OtherHands(ExitM)),
        (".INCLUDE", K::OtherHands(Include)),
        (".TITLE", K::Control(Listing)),
    ]
};
