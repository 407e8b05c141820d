//! The words of what is seen.

use std::fmt;

use logos::Logos;

/// One word, number or sign. Words in capitals are the same words.
#[derive(Logos, Clone, Debug, PartialEq)]
#[logos(skip r"[ \t\r\n.]+")]
// Words that a person says and that tell nothing.
#[logos(skip(r"the|is|are|it|there|lights|lamps", ignore(case)))]
pub(super) enum Token<'t> {
    #[token("halted", ignore(case))]
    Halted,
    #[token("running", ignore(case))]
    #[token("runs", ignore(case))]
    Running,
    #[token("stopped", ignore(case))]
    Stopped,
    #[token("at", ignore(case))]
    At,
    #[token("address", ignore(case))]
    Address,
    #[token("data", ignore(case))]
    Data,
    #[token("flickers", ignore(case))]
    #[token("flicker", ignore(case))]
    Flickers,
    #[token("to", ignore(case))]
    To,
    #[token("or", ignore(case))]
    Or,
    #[token("lit", ignore(case))]
    #[token("on", ignore(case))]
    Lit,
    #[token("dark", ignore(case))]
    #[token("off", ignore(case))]
    Dark,
    #[token("holds", ignore(case))]
    Holds,
    #[token("lamp", ignore(case))]
    Lamp,
    #[token("of", ignore(case))]
    Of,
    #[token("port", ignore(case))]
    Port,
    #[token("shows", ignore(case))]
    #[token("show", ignore(case))]
    Shows,
    #[token("tape", ignore(case))]
    Tape,
    #[token("ran", ignore(case))]
    Ran,
    /// Of a tape, or the status light.
    #[token("out", ignore(case))]
    Out,
    #[token("still", ignore(case))]
    Still,
    #[token("terminal", ignore(case))]
    Terminal,
    #[token("nothing", ignore(case))]
    Nothing,
    /// The sheet, by which its CHECK rows are meant.
    #[token("sheet", ignore(case))]
    #[token("check", ignore(case))]
    #[token("checks", ignore(case))]
    Sheet,
    #[token("listing", ignore(case))]
    Listing,
    #[token("agrees", ignore(case))]
    #[token("agree", ignore(case))]
    Agrees,
    #[token("differs", ignore(case))]
    #[token("differ", ignore(case))]
    Differs,
    #[token("with", ignore(case))]
    With,
    #[token(",")]
    #[token(";")]
    #[token("and", ignore(case))]
    And,
    /// A name, or a number in hexadecimal.
    #[regex(r"[A-Za-z][A-Za-z0-9_-]*")]
    Name(&'t str),
    /// A number, whose digits are judged later.
    #[regex(r"[0-9][0-9A-Za-z:]*")]
    Number(&'t str),
    /// What a terminal shows, between its quotes.
    #[regex(r#""[^"]*""#, |lex| { let text = lex.slice(); &text[1..text.len() - 1] })]
    Text(&'t str),
}

impl fmt::Display for Token<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Token::Halted => "halted",
            Token::Running => "running",
            Token::Stopped => "stopped",
            Token::At => "at",
            Token::Address => "address",
            Token::Data => "data",
            Token::Flickers => "flickers",
            Token::To => "to",
            Token::Or => "or",
            Token::Lit => "lit",
            Token::Dark => "dark",
            Token::Holds => "holds",
            Token::Lamp => "lamp",
            Token::Of => "of",
            Token::Port => "port",
            Token::Shows => "shows",
            Token::Tape => "tape",
            Token::Ran => "ran",
            Token::Out => "out",
            Token::Still => "still",
            Token::Terminal => "terminal",
            Token::Nothing => "nothing",
            Token::Sheet => "sheet",
            Token::Listing => "listing",
            Token::Agrees => "agrees",
            Token::Differs => "differs",
            Token::With => "with",
            Token::And => ",",
            Token::Name(text) | Token::Number(text) => text,
            Token::Text(text) => return write!(f, "\"{text}\""),
        })
    }
}

/// The words with which an observation can begin or go on, for those that are mistyped.
pub(super) const WORDS: [&str; 27] = [
    "halted", "running", "stopped", "at", "address", "data", "flickers", "to", "or", "lit", "dark", "holds", "lamp",
    "of", "port", "shows", "tape", "ran", "out", "still", "terminal", "nothing", "sheet", "listing", "agrees",
    "differs", "with",
];
