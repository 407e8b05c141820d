//! Bytes as pairs of hexadecimal digits.

/// Turns pairs of digits into bytes; the error is the offset of what is no digit, or of a digit without its second.
pub(super) fn decode(digits: &str, bytes: &mut Vec<u8>) -> Result<(), usize> {
    bytes.clear();
    let digit = |at: usize| digits.as_bytes().get(at).and_then(|&byte| DIGIT_VALUES[byte as usize]).ok_or(at);
    for at in (0..digits.len()).step_by(2) {
        let high = digit(at)?;
        bytes.push(high << 4 | digit(at + 1)?);
    }
    Ok(())
}

/// The value of each hexadecimal digit.
pub(super) const DIGIT_VALUES: [Option<u8>; 256] = {
    let mut values = [None; 256];
    let mut value = 0;
    while value < 16 {
        values[b"0123456789ABCDEF"[value] as usize] = Some(value as u8);
        values[b"0123456789abcdef"[value] as usize] = Some(value as u8);
        value += 1;
    }
    values
};

/// Adds a byte as two upper-case digits.
pub(super) fn push_hex(out: &mut Vec<u8>, byte: u8) {
    const DIGITS: &[u8; 16] = b"0123456789ABCDEF";
    out.extend([DIGITS[usize::from(byte >> 4)], DIGITS[usize::from(byte & 15)]]);
}
