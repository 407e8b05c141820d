//! The stable codes of all problems. A code is a word or two that says what is wrong; `explain` prints its page from
//! `docs/diagnostics/`, and a test proves that every code has a case that provokes it.

/// Declares the codes, each with its name; the page is the file of that name.
macro_rules! codes {
    ($($(#[$section:meta])* $code:ident $name:literal;)*) => {
        /// The code of a problem.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[allow(missing_docs)]
        pub enum Code { $($(#[$section])* $code),* }

        impl Code {
            /// All codes, in the order of the floors that report them.
            pub const ALL: &'static [Code] = &[$(Code::$code),*];

            /// The code as it is printed and as `explain` takes it.
            pub const fn name(self) -> &'static str {
                match self { $(Code::$code => $name),* }
            }

            /// The page that explains it, in Markdown.
            pub const fn page(self) -> &'static str {
                match self { $(Code::$code => include_str!(concat!("../../../docs/diagnostics/", $name, ".md"))),* }
            }
        }
    };
}

codes! {
    // Files and the command line
    FileUnreadable "file-unreadable";
    FileUnwritable "file-unwritable";
    OutputsMixed "outputs-mixed";
    FormatUnknown "format-unknown";
    CodeUnknown "code-unknown";
    // The text of an assembly source
    CharacterUnknown "character-unknown";
    StringOpen "string-open";
    StringAsNumber "string-as-number";
    NotAscii "not-ascii";
    ConstantBad "constant-bad";
    UnexpectedText "unexpected-text";
    NestedTooDeep "nested-too-deep";
    OperandCount "operand-count";
    OperationUnknown "operation-unknown";
    // Names and values
    SymbolUndefined "symbol-undefined";
    SymbolTwice "symbol-twice";
    SymbolForward "symbol-forward";
    SymbolCircular "symbol-circular";
    SymbolUnsteady "symbol-unsteady";
    SymbolUnused "symbol-unused";
    NameReserved "name-reserved";
    NameMissing "name-missing";
    RegisterWrong "register-wrong";
    RegisterAsNumber "register-as-number";
    ValueRange "value-range";
    ValueCut "value-cut";
    DivisionByZero "division-by-zero";
    ConditionUnclear "condition-unclear";
    // Layout in memory
    BytesOverlap "bytes-overlap";
    PastTop "past-top";
    RegionUnbalanced "region-unbalanced";
    LimitExceeded "limit-exceeded";
    InsistFailed "insist-failed";
    // Conditionals, macros, files
    ConditionalUnbalanced "conditional-unbalanced";
    MacroUnbalanced "macro-unbalanced";
    MacroArgument "macro-argument";
    MacroMisplaced "macro-misplaced";
    ExpansionBound "expansion-bound";
    IncludeRing "include-ring";
    IncludeMissing "include-missing";
    // Marks of other tools
    ControlZ "control-z";
    OtherHands "other-hands";
    ParityRemoved "parity-removed";
    ListingControl "listing-control";
    RelocationUnsupported "relocation-unsupported";
    // What bites at the bench
    LabelDoubtful "label-doubtful";
    OpcodeUndocumented "opcode-undocumented";
    EntryOutside "entry-outside";
    RunsIntoNothing "runs-into-nothing";
    JumpInside "jump-inside";

    // Images
    CaptureNoted "capture-noted";
    ElfChanged "elf-changed";
    ElfMalformed "elf-malformed";
    ElfUnfit "elf-unfit";
    FormatLoss "format-loss";
    FormatMismatch "format-mismatch";
    ImageOverlap "image-overlap";
    ImagePastTop "image-past-top";
    RawGap "raw-gap";
    RawOrigin "raw-origin";
    RecordChecksum "record-checksum";
    RecordCount "record-count";
    RecordDigit "record-digit";
    RecordEnd "record-end";
    RecordField "record-field";
    RecordOrder "record-order";
    RecordTally "record-tally";
    RecordText "record-text";
    RecordType "record-type";
    RecordWrap "record-wrap";
    TableRow "table-row";

    // ROM sockets and parts
    PartUnknown "part-unknown";
    PartMalformed "part-malformed";
    SocketMalformed "socket-malformed";
    SocketClash "socket-clash";
    SocketOverflow "socket-overflow";
    SocketStray "socket-stray";
    SpareShort "spare-short";
    CheckMisplaced "check-misplaced";
    CheckWrong "check-wrong";
    PartFileWrong "part-file-wrong";
    SavedUnreadable "saved-unreadable";

    // Machine and chain files
    TomlMalformed "toml-malformed";
    MachineValue "machine-value";
    // The chain as a whole
    NameTwice "name-twice";
    HomeUnknown "home-unknown";
    LineUnknown "line-unknown";
    EntryMissing "entry-missing";
    PanelLimit "panel-limit";
    StagesOverlap "stages-overlap";
    PortUnwired "port-unwired";
    SenseContradiction "sense-contradiction";
    // The rehearsal
    HangsOnNoise "hangs-on-noise";
    PointerUnset "pointer-unset";
    CharacterLost "character-lost";
    DriveMisused "drive-misused";
    RanUnloaded "ran-unloaded";
    RanData "ran-data";
    RanStray "ran-stray";
    WroteRom "wrote-rom";
    WroteNeeded "wrote-needed";
    WroteNowhere "wrote-nowhere";
    StackUnset "stack-unset";
    StackNowhere "stack-nowhere";
    NeverEnds "never-ends";
    StoppedEarly "stopped-early";
    ByteWrong "byte-wrong";
    TakesTooLong "takes-too-long";
    FormatDiffers "format-differs";
    // The panel
    AddressUnreachable "address-unreachable";
    OutsideMemory "outside-memory";
    NothingToDeposit "nothing-to-deposit";
    SheetLong "sheet-long";
    // The serial line
    PortUnavailable "port-unavailable";
    LineAnswer "line-answer";
    TransferStopped "transfer-stopped";
    // Tapes
    FramingUnknown "framing-unknown";
    FramingUndecodable "framing-undecodable";
    FieldUnknown "field-unknown";
    TapeUnfit "tape-unfit";
    TapeDamaged "tape-damaged";
    LetteringUnfit "lettering-unfit";
    // Shortening
    ShortenUnseen "shorten-unseen";
    ShortenUnapplied "shorten-unapplied";
    CouldBeShorter "could-be-shorter";
    SourceUnformatted "source-unformatted";
    // Disks
    LayoutUnknown "layout-unknown";
    LayoutUnusable "layout-unusable";
    DiskUnfit "disk-unfit";
    DiskDamaged "disk-damaged";
    // Old bytes back to source
    DumpUnreadable "dump-unreadable";
    HintMalformed "hint-malformed";
    HintUnused "hint-unused";
    ReadingsDiffer "readings-differ";
    SourceDiffers "source-differs";
    // When it does not start
    SeenUnclear "seen-unclear";
    // Tapes as sound
    SoundUnfit "sound-unfit";
    RecordingUnreadable "recording-unreadable";
}

impl Code {
    /// The code of a name, in either case.
    pub fn from_name(name: &str) -> Option<Code> {
        Code::ALL.iter().copied().find(|code| code.name().eq_ignore_ascii_case(name))
    }
}

impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}
