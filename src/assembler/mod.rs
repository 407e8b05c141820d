//! Statements to an image with symbols and a listing.
