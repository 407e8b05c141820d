//! Files, spans and diagnostics.
