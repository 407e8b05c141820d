//! A complex amplitude.

use std::ops::{Add, Mul, Sub};

/// A complex number: the amplitude and phase of a tone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Phasor {
    pub re: f32,
    pub im: f32,
}

impl Phasor {
    pub(super) fn turned(radians: f64) -> Phasor {
        let (im, re) = radians.sin_cos();
        Phasor { re: re as f32, im: im as f32 }
    }

    pub(super) fn conj(self) -> Phasor {
        Phasor { re: self.re, im: -self.im }
    }

    pub(super) fn power(self) -> f32 {
        self.re * self.re + self.im * self.im
    }

    pub(super) fn length(self) -> f32 {
        self.power().sqrt()
    }

    pub(super) fn angle(self) -> f32 {
        self.im.atan2(self.re)
    }

    pub(super) fn scaled(self, factor: f32) -> Phasor {
        Phasor { re: self.re * factor, im: self.im * factor }
    }
}

impl Add for Phasor {
    type Output = Phasor;
    fn add(self, other: Phasor) -> Phasor {
        Phasor { re: self.re + other.re, im: self.im + other.im }
    }
}

impl Sub for Phasor {
    type Output = Phasor;
    fn sub(self, other: Phasor) -> Phasor {
        Phasor { re: self.re - other.re, im: self.im - other.im }
    }
}

impl Mul for Phasor {
    type Output = Phasor;
    fn mul(self, other: Phasor) -> Phasor {
        Phasor { re: self.re * other.re - self.im * other.im, im: self.re * other.im + self.im * other.re }
    }
}
