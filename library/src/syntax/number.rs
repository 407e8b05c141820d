//! Numeric and character constants.
//!
//! Source: Intel 8080 Assembly Language Programming Manual, Rev. B, 1975: the last letter gives the radix, H, O or Q, D,
//! B; a hexadecimal constant begins with a digit.

use crate::notation::split_radix;

/// Why a constant was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ConstantError {
    /// A character that is no digit of the radix; where it stands in the text.
    Digit {
        /// Bytes from the start of the constant.
        at: usize,
        /// The radix that the last letter asks for.
        radix: u32,
    },
    /// More than 65535.
    TooLarge,
}

/// The value of a constant as written, `$` being a spacer.
///
/// # Errors
/// [`ConstantError`] with the place of the first wrong digit, or for a value above 65535.
pub fn parse_constant(text: &str) -> Result<u16, ConstantError> {
    let plain = plain_constant(text);
    // No constant of the manual has an `x` in it, so that one with a prefix has failed.
    match after_prefix(text).filter(|_| plain.is_err()) {
        Some(digits) => value_of(digits.trim_end_matches('$'), 16).map_err(|error| match error {
            ConstantError::Digit { at, radix } => ConstantError::Digit { at: at + "0x".len(), radix },
            other => other,
        }),
        None => plain,
    }
}

/// The value of a constant as the manual has it.
pub(super) fn plain_constant(text: &str) -> Result<u16, ConstantError> {
    let (digits, radix) = split_radix(text.trim_end_matches('$'));
    value_of(digits, radix)
}

fn value_of(digits: &str, radix: u32) -> Result<u16, ConstantError> {
    let mut value = 0u32;
    for (at, byte) in digits.bytes().enumerate() {
        if byte == b'$' {
            continue;
        }
        let digit = (byte as char).to_digit(radix).ok_or(ConstantError::Digit { at, radix })?;
        value = (value * radix + digit).min(0x1_0000);
    }
    u16::try_from(value).map_err(|_| ConstantError::TooLarge)
}

/// The digits behind `0x`, by which other hands mark a hexadecimal constant.
#[inline]
pub(super) fn after_prefix(text: &str) -> Option<&str> {
    match text.as_bytes() {
        [b'0', b'x' | b'X', digit, ..] if digit.is_ascii_hexdigit() => text.get(2..),
        _ => None,
    }
}

/// The characters of a string token, its doubled quotes made single. The token includes its outer quotes, which are
/// single ones, or in other hands double ones.
pub fn unquote(token: &str) -> impl Iterator<Item = char> + '_ {
    let quote = if token.starts_with('"') { '"' } else { '\'' };
    let inner = &token[1..token.len() - 1];
    let mut after_quote = false;
    inner.chars().filter(move |&character| {
        after_quote = character == quote && !after_quote;
        !after_quote
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_letter_decides() {
        let values =
            ["0BH", "10B", "10D", "0BDH", "1BH", "17Q", "17o", "0FFFFH", "1111$0000B", "65535", "1$0$", "0x1F"];
        let parsed: Vec<_> = values.iter().map(|text| parse_constant(text).unwrap()).collect();
        assert_eq!(parsed, [11, 2, 10, 189, 27, 15, 15, 65535, 240, 65535, 10, 31]);
    }

    #[test]
    fn wrong_digits_are_placed() {
        assert_eq!(parse_constant("102B"), Err(ConstantError::Digit { at: 2, radix: 2 }));
        assert_eq!(parse_constant("0x1G"), Err(ConstantError::Digit { at: 3, radix: 16 }));
        assert_eq!(parse_constant("0x"), Err(ConstantError::Digit { at: 1, radix: 10 }));
        assert_eq!(parse_constant("65536"), Err(ConstantError::TooLarge));
        assert_eq!(parse_constant("99999999999999999999"), Err(ConstantError::TooLarge));
    }

    #[test]
    fn doubled_quotes_are_one() {
        assert_eq!(unquote("'TODAY''S'").collect::<String>(), "TODAY'S");
        assert_eq!(unquote("''''''").collect::<String>(), "''");
        assert_eq!(unquote("''").count(), 0);
    }
}
