//! Programs made up at random, each from a seed and a size.

use super::program::{Argument, Expression, Item, Macro, Part, Piece, Statement};

/// Numbers that hang on a seed alone.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed)
    }

    pub fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ self.0 >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ mixed >> 31) % bound as u64) as usize
    }

    fn one<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }
}

/// The most statements that one statement may come to, repetitions and calls included, so that every program fits.
const MOST_COST: usize = 60;

const INSTRUCTIONS: [(&str, u8, Option<bool>); 9] = [
    ("NOP", 0o000, None),
    ("MOV A,M", 0o176, None),
    ("XCHG", 0o353, None),
    ("RST 5", 0o357, None),
    ("MVI A", 0o076, Some(false)),
    ("CPI", 0o376, Some(false)),
    ("LXI H", 0o041, Some(true)),
    ("JMP", 0o303, Some(true)),
    ("CNZ", 0o304, Some(true)),
];

/// What a parameter may be used for.
#[derive(Clone, Copy, PartialEq)]
enum Use {
    /// An expression is passed, always.
    Value,
    /// An expression or nothing is passed.
    Maybe,
    /// A word that nothing else in the program is.
    Word,
}

/// A macro that can be called.
#[derive(Clone)]
struct Known {
    name: String,
    parameters: Vec<(String, Use)>,
    cost: usize,
}

/// What can be used where a statement stands.
#[derive(Clone)]
struct Scope {
    parameters: Vec<(String, Use)>,
    locals: Vec<String>,
    depth: usize,
    /// How often the statement is assembled, at most.
    times: usize,
    may_call: bool,
}

struct Maker {
    dice: Dice,
    count: usize,
    constants: Vec<String>,
    variables: Vec<String>,
    /// Labels and constants that some line at the end of the program may have to define.
    later: Vec<String>,
    macros: Vec<Known>,
}

pub fn program(seed: u64, size: usize) -> Vec<Statement> {
    let mut maker =
        Maker { dice: Dice::new(seed), count: 0, constants: vec![], variables: vec![], later: vec![], macros: vec![] };
    let top = Scope { parameters: vec![], locals: vec![], depth: 0, times: 1, may_call: true };
    let mut out = vec![Statement::Origin(vec![Part::Number(maker.dice.below(0x4000) as u16)])];
    for _ in 0..3 {
        let (variable, constant) = (maker.fresh("VAR"), maker.fresh("CON"));
        out.push(Statement::Set(variable.clone(), maker.expression(&top, true)));
        maker.variables.push(variable);
        out.push(Statement::Equ(constant.clone(), maker.expression(&top, true)));
        maker.constants.push(constant);
    }
    let labels: Vec<_> = (0..4).map(|_| maker.fresh("LAB")).collect();
    maker.later.clone_from(&labels);
    let mut undefined = labels;
    for _ in 0..size {
        match maker.dice.below(10) {
            0 if !undefined.is_empty() => {
                let label = undefined.remove(0);
                out.push(Statement::Label(Part::Name(label), maker.dice.below(2) == 0));
            }
            1 => out.extend(maker.macro_of_macros()),
            2 => out.push(maker.definition(&top)),
            3 => out.extend(maker.recursion()),
            _ => out.push(maker.statement(&top)),
        }
    }
    // A constant from further on may be made of another that stands still further on.
    let constants: Vec<_> = (0..3).map(|_| maker.fresh("FAR")).collect();
    let mut uses = Vec::new();
    for constant in constants.iter().rev() {
        let variables = std::mem::take(&mut maker.variables);
        let value = maker.expression(&top, false);
        maker.variables = variables;
        maker.later.push(constant.clone());
        uses.push(Statement::Words(vec![maker.expression(&top, false)]));
        uses.push(Statement::Equ(constant.clone(), value));
    }
    uses.reverse();
    out.extend(uses);
    out.extend(undefined.into_iter().map(|label| Statement::Label(Part::Name(label), true)));
    out
}

impl Maker {
    fn fresh(&mut self, word: &str) -> String {
        self.count += 1;
        format!("{word}{}", self.count)
    }

    /// An expression. One that is needed at once is made of names that are known at once.
    fn expression(&mut self, scope: &Scope, at_once: bool) -> Expression {
        let mut out = Vec::new();
        for at in 0..=self.dice.below(4) {
            if at > 0 {
                let signs =
                    ["*", "/", "MOD", "SHL", "SHR", "+", "-", "EQ", "NE", "LT", "LE", "GT", "GE", "AND", "OR", "XOR"];
                let sign = *self.dice.one(&signs);
                out.push(Part::Operator(sign));
                if matches!(sign, "/" | "MOD") {
                    // A divisor that is not 0 whatever stands beside it.
                    out.push(Part::Number(1 + self.dice.below(40) as u16));
                    continue;
                }
            }
            while self.dice.below(4) == 0 {
                let sign = *self.dice.one(&["-", "+", "NOT", "HIGH", "LOW"]);
                out.push(Part::Operator(sign));
            }
            if out.len() < 8 && self.dice.below(6) == 0 {
                out.push(Part::Open);
                out.extend(self.expression(&Scope { depth: scope.depth + 1, ..scope.clone() }, at_once));
                out.push(Part::Close);
            } else {
                out.push(self.operand(scope, at_once));
            }
        }
        out
    }

    fn operand(&mut self, scope: &Scope, at_once: bool) -> Part {
        let values: Vec<_> = scope.parameters.iter().filter(|(_, of)| *of == Use::Value).collect();
        let tested: Vec<_> = scope.parameters.iter().filter(|(_, of)| *of != Use::Word).collect();
        match self.dice.below(12) {
            0..=2 if !values.is_empty() => Part::Name(self.dice.one(&values).0.clone()),
            3 if !tested.is_empty() => Part::Nul(vec![Part::Name(self.dice.one(&tested).0.clone())]),
            4 if !self.constants.is_empty() => Part::Name(self.dice.one(&self.constants).clone()),
            5 if !self.variables.is_empty() => Part::Name(self.dice.one(&self.variables).clone()),
            6 => Part::Here,
            7 => Part::Characters(self.dice.one(&["A", "z", "7", ",", ";"]).to_string()),
            8 => Part::Characters(self.dice.one(&["AB", "<;", "!,", "> ", "& "]).to_string()),
            9 if !at_once && !self.later.is_empty() => Part::Name(self.dice.one(&self.later).clone()),
            10 if !at_once && !scope.locals.is_empty() => Part::Name(self.dice.one(&scope.locals).clone()),
            11 => Part::Number(self.dice.below(0x1_0000) as u16),
            _ => Part::Number(self.dice.below(20) as u16),
        }
    }

    /// An expression that fits into a byte.
    fn byte(&mut self, scope: &Scope) -> Expression {
        let whole = self.expression(scope, false);
        masked(vec![Part::Operator("LOW")], whole, vec![])
    }

    /// A small number that is needed at once.
    fn count(&mut self, scope: &Scope, mask: u16) -> Expression {
        let whole = self.expression(scope, true);
        masked(vec![], whole, vec![Part::Operator("AND"), Part::Number(mask)])
    }

    fn statements(&mut self, scope: &Scope) -> Vec<Statement> {
        let inner = Scope { depth: scope.depth + 1, ..scope.clone() };
        (0..1 + self.dice.below(4)).map(|_| self.statement(&inner)).collect()
    }

    fn statement(&mut self, scope: &Scope) -> Statement {
        match self.dice.below(if scope.depth < 3 { 16 } else { 9 }) {
            0 | 1 => self.data(scope),
            2 => Statement::Words((0..=self.dice.below(2)).map(|_| self.expression(scope, false)).collect()),
            3 | 4 => {
                let (text, opcode, operand) = *self.dice.one(&INSTRUCTIONS);
                let operand = operand
                    .map(|is_word| (is_word, if is_word { self.expression(scope, false) } else { self.byte(scope) }));
                Statement::Instruction(text, opcode, operand)
            }
            5 => Statement::Space(self.count(scope, 7)),
            6 => {
                let gap = self.count(scope, 15);
                Statement::Origin(masked(vec![Part::Here, Part::Operator("+")], gap, vec![]))
            }
            7 => Statement::Set(self.dice.one(&self.variables).clone(), self.expression(scope, true)),
            8 | 9 => self.call(scope).unwrap_or(Statement::Bytes(vec![Item::Value(vec![Part::Number(7)])])),
            10 | 11 => {
                let condition = self.expression(scope, true);
                let otherwise = (self.dice.below(2) == 0).then(|| self.statements(scope));
                Statement::If(condition, self.statements(scope), otherwise)
            }
            12 if scope.times * 3 <= MOST_COST => {
                let count = self.count(scope, 3);
                let inner = Scope { times: scope.times * 3, ..scope.clone() };
                Statement::Repeat(count, self.body(&inner))
            }
            13 if scope.times * 3 <= MOST_COST => self.for_each(scope),
            14 if scope.times * 3 <= MOST_COST => {
                let (parameter, digits) = (self.fresh("EACH"), self.dice.one(&["1977", "05", "8", "31"]).to_string());
                let mut inner = Scope { times: scope.times * 4, ..scope.clone() };
                // A digit is a value, and a word too.
                inner.parameters.push((parameter.clone(), Use::Value));
                let mut body = self.body(&inner);
                body.push(Statement::Bytes(vec![Item::String(vec![
                    Piece::Text("n ".into()),
                    Piece::Parameter(parameter.clone()),
                ])]));
                Statement::ForCharacters(parameter, digits, body)
            }
            _ => self.if_given(scope),
        }
    }

    fn data(&mut self, scope: &Scope) -> Statement {
        let words: Vec<_> = scope.parameters.iter().filter(|(_, of)| *of == Use::Word).cloned().collect();
        let item = |maker: &mut Maker| match maker.dice.below(3) {
            0 => {
                let mut pieces =
                    vec![Piece::Text(maker.dice.one(&["BELL", "it's; ", "a<b", "!,&", "PAR EACH"]).to_string())];
                if !words.is_empty() {
                    pieces.push(Piece::Parameter(maker.dice.one(&words).0.clone()));
                }
                Item::String(pieces)
            }
            _ => Item::Value(maker.byte(scope)),
        };
        Statement::Bytes((0..=self.dice.below(3)).map(|_| item(self)).collect())
    }

    /// The body of something that is expanded, so that it may end early.
    fn body(&mut self, scope: &Scope) -> Vec<Statement> {
        let mut body = self.statements(scope);
        if self.dice.below(4) == 0 {
            let at = self.dice.below(body.len() + 1);
            body.insert(at, Statement::If(self.expression(scope, true), vec![Statement::Exit], None));
        }
        body
    }

    /// An argument that may be missing is used where it is there.
    fn if_given(&mut self, scope: &Scope) -> Statement {
        let maybe: Vec<_> = scope.parameters.iter().filter(|(_, of)| *of == Use::Maybe).cloned().collect();
        if maybe.is_empty() {
            return self.data(scope);
        }
        let name = Part::Name(self.dice.one(&maybe).0.clone());
        let low = masked(vec![Part::Operator("LOW")], vec![name.clone()], vec![]);
        let given = vec![Statement::Bytes(vec![Item::Value(low)]), Statement::Words(vec![vec![name.clone()]])];
        let missing = vec![self.data(scope)];
        match self.dice.below(2) {
            0 => Statement::If(vec![Part::Nul(vec![name])], missing, Some(given)),
            _ => Statement::If(vec![Part::Operator("NOT"), Part::Nul(vec![name])], given, Some(missing)),
        }
    }

    fn for_each(&mut self, scope: &Scope) -> Statement {
        let parameter = self.fresh("ITEM");
        let of = *self.dice.one(&[Use::Value, Use::Maybe]);
        let list: Vec<_> = (0..=self.dice.below(3)).map(|_| self.argument(scope, of)).collect();
        let mut inner = Scope { times: scope.times * 3, ..scope.clone() };
        inner.parameters.push((parameter.clone(), of));
        Statement::ForEach(parameter, list, self.body(&inner))
    }

    fn argument(&mut self, scope: &Scope, of: Use) -> Argument {
        match of {
            Use::Word => Argument::Text(vec![Part::Name(self.fresh("WORD"))]),
            Use::Maybe if self.dice.below(2) == 0 => Argument::Text(vec![]),
            _ if self.dice.below(4) == 0 => Argument::Value(self.expression(scope, true)),
            _ => Argument::Text(self.expression(scope, true)),
        }
    }

    fn call(&mut self, scope: &Scope) -> Option<Statement> {
        let fits = |known: &&Known| scope.may_call && known.cost * scope.times <= MOST_COST;
        let callable: Vec<_> = self.macros.iter().filter(fits).cloned().collect();
        if callable.is_empty() {
            return None;
        }
        let known = self.dice.one(&callable).clone();
        let mut arguments: Vec<_> = known.parameters.iter().map(|&(_, of)| self.argument(scope, of)).collect();
        if self.dice.below(5) == 0 {
            arguments.push(Argument::Text(vec![Part::Number(99)]));
        }
        Some(Statement::Call(vec![Piece::Text(known.name)], arguments))
    }

    /// A macro, new or defined anew.
    fn definition(&mut self, top: &Scope) -> Statement {
        let again = self.dice.below(4) == 0 && !self.macros.is_empty();
        let known = if again {
            let at = self.dice.below(self.macros.len());
            self.macros.remove(at)
        } else {
            let uses = [Use::Value, Use::Maybe, Use::Word];
            let parameters = (0..self.dice.below(4)).map(|_| (self.fresh("PAR"), *self.dice.one(&uses))).collect();
            Known { name: self.fresh("MAC"), parameters, cost: 0 }
        };
        let locals: Vec<_> = (0..self.dice.below(3)).map(|_| self.fresh("LOC")).collect();
        let scope = Scope {
            parameters: known.parameters.clone(),
            locals: locals.clone(),
            // A macro that is defined anew calls none, so that no circle of calls can come about.
            may_call: !again,
            ..top.clone()
        };
        let mut body = Vec::new();
        for local in &locals {
            body.push(Statement::Label(Part::Name(local.clone()), true));
            body.extend(self.statements(&scope));
        }
        body.extend(self.body(&scope));
        // A label behind an EXITM would not be there.
        if let Some(at) = body.iter().rposition(|statement| matches!(statement, Statement::Label(..))) {
            for statement in &mut body[..at] {
                without_exit(statement);
            }
        }
        let cost = self.cost(&body).max(known.cost);
        let of = Macro {
            name: vec![Piece::Text(known.name.clone())],
            parameters: known.parameters.iter().map(|(name, _)| name.clone()).collect(),
            locals,
            body,
        };
        self.macros.push(Known { cost, ..known });
        Statement::Macro(of)
    }

    fn cost(&self, list: &[Statement]) -> usize {
        let of = |statement: &Statement| match statement {
            Statement::If(_, then, otherwise) => {
                self.cost(then).max(self.cost(otherwise.as_deref().unwrap_or_default()))
            }
            Statement::Repeat(_, body) => 3 * self.cost(body),
            Statement::ForEach(_, list, body) => list.len() * self.cost(body),
            Statement::ForCharacters(_, list, body) => list.len() * self.cost(body),
            Statement::Call(name, _) => match &name[..] {
                [Piece::Text(name)] => self.macros.iter().find(|of| of.name == *name).map_or(MOST_COST, |of| of.cost),
                _ => 1,
            },
            _ => 1,
        };
        1 + list.iter().map(of).sum::<usize>()
    }

    /// A macro that makes a macro, whose name is built, and a label.
    fn macro_of_macros(&mut self) -> Vec<Statement> {
        let (outer, word, inner) = (self.fresh("MAKE"), self.fresh("PAR"), self.fresh("PAR"));
        let (made, label, built) = (self.fresh("MADE"), self.fresh("AT"), self.fresh("WORD"));
        let name = vec![Piece::Text(made.clone()), Piece::Parameter(word.clone())];
        let join = Part::Joined(label, word.clone());
        let spelt = Item::String(vec![Piece::Text("is ".into()), Piece::Parameter(word.clone())]);
        let inner_scope = Scope {
            parameters: vec![(inner.clone(), Use::Value)],
            locals: vec![],
            depth: 2,
            times: 1,
            may_call: false,
        };
        let mut body = vec![Statement::Bytes(vec![spelt.clone(), Item::Value(self.byte(&inner_scope))])];
        body.extend(self.body(&inner_scope));
        body.push(Statement::Words(vec![vec![join.clone()], vec![Part::Name(inner.clone())]]));
        let of_inner = Macro { name, parameters: vec![inner], locals: vec![], body };
        let body = vec![
            Statement::Macro(of_inner),
            Statement::Label(join.clone(), self.dice.below(2) == 0),
            Statement::Words(vec![vec![join, Part::Operator("+"), Part::Number(1)]]),
            Statement::Bytes(vec![spelt]),
        ];
        let of_outer = Macro { name: vec![Piece::Text(outer.clone())], parameters: vec![word], locals: vec![], body };
        let top = Scope { parameters: vec![], locals: vec![], depth: 0, times: 1, may_call: false };
        let value = self.argument(&top, Use::Value);
        vec![
            Statement::Macro(of_outer),
            Statement::Call(vec![Piece::Text(outer)], vec![Argument::Text(vec![Part::Name(built.clone())])]),
            Statement::Call(vec![Piece::Text(format!("{made}{built}"))], vec![value]),
        ]
    }

    /// A macro that calls itself with a value that falls.
    fn recursion(&mut self) -> Vec<Statement> {
        let (name, parameter) = (self.fresh("DOWN"), self.fresh("PAR"));
        let of = |sign, number| vec![Part::Name(parameter.clone()), Part::Operator(sign), Part::Number(number)];
        let again = Statement::Call(vec![Piece::Text(name.clone())], vec![Argument::Value(of("-", 1))]);
        let mut then = vec![Statement::Bytes(vec![Item::Value(vec![Part::Name(parameter.clone())])])];
        then.insert(self.dice.below(2), again);
        let body = vec![Statement::If(of("GT", 0), then, None)];
        let first = Argument::Text(vec![Part::Number(self.dice.below(5) as u16)]);
        let of = Macro { name: vec![Piece::Text(name.clone())], parameters: vec![parameter], locals: vec![], body };
        vec![Statement::Macro(of), Statement::Call(vec![Piece::Text(name)], vec![first])]
    }
}

fn masked(mut before: Expression, whole: Expression, behind: Expression) -> Expression {
    before.push(Part::Open);
    before.extend(whole);
    before.push(Part::Close);
    before.extend(behind);
    before
}

/// Takes every EXITM that would end the expansion of the statement itself out of it.
fn without_exit(statement: &mut Statement) {
    if let Statement::If(_, then, otherwise) = statement {
        for list in [Some(then), otherwise.as_mut()].into_iter().flatten() {
            list.retain(|statement| !matches!(statement, Statement::Exit));
            list.iter_mut().for_each(without_exit);
        }
    }
}
