//! Numbers drawn from a seed.

/// The generator SplitMix64.
pub struct Draws(u64);

impl Draws {
    pub fn new(seed: u64) -> Draws {
        Draws(seed)
    }

    /// A number below another.
    pub fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (mixed ^ (mixed >> 31)) % most
    }
}
