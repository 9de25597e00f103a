//! A complex number, as small as the bent-mode solver needs it.

use std::ops::{Add, AddAssign, Div, Mul, Sub, SubAssign};

/// A complex number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Complex {
    pub(crate) re: f64,
    pub(crate) im: f64,
}

impl Complex {
    pub(crate) const ZERO: Self = Self::new(0.0, 0.0);

    pub(crate) const fn new(re: f64, im: f64) -> Self {
        Self { re, im }
    }

    pub(crate) const fn real(re: f64) -> Self {
        Self::new(re, 0.0)
    }

    pub(crate) fn norm_sqr(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    pub(crate) fn abs(self) -> f64 {
        self.re.hypot(self.im)
    }

    pub(crate) fn recip(self) -> Self {
        let scale = self.norm_sqr().recip();
        Self::new(self.re * scale, -self.im * scale)
    }

    /// Principal square root.
    pub(crate) fn sqrt(self) -> Self {
        let modulus = self.abs();
        let re = f64::midpoint(modulus, self.re.abs()).sqrt();
        if re == 0.0 {
            return Self::ZERO;
        }
        let im = self.im / (2.0 * re);
        if self.re >= 0.0 { Self::new(re, im) } else { Self::new(im.abs(), re.copysign(self.im)) }
    }
}

impl Add for Complex {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.re + other.re, self.im + other.im)
    }
}

impl AddAssign for Complex {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Complex {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.re - other.re, self.im - other.im)
    }
}

impl SubAssign for Complex {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Mul for Complex {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self::new(self.re * other.re - self.im * other.im, self.re * other.im + self.im * other.re)
    }
}

impl Mul<f64> for Complex {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.re * factor, self.im * factor)
    }
}

impl Div for Complex {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let inverse = other.recip();
        Self::new(self.re * inverse.re - self.im * inverse.im, self.re * inverse.im + self.im * inverse.re)
    }
}

#[cfg(test)]
mod tests {
    use super::Complex;

    #[test]
    fn square_root_squares_back_in_all_quadrants() {
        for (re, im) in
            [(3.0, 4.0), (-3.0, 4.0), (-3.0, -4.0), (3.0, -4.0), (0.0, 2.0), (-1.0, 0.0), (2.0, 0.0)]
        {
            let z = Complex::new(re, im);
            let root = z.sqrt();
            let back = root * root - z;
            assert!(back.abs() < 1e-14, "{z:?}");
            assert!(root.re >= 0.0);
        }
        assert_eq!(Complex::ZERO.sqrt(), Complex::ZERO);
    }

    #[test]
    fn division_undoes_multiplication() {
        let (a, b) = (Complex::new(1.5, -2.0), Complex::new(-0.3, 0.7));
        assert!((a * b / b - a).abs() < 1e-15);
    }
}
