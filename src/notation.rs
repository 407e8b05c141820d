//! Octal, split octal and hexadecimal: the one place where an address or a byte becomes text.
