//! What a program means: its bytes by address. Arguments are put in for parameters part by part; an expression is worked
//! out with two stacks, as the levels of Intel 8080/8085 Assembly Language Programming Manual, 9800301, 1977, p. 2-15, say.

use std::collections::{BTreeMap, HashMap};

use super::program::{Argument, Expression, Item, Macro, Part, Piece, Statement};

/// What is put in for a name.
type Puts = HashMap<String, Expression>;

/// A value that is worked out when all names are known.
struct Later {
    address: u16,
    is_word: bool,
    value: Expression,
    here: u16,
    variables: HashMap<String, u16>,
}

/// A constant as it was defined: names from further on are looked up when it is used.
struct Constant {
    value: Expression,
    here: u16,
    variables: HashMap<String, u16>,
}

#[derive(Default)]
struct Machine {
    location: u16,
    bytes: BTreeMap<u16, u8>,
    later: Vec<Later>,
    labels: HashMap<String, u16>,
    constants: HashMap<String, Constant>,
    variables: HashMap<String, u16>,
    macros: HashMap<String, Macro>,
    expansions: usize,
}

/// Whether an expansion goes on or has been ended by `EXITM`.
#[derive(PartialEq)]
enum Flow {
    On,
    Ended,
}

pub fn bytes(program: &[Statement]) -> BTreeMap<u16, u8> {
    let mut machine = Machine::default();
    machine.run(program);
    for later in std::mem::take(&mut machine.later) {
        let value = machine.value(&later.value, later.here, &later.variables);
        machine.bytes.insert(later.address, value as u8);
        if later.is_word {
            machine.bytes.insert(later.address + 1, (value >> 8) as u8);
        }
    }
    machine.bytes
}

impl Machine {
    fn run(&mut self, list: &[Statement]) -> Flow {
        for statement in list {
            if self.statement(statement) == Flow::Ended {
                return Flow::Ended;
            }
        }
        Flow::On
    }

    fn put(&mut self, byte: u8) {
        self.bytes.insert(self.location, byte);
        self.location += 1;
    }

    fn put_later(&mut self, is_word: bool, value: &Expression, here: u16) {
        let (address, variables) = (self.location, self.variables.clone());
        self.later.push(Later { address, is_word, value: value.clone(), here, variables });
        self.location += if is_word { 2 } else { 1 };
    }

    fn now(&self, expression: &Expression) -> u16 {
        self.value(expression, self.location, &self.variables)
    }

    fn statement(&mut self, statement: &Statement) -> Flow {
        let here = self.location;
        match statement {
            Statement::Label(name, _) => {
                let Part::Name(name) = name else { panic!("{name:?} was not put in") };
                self.labels.insert(name.clone(), here);
                self.put(0);
            }
            Statement::Bytes(items) => items.iter().for_each(|item| match item {
                Item::Value(value) => self.put_later(false, value, here),
                Item::String(parts) => text_of(parts).bytes().for_each(|byte| self.put(byte)),
            }),
            Statement::Words(items) => items.iter().for_each(|value| self.put_later(true, value, here)),
            Statement::Instruction(_, opcode, operand) => {
                self.put(*opcode);
                if let Some((is_word, value)) = operand {
                    self.put_later(*is_word, value, here);
                }
            }
            Statement::Space(count) => self.location += self.now(count),
            Statement::Origin(address) => self.location = self.now(address),
            Statement::Equ(name, value) => {
                let constant = Constant { value: value.clone(), here, variables: self.variables.clone() };
                self.constants.insert(name.clone(), constant);
            }
            Statement::Set(name, value) => drop(self.variables.insert(name.clone(), self.now(value))),
            Statement::If(condition, then, otherwise) => match self.now(condition) {
                0 => return self.run(otherwise.as_deref().unwrap_or_default()),
                _ => return self.run(then),
            },
            Statement::Repeat(count, body) => {
                let passes = self.now(count);
                self.passes((0..passes).map(|_| Puts::new()), body);
            }
            Statement::ForEach(parameter, list, body) => {
                let list: Vec<_> = list.iter().map(|argument| self.passed(argument)).collect();
                self.passes(list.into_iter().map(|item| Puts::from([(parameter.clone(), item)])), body);
            }
            Statement::ForCharacters(parameter, list, body) => {
                let one = |character: char| vec![Part::Name(character.to_string())];
                self.passes(list.chars().map(|character| Puts::from([(parameter.clone(), one(character))])), body);
            }
            Statement::Macro(of) => drop(self.macros.insert(text_of(&of.name), of.clone())),
            Statement::Call(name, arguments) => self.call(&text_of(name), arguments),
            Statement::Exit => return Flow::Ended,
        }
        Flow::On
    }

    fn passes(&mut self, passes: impl Iterator<Item = Puts>, body: &[Statement]) {
        // All passes are made from what the body says before the first of them.
        for puts in passes {
            if self.run(&with(body, &puts)) == Flow::Ended {
                return;
            }
        }
    }

    fn passed(&self, argument: &Argument) -> Expression {
        match argument {
            Argument::Text(text) => text.clone(),
            Argument::Value(value) => vec![Part::Number(self.now(value))],
        }
    }

    fn call(&mut self, name: &str, arguments: &[Argument]) {
        let of = self.macros[name].clone();
        let mut given = arguments.iter().map(|argument| self.passed(argument)).collect::<Vec<_>>().into_iter();
        let mut puts: Puts =
            of.parameters.iter().map(|name| (name.clone(), given.next().unwrap_or_default())).collect();
        self.expansions += 1;
        puts.extend(
            of.locals.iter().map(|name| (name.clone(), vec![Part::Name(format!("{name} of {}", self.expansions))])),
        );
        self.run(&with(&of.body, &puts));
    }

    fn value(&self, expression: &Expression, here: u16, variables: &HashMap<String, u16>) -> u16 {
        let (mut values, mut signs) = (Vec::new(), Vec::new());
        let mut before = true;
        for part in expression {
            match part {
                Part::Open => signs.push(("(", 0)),
                Part::Close => {
                    while signs.last().is_some_and(|sign| sign.0 != "(") {
                        apply(&mut values, &mut signs);
                    }
                    signs.pop();
                    before = false;
                }
                Part::Operator(sign) if before => signs.push(prefix(sign)),
                Part::Operator(sign) => {
                    let level = level(sign);
                    while signs.last().is_some_and(|last| last.1 >= level) {
                        apply(&mut values, &mut signs);
                    }
                    signs.push((*sign, level));
                    before = true;
                }
                operand => {
                    values.push(self.operand(operand, here, variables));
                    before = false;
                }
            }
        }
        while !signs.is_empty() {
            apply(&mut values, &mut signs);
        }
        assert_eq!(values.len(), 1, "{expression:?}");
        values[0]
    }

    fn operand(&self, part: &Part, here: u16, variables: &HashMap<String, u16>) -> u16 {
        match part {
            Part::Number(number) => *number,
            Part::Characters(text) => text.bytes().fold(0, |value, byte| value << 8 | u16::from(byte)),
            Part::Here => here,
            Part::Nul(of) => {
                if of.is_empty() {
                    65535
                } else {
                    0
                }
            }
            Part::Name(name) => match (name.parse(), variables.get(name), self.constants.get(name)) {
                // A digit that IRPC has put in.
                (Ok(digit), _, _) => digit,
                (_, Some(&value), _) => value,
                (_, _, Some(constant)) => self.value(&constant.value, constant.here, &constant.variables),
                _ => self.labels[name],
            },
            _ => panic!("{part:?} is no operand"),
        }
    }
}

fn prefix(sign: &'static str) -> (&'static str, u8) {
    match sign {
        "HIGH" | "LOW" => (sign, 7),
        "-" => ("negative", 5),
        "+" => ("positive", 5),
        _ => ("NOT", 3),
    }
}

fn level(sign: &str) -> u8 {
    match sign {
        "*" | "/" | "MOD" | "SHL" | "SHR" => 6,
        "+" | "-" => 5,
        "AND" => 2,
        "OR" | "XOR" => 1,
        _ => 4,
    }
}

fn apply(values: &mut Vec<u16>, signs: &mut Vec<(&'static str, u8)>) {
    let (sign, _) = signs.pop().unwrap();
    let b = values.pop().unwrap();
    let before = match sign {
        "HIGH" => Some(b / 256),
        "LOW" => Some(b % 256),
        "negative" => Some((65536 - u32::from(b)) as u16),
        "positive" => Some(b),
        "NOT" => Some(65535 - b),
        _ => None,
    };
    if let Some(value) = before {
        return values.push(value);
    }
    let a = values.pop().unwrap();
    let truth = |holds: bool| if holds { 65535 } else { 0 };
    let (wide_a, wide_b) = (u32::from(a), u32::from(b));
    values.push(match sign {
        "*" => (wide_a * wide_b % 65536) as u16,
        "/" => a / b,
        "MOD" => a - a / b * b,
        "SHL" => (0..b.min(16)).fold(a, |a, _| (u32::from(a) * 2 % 65536) as u16),
        "SHR" => (0..b.min(16)).fold(a, |a, _| a / 2),
        "+" => ((wide_a + wide_b) % 65536) as u16,
        "-" => ((wide_a + 65536 - wide_b) % 65536) as u16,
        "EQ" => truth(a == b),
        "NE" => truth(a != b),
        "LT" => truth(a < b),
        "LE" => truth(a <= b),
        "GT" => truth(a > b),
        "GE" => truth(a >= b),
        "AND" => (0..16).map(|bit| ((a >> bit & 1) * (b >> bit & 1)) << bit).sum(),
        "OR" => (0..16).map(|bit| (a >> bit & 1).max(b >> bit & 1) << bit).sum(),
        _ => (0..16).map(|bit| (((a >> bit & 1) + (b >> bit & 1)) % 2) << bit).sum(),
    });
}

fn text_of(pieces: &[Piece]) -> String {
    pieces
        .iter()
        .map(|piece| match piece {
            Piece::Text(text) => text.as_str(),
            Piece::Parameter(name) => panic!("{name} was not put in"),
        })
        .collect()
}

/// Statements with something put in for names.
fn with(list: &[Statement], puts: &Puts) -> Vec<Statement> {
    list.iter().map(|statement| changed(statement, puts)).collect()
}

fn changed(statement: &Statement, puts: &Puts) -> Statement {
    let expression = |of: &Expression| in_expression(of, puts);
    let arguments = |list: &[Argument]| {
        let change = |argument: &Argument| match argument {
            Argument::Text(text) => Argument::Text(expression(text)),
            Argument::Value(value) => Argument::Value(expression(value)),
        };
        list.iter().map(change).collect::<Vec<_>>()
    };
    match statement {
        Statement::Label(name, colon) => {
            Statement::Label(in_expression(std::slice::from_ref(name), puts).remove(0), *colon)
        }
        Statement::Bytes(items) => Statement::Bytes(
            items
                .iter()
                .map(|item| match item {
                    Item::Value(value) => Item::Value(expression(value)),
                    Item::String(parts) => Item::String(in_pieces(parts, puts)),
                })
                .collect(),
        ),
        Statement::Words(items) => Statement::Words(items.iter().map(expression).collect()),
        Statement::Instruction(text, opcode, operand) => Statement::Instruction(
            text,
            *opcode,
            operand.as_ref().map(|(is_word, value)| (*is_word, expression(value))),
        ),
        Statement::Space(count) => Statement::Space(expression(count)),
        Statement::Origin(address) => Statement::Origin(expression(address)),
        Statement::Equ(name, value) => Statement::Equ(name.clone(), expression(value)),
        Statement::Set(name, value) => Statement::Set(name.clone(), expression(value)),
        Statement::If(condition, then, otherwise) => {
            Statement::If(expression(condition), with(then, puts), otherwise.as_ref().map(|list| with(list, puts)))
        }
        Statement::Repeat(count, body) => Statement::Repeat(expression(count), with(body, puts)),
        Statement::ForEach(parameter, list, body) => {
            Statement::ForEach(parameter.clone(), arguments(list), with(body, puts))
        }
        Statement::ForCharacters(parameter, list, body) => {
            Statement::ForCharacters(parameter.clone(), list.clone(), with(body, puts))
        }
        Statement::Macro(of) => {
            Statement::Macro(Macro { name: in_pieces(&of.name, puts), body: with(&of.body, puts), ..of.clone() })
        }
        Statement::Call(name, list) => Statement::Call(in_pieces(name, puts), arguments(list)),
        Statement::Exit => Statement::Exit,
    }
}

fn in_expression(parts: &[Part], puts: &Puts) -> Expression {
    let change = |part: &Part| match part {
        Part::Name(name) => puts.get(name).cloned().unwrap_or_else(|| vec![part.clone()]),
        Part::Joined(word, parameter) => match puts.get(parameter) {
            Some(text) => vec![Part::Name(format!("{word}{}", plain(text)))],
            None => vec![part.clone()],
        },
        Part::Nul(of) => vec![Part::Nul(in_expression(of, puts))],
        _ => vec![part.clone()],
    };
    parts.iter().flat_map(change).collect()
}

fn in_pieces(pieces: &[Piece], puts: &Puts) -> Vec<Piece> {
    let change = |piece: &Piece| match piece {
        Piece::Parameter(name) => puts.get(name).map_or_else(|| piece.clone(), |text| Piece::Text(plain(text))),
        Piece::Text(_) => piece.clone(),
    };
    pieces.iter().map(change).collect()
}

/// The text of an argument that is one word.
fn plain(text: &[Part]) -> String {
    match text {
        [] => String::new(),
        [Part::Name(name)] => name.clone(),
        _ => panic!("{text:?} is joined to a word"),
    }
}
