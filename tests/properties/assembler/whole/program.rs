//! A program as it is made up, and its text.

use super::random::Dice;

/// A part of an expression.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    Number(u16),
    /// One character, or two with the first in the high byte.
    Characters(String),
    /// A name of the program or a parameter.
    Name(String),
    /// A name that begins with a word and ends with the text of a parameter.
    Joined(String, String),
    Here,
    /// An operator, before or between operands.
    Operator(&'static str),
    Open,
    Close,
    /// `NUL` and what it looks at: a parameter, later its argument.
    Nul(Vec<Part>),
}

pub type Expression = Vec<Part>;

/// What a call passes.
#[derive(Clone, Debug)]
pub enum Argument {
    Text(Expression),
    /// The value at the time of the call.
    Value(Expression),
}

#[derive(Clone, Debug)]
pub enum Item {
    Value(Expression),
    /// Text with parameters in it, each marked by `&`.
    String(Vec<Piece>),
}

#[derive(Clone, Debug)]
pub enum Piece {
    Text(String),
    Parameter(String),
}

#[derive(Clone, Debug)]
pub struct Macro {
    pub name: Vec<Piece>,
    pub parameters: Vec<String>,
    pub locals: Vec<String>,
    pub body: Vec<Statement>,
}

#[derive(Clone, Debug)]
pub enum Statement {
    /// A label with or without its colon.
    Label(Part, bool),
    Bytes(Vec<Item>),
    Words(Vec<Expression>),
    /// Text of the operation with its register, its opcode, and its operand if it has one: a byte or a word.
    Instruction(&'static str, u8, Option<(bool, Expression)>),
    Space(Expression),
    Origin(Expression),
    Equ(String, Expression),
    Set(String, Expression),
    If(Expression, Vec<Statement>, Option<Vec<Statement>>),
    Repeat(Expression, Vec<Statement>),
    ForEach(String, Vec<Argument>, Vec<Statement>),
    ForCharacters(String, String, Vec<Statement>),
    Macro(Macro),
    Call(Vec<Piece>, Vec<Argument>),
    Exit,
}

/// The text of a program. How it is laid out hangs on the seed and means nothing.
pub fn text(program: &[Statement], seed: u64) -> String {
    let mut writer = Writer { out: String::new(), dice: Dice::new(!seed) };
    writer.statements(program);
    writer.out
}

struct Writer {
    out: String,
    dice: Dice,
}

impl Writer {
    fn statements(&mut self, list: &[Statement]) {
        for statement in list {
            self.statement(statement);
        }
    }

    fn line(&mut self, label: &str, operation: &str, operands: &str) {
        let comment = ["", "", "", " ; a comment, 'quoted", "\t;; left out of expansions", " "][self.dice.below(6)];
        let operation = if self.dice.below(4) == 0 { operation.to_lowercase() } else { operation.to_owned() };
        let gap = [" ", "\t", "  "][self.dice.below(3)];
        self.out += &format!("{label}{gap}{operation}{gap}{operands}{comment}\n");
        if self.dice.below(12) == 0 {
            self.out += "; only a comment ' < ( &\n";
        }
    }

    fn statement(&mut self, statement: &Statement) {
        match statement {
            Statement::Label(name, colon) => {
                let name = self.part(name);
                self.line(&format!("{name}{}", if *colon { ":" } else { "" }), "NOP", "");
            }
            Statement::Bytes(items) => {
                let items: Vec<_> = items.iter().map(|item| self.item(item)).collect();
                self.line("", "DB", &items.join(","));
            }
            Statement::Words(items) => {
                let items: Vec<_> = items.iter().map(|item| self.expression(item)).collect();
                self.line("", "DW", &items.join(" , "));
            }
            Statement::Instruction(text, _, operand) => {
                let operand = operand.as_ref().map_or(String::new(), |(_, operand)| self.expression(operand));
                let comma = if text.contains(' ') && !operand.is_empty() { "," } else { " " };
                self.line("", text, &format!("{comma}{operand}"));
            }
            Statement::Space(count) => self.with_expression("", "DS", count),
            Statement::Origin(address) => self.with_expression("", "ORG", address),
            Statement::Equ(name, value) => self.with_expression(name, "EQU", value),
            Statement::Set(name, value) => self.with_expression(name, "SET", value),
            Statement::If(condition, then, otherwise) => {
                self.with_expression("", "IF", condition);
                self.statements(then);
                if let Some(otherwise) = otherwise {
                    self.line("", "ELSE", "");
                    self.statements(otherwise);
                }
                self.line("", "ENDIF", "");
            }
            Statement::Repeat(count, body) => {
                self.with_expression("", "REPT", count);
                self.body(&[], body);
            }
            Statement::ForEach(parameter, list, body) => {
                let list = self.arguments(list);
                self.line("", "IRP", &format!("{parameter},<{list}>"));
                self.body(&[], body);
            }
            Statement::ForCharacters(parameter, list, body) => {
                self.line("", "IRPC", &format!("{parameter},{list}"));
                self.body(&[], body);
            }
            Statement::Macro(of) => {
                self.line(&pieces(&of.name), "MACRO", &of.parameters.join(","));
                self.body(&of.locals, &of.body);
            }
            Statement::Call(name, arguments) => {
                let arguments = self.arguments(arguments);
                self.out += &format!("\t{}\t{arguments}\n", pieces(name));
            }
            Statement::Exit => self.line("", "EXITM", ""),
        }
    }

    fn body(&mut self, locals: &[String], body: &[Statement]) {
        if !locals.is_empty() {
            self.out += &format!("\tLOCAL\t{}\n", locals.join(","));
        }
        self.statements(body);
        self.out += "\tENDM\n";
    }

    fn with_expression(&mut self, label: &str, operation: &str, expression: &Expression) {
        let expression = self.expression(expression);
        self.line(label, operation, &expression);
    }

    fn item(&mut self, item: &Item) -> String {
        match item {
            Item::Value(expression) => self.expression(expression),
            Item::String(parts) => {
                let marked = |part: &Piece| match part {
                    Piece::Text(text) => text.replace('\'', "''"),
                    Piece::Parameter(name) => format!("&{name}&"),
                };
                format!("'{}'", parts.iter().map(marked).collect::<String>())
            }
        }
    }

    fn arguments(&mut self, list: &[Argument]) -> String {
        let texts = list.iter().map(|argument| match argument {
            Argument::Value(expression) => format!("%{}", self.expression(expression)),
            Argument::Text(expression) => {
                let text = self.expression(expression);
                if self.dice.below(2) == 0 { format!("<{text}>") } else { text }
            }
        });
        texts.collect::<Vec<_>>().join(",")
    }

    fn expression(&mut self, parts: &[Part]) -> String {
        let mut out = String::new();
        for part in parts {
            let text = self.part(part);
            let is_word =
                |sign: Option<char>| sign.is_some_and(|sign| sign.is_ascii_alphanumeric() || "?@$'".contains(sign));
            if is_word(out.chars().last()) && is_word(text.chars().next()) || self.dice.below(6) == 0 {
                out.push(' ');
            }
            out += &text;
        }
        out
    }

    fn part(&mut self, part: &Part) -> String {
        match part {
            Part::Number(number) => match self.dice.below(5) {
                0 => format!("0{number:X}H"),
                1 => format!("{number:o}Q"),
                2 => format!("{number:b}B"),
                3 => format!("{number}D"),
                _ => number.to_string(),
            },
            Part::Characters(text) => format!("'{text}'"),
            Part::Name(name) => name.clone(),
            Part::Joined(word, parameter) => format!("{word}&{parameter}"),
            Part::Here => "$".into(),
            Part::Operator(sign) => (*sign).into(),
            Part::Open => "(".into(),
            Part::Close => ")".into(),
            Part::Nul(of) => format!("NUL {}", self.expression(of)),
        }
    }
}

fn pieces(list: &[Piece]) -> String {
    list.iter()
        .map(|piece| match piece {
            Piece::Text(text) => text.clone(),
            Piece::Parameter(name) => format!("&{name}"),
        })
        .collect()
}
