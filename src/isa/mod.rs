//! The 8080 in one table; encoder, decoder, cycle counts and lights derive from it.
