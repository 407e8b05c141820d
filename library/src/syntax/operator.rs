//! The operators and their precedence.
//!
//! Source: Intel 8080/8085 Assembly Language Programming Manual, 9800301, 1977, chapter 2: parentheses, NUL, HIGH LOW,
//! `* / MOD SHL SHR`, unary and binary `+ -`, comparisons, NOT, AND, OR XOR.

/// An operator before its operand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum Unary {
    Plus,
    Minus,
    Not,
    High,
    Low,
    /// True if nothing follows.
    Nul,
}

/// An operator between its operands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum Binary {
    Add,
    Subtract,
    Multiply,
    Divide,
    Mod,
    Shl,
    Shr,
    Eq,
    Ne,
    Lt,
    Le,
    Gt,
    Ge,
    And,
    Or,
    Xor,
}

impl Unary {
    /// How tightly it binds; a higher number binds tighter.
    pub(super) const fn precedence(self) -> u8 {
        match self {
            Unary::Nul => 8,
            Unary::High | Unary::Low => 7,
            Unary::Plus | Unary::Minus => 5,
            Unary::Not => 3,
        }
    }

    /// Applies it; `NUL` is decided by the parser and never gets here with a value.
    pub const fn apply(self, value: u16) -> u16 {
        match self {
            Unary::Plus | Unary::Nul => value,
            Unary::Minus => value.wrapping_neg(),
            Unary::Not => !value,
            Unary::High => value >> 8,
            Unary::Low => value & 0xFF,
        }
    }
}

impl Binary {
    /// How tightly it binds; a higher number binds tighter.
    pub(super) const fn precedence(self) -> u8 {
        match self {
            Binary::Multiply | Binary::Divide | Binary::Mod | Binary::Shl | Binary::Shr => 6,
            Binary::Add | Binary::Subtract => 5,
            Binary::Eq | Binary::Ne | Binary::Lt | Binary::Le | Binary::Gt | Binary::Ge => 4,
            Binary::And => 2,
            Binary::Or | Binary::Xor => 1,
        }
    }

    /// Applies it to 16-bit values, wrapping round; comparisons are unsigned and yield 0FFFFH or 0. `None` for a
    /// division by zero.
    pub const fn apply(self, left: u16, right: u16) -> Option<u16> {
        const fn truth(holds: bool) -> u16 {
            if holds { 0xFFFF } else { 0 }
        }
        Some(match self {
            Binary::Add => left.wrapping_add(right),
            Binary::Subtract => left.wrapping_sub(right),
            Binary::Multiply => left.wrapping_mul(right),
            Binary::Divide | Binary::Mod if right == 0 => return None,
            Binary::Divide => left / right,
            Binary::Mod => left % right,
            Binary::Shl => {
                if right < 16 {
                    left << right
                } else {
                    0
                }
            }
            Binary::Shr => {
                if right < 16 {
                    left >> right
                } else {
                    0
                }
            }
            Binary::Eq => truth(left == right),
            Binary::Ne => truth(left != right),
            Binary::Lt => truth(left < right),
            Binary::Le => truth(left <= right),
            Binary::Gt => truth(left > right),
            Binary::Ge => truth(left >= right),
            Binary::And => left & right,
            Binary::Or => left | right,
            Binary::Xor => left ^ right,
        })
    }
}
