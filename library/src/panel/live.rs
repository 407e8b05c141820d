//! Lamps that show a register which changes while the processor waits: how much of the time each is lit, and what the eye
//! can follow of it.

/// A lamp over time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LiveLamp {
    /// Thousandths of the time for which it is lit, `0..=1000`. One that is lit at all has one at least.
    pub lit: u16,
    /// How often it goes on, in ten seconds.
    pub goes_on: u32,
    /// It hangs on what nobody can know, such as where the head of a drive happens to stand.
    pub open: bool,
}

/// A byte over time, bit 0 first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LiveByte(pub [LiveLamp; 8]);

/// A lamp that goes on this often in ten seconds looks steady (common practice: the eye no longer follows a small lamp
/// beyond about 20 a second).
const LOOKS_STEADY: u32 = 200;

/// One that goes on no more often than this can be counted along (common practice).
const CAN_BE_COUNTED: u32 = 30;

impl LiveLamp {
    /// Whether it goes on and off.
    pub fn moves(self) -> bool {
        !self.open && self.goes_on > 0 && (1..1000).contains(&self.lit)
    }

    /// Its brightness, in five steps of a fifth: 1 to 5.
    pub fn step(self) -> u8 {
        ((self.lit.clamp(1, 1000) - 1) / 200) as u8 + 1
    }

    /// What is seen of it.
    fn words(self) -> String {
        let share = match self.lit {
            ..10 => "less than 1 %".to_owned(),
            991.. => "more than 99 %".to_owned(),
            lit => format!("{} %", (lit + 5) / 10),
        };
        let often = format!("{}.{} times a second", self.goes_on / 10, self.goes_on % 10);
        match self.goes_on {
            LOOKS_STEADY.. => format!("looks steady, {}, lit {share} of the time", self.brightness()),
            often_enough if often_enough <= CAN_BE_COUNTED => {
                format!("goes on {often} and can be counted, lit {share} of the time")
            }
            _ if self.lit <= 100 => format!("flashes {often}, lit {share} of the time"),
            _ if self.lit >= 900 => format!("winks {often}, lit {share} of the time"),
            _ => format!("flickers, goes on {often}, lit {share} of the time"),
        }
    }

    fn brightness(self) -> &'static str {
        ["hardly lit", "dim", "half bright", "nearly bright", "bright"][usize::from(self.step() - 1)]
    }
}

impl LiveByte {
    /// A byte that stays as it is.
    pub fn fixed(byte: u8) -> LiveByte {
        let lamp = |bit| LiveLamp { lit: if byte >> bit & 1 == 1 { 1000 } else { 0 }, ..LiveLamp::default() };
        LiveByte(std::array::from_fn(lamp))
    }

    /// What is known of two runs that differ in what nobody can know: what is seen in both.
    pub fn in_both(self, other: LiveByte) -> LiveByte {
        LiveByte(std::array::from_fn(|bit| {
            let (one, other) = (self.0[bit], other.0[bit]);
            // What moves in both does so by the same arithmetic, from another angle.
            let alike = if one.moves() { other.moves() } else { one == other };
            LiveLamp { open: !alike, ..one }
        }))
    }

    /// Which bits hang on what nobody can know.
    pub fn open(&self) -> u8 {
        self.mask(|lamp| lamp.open)
    }

    /// Which bits move.
    pub fn moving(&self) -> u8 {
        self.mask(LiveLamp::moves)
    }

    /// What each bit is most of the time.
    pub fn mostly(&self) -> u8 {
        self.mask(|lamp| lamp.lit >= 500)
    }

    fn mask(&self, holds: impl Fn(LiveLamp) -> bool) -> u8 {
        self.0.iter().rev().fold(0, |mask, &lamp| mask << 1 | u8::from(holds(lamp)))
    }

    /// What the eye can follow of the bits that move, those of which the same is seen together; empty if none moves.
    pub fn words(&self) -> String {
        let mut seen: Vec<(String, Vec<usize>)> = Vec::new();
        for (bit, lamp) in self.0.iter().enumerate().filter(|(_, lamp)| lamp.moves()) {
            let words = lamp.words();
            match seen.iter_mut().find(|(known, _)| *known == words) {
                Some((_, bits)) => bits.push(bit),
                None => seen.push((words, vec![bit])),
            }
        }
        let parts = seen.into_iter().map(|(words, bits)| match bits[..] {
            [bit] => format!("bit {bit} {words}"),
            _ => {
                let bits: Vec<String> = bits.iter().map(usize::to_string).collect();
                format!("each of bits {} {words}", bits.join(", "))
            }
        });
        parts.collect::<Vec<_>>().join("; ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_seen_is_said() {
        let mut byte = LiveByte::fixed(0o200);
        byte.0[0] = LiveLamp { lit: 500, goes_on: 960, open: false };
        byte.0[1] = LiveLamp { lit: 500, goes_on: 960, open: false };
        byte.0[4] = LiveLamp { lit: 500, goes_on: 60, open: false };
        byte.0[5] = LiveLamp { lit: 10, goes_on: 60, open: false };
        byte.0[6] = LiveLamp { lit: 300, goes_on: 12, open: false };
        assert_eq!((byte.moving(), byte.mostly()), (0o163, 0o223));
        assert_eq!(
            byte.words(),
            "each of bits 0, 1 looks steady, half bright, lit 50 % of the time; bit 4 flickers, goes on 6.0 times a \
             second, lit 50 % of the time; bit 5 flashes 6.0 times a second, lit 1 % of the time; bit 6 goes on 1.2 times \
             a second and can be counted, lit 30 % of the time"
        );
        assert_eq!(LiveByte::fixed(0o252).words(), "");
    }

    #[test]
    fn what_differs_between_two_runs_is_open() {
        let mut one = LiveByte::fixed(0o006);
        one.0[4] = LiveLamp { lit: 500, goes_on: 960, open: false };
        let mut other = one;
        other.0[1] = LiveLamp::default();
        other.0[4].lit = 499;
        let both = one.in_both(other);
        assert_eq!((both.open(), both.moving(), both.mostly() & 0o004), (0o002, 0o020, 0o004));
    }

    #[test]
    fn brightness_has_five_steps() {
        let step = |lit| LiveLamp { lit, goes_on: 1, open: false }.step();
        assert_eq!([1, 200, 201, 400, 401, 600, 601, 800, 801, 999].map(step), [1, 1, 2, 2, 3, 3, 4, 4, 5, 5]);
    }
}
