//! Text to tokens to statements: the grammar of the language and nothing of its meaning. This floor does not know which
//! symbols exist, where the location counter stands, or what a macro expands to.
//!
//! Source: Intel 8080/8085 Assembly Language Programming Manual, 9800301, 1977.

mod expression;
mod habit;
mod keyword;
mod name;
mod number;
mod operator;
mod parser;
mod program;
mod statement;
mod token;

pub use expression::parse_expression;
pub use habit::Habit;
pub use keyword::{Control, Directive, Keyword, RegisterName, Relocation};
pub use name::{NameId, Names};
pub use number::unquote;
pub use number::{ConstantError, parse_constant};
pub use operator::{Binary, Unary};
pub(crate) use parser::not_ascii;
pub use parser::{Deepest, Detail, Failed, Silent, Told};
pub use program::{Expression, Mark, Op, Operand, Program, Step, Word};
pub use statement::{Label, Line, Operation, parse_line};
pub use token::{Token, TokenKind, lex, lex_line};
