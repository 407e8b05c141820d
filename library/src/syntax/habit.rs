//! Habits of other hands: what a source may do that the language's manual does not have, and that can be read in one way
//! only. Each is accepted and counted.

/// What a source does that the manual does not have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Habit {
    /// A comment line that begins with an asterisk.
    Asterisk,
    /// A name that gets the value that it has.
    SameValue,
    /// `=` in place of EQU.
    EqualSign,
    /// The name of a file without quotes.
    BareName,
    /// A comparison in a condition that is made of signs.
    Comparison,
    /// Statements on one line, parted by `!`.
    Parted,
    /// A string in double quotes.
    DoubleQuotes,
    /// A directive with a dot before it, or under another name.
    OtherWord,
    /// A name with a dot in it.
    DottedName,
    /// A reserved word that names something of the user's.
    ReservedName,
    /// An instruction without operands, not in parentheses, as the number of its opcode.
    BareInstruction,
    /// `0x` before a hexadecimal number.
    HexPrefix,
    /// `*` as the location counter.
    StarLocation,
    /// Two colons behind a label.
    TwoColons,
    /// A number at the start of a line.
    LineNumber,
    /// Names offered to other modules.
    SharedNames,
}
