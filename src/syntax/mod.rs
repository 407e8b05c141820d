//! Text to tokens to statements.
