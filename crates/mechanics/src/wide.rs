//! One number per design, for one design or for as many as the processor's vectors hold.

use std::ops::{Add, Div, Mul, Neg, Sub};

use pulp::Simd;

/// A value per lane; each lane is another design. With [`pulp::Scalar`] it is a plain `f64`.
#[derive(Clone, Copy)]
pub(crate) struct Wide<S: Simd> {
    simd: S,
    lanes: S::f64s,
}

impl<S: Simd> Wide<S> {
    #[inline(always)]
    pub(crate) fn new(simd: S, lanes: S::f64s) -> Self {
        Self { simd, lanes }
    }

    #[inline(always)]
    pub(crate) fn splat(simd: S, value: f64) -> Self {
        Self { simd, lanes: simd.splat_f64s(value) }
    }

    #[inline(always)]
    pub(crate) fn lanes(self) -> S::f64s {
        self.lanes
    }

    /// `self·b + c`, in one rounding where the processor offers it.
    #[inline(always)]
    pub(crate) fn mul_add(self, b: Self, c: Self) -> Self {
        Self::new(self.simd, self.simd.mul_add_e_f64s(self.lanes, b.lanes, c.lanes))
    }

    /// `c − self·b`, in one rounding where the processor offers it.
    #[inline(always)]
    pub(crate) fn neg_mul_add(self, b: Self, c: Self) -> Self {
        Self::new(self.simd, self.simd.negate_mul_add_e_f64s(self.lanes, b.lanes, c.lanes))
    }

    /// `self·b + c` with one `b` for all lanes.
    #[inline(always)]
    pub(crate) fn scale_add(self, b: f64, c: Self) -> Self {
        self.mul_add(Self::splat(self.simd, b), c)
    }

    /// `self·b` with one `b` for all lanes.
    #[inline(always)]
    pub(crate) fn scale(self, b: f64) -> Self {
        self * Self::splat(self.simd, b)
    }

    #[inline(always)]
    pub(crate) fn max(self, other: Self) -> Self {
        Self::new(self.simd, self.simd.max_f64s(self.lanes, other.lanes))
    }

    #[inline(always)]
    pub(crate) fn min(self, other: Self) -> Self {
        Self::new(self.simd, self.simd.min_f64s(self.lanes, other.lanes))
    }

    #[inline(always)]
    pub(crate) fn abs(self) -> Self {
        self.max(-self)
    }

    /// In each lane `if_true` where `self < limit`, else `if_false`.
    #[inline(always)]
    pub(crate) fn select_below(self, limit: Self, if_true: Self, if_false: Self) -> Self {
        let mask = self.simd.less_than_f64s(self.lanes, limit.lanes);
        Self::new(self.simd, self.simd.select_f64s(mask, if_true.lanes, if_false.lanes))
    }

    /// The greatest lane; a NaN lane is passed over or returned, so it proves nothing about NaN.
    #[inline(always)]
    pub(crate) fn greatest(self) -> f64 {
        self.simd.reduce_max_f64s(self.lanes)
    }

    /// Sine and cosine, absolute error below 1e-14 within ±2π and growing in proportion to the argument beyond.
    ///
    /// The argument is brought to ±π, halved, and put through near-minimax polynomials in the square; the
    /// double-angle formulas undo the halving. So no lane needs a branch.
    #[inline(always)]
    pub(crate) fn sin_cos(self) -> (Self, Self) {
        const SINE: [f64; 8] = [
            0.999_999_999_999_999,
            -0.166_666_666_666_647_8,
            0.008_333_333_333_226_224,
            -0.000_198_412_698_139_540_53,
            2.755_731_552_862_930_4e-6,
            -2.505_182_463_148_229_3e-8,
            1.604_661_990_193_599_5e-10,
            -7.357_654_492_339_867e-13,
        ];
        const COSINE: [f64; 7] = [
            -0.499_999_999_999_931_2,
            0.041_666_666_665_954_13,
            -0.001_388_888_886_393_169_4,
            2.480_158_315_601_035e-5,
            -2.755_695_073_304_106e-7,
            2.085_873_446_182_299_4e-9,
            -1.101_248_281_451_635_5e-11,
        ];
        // Adding and taking away 1.5·2⁵² rounds to a whole number.
        const ROUND: f64 = 6_755_399_441_055_744.0;
        const PI_LOW: f64 = 1.224_646_799_147_353_2e-16;
        let simd = self.simd;
        let round = Self::splat(simd, ROUND);
        let turns = self.scale_add(0.5 * std::f64::consts::FRAC_1_PI, round) - round;
        let half = turns.scale_add(-std::f64::consts::PI, self.scale(0.5));
        let half = turns.scale_add(-PI_LOW, half);
        let square = half * half;
        let mut sine = Self::splat(simd, SINE[7]);
        for k in (0..7).rev() {
            sine = sine.mul_add(square, Self::splat(simd, SINE[k]));
        }
        let mut cosine = Self::splat(simd, COSINE[6]);
        for k in (0..6).rev() {
            cosine = cosine.mul_add(square, Self::splat(simd, COSINE[k]));
        }
        let one = Self::splat(simd, 1.0);
        let sine = sine * half;
        let cosine = cosine.mul_add(square, one);
        let twice = sine + sine;
        (twice * cosine, twice.neg_mul_add(sine, one))
    }
}

impl<S: Simd> Add for Wide<S> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self::new(self.simd, self.simd.add_f64s(self.lanes, other.lanes))
    }
}

impl<S: Simd> Sub for Wide<S> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self::new(self.simd, self.simd.sub_f64s(self.lanes, other.lanes))
    }
}

impl<S: Simd> Mul for Wide<S> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        Self::new(self.simd, self.simd.mul_f64s(self.lanes, other.lanes))
    }
}

impl<S: Simd> Div for Wide<S> {
    type Output = Self;
    #[inline(always)]
    fn div(self, other: Self) -> Self {
        Self::new(self.simd, self.simd.div_f64s(self.lanes, other.lanes))
    }
}

impl<S: Simd> Neg for Wide<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self::new(self.simd, self.simd.neg_f64s(self.lanes))
    }
}

#[cfg(test)]
mod tests {
    use pulp::Scalar;

    use super::*;

    #[test]
    fn sine_and_cosine_match_the_library() {
        for step in -4000..4000 {
            let angle = f64::from(step) * 0.0037;
            let (sine, cosine) = Wide::splat(Scalar::new(), angle).sin_cos();
            let tolerance = 1e-14 * (angle.abs() / std::f64::consts::TAU).max(1.0);
            assert!((sine.lanes() - angle.sin()).abs() < tolerance, "sine of {angle}");
            assert!((cosine.lanes() - angle.cos()).abs() < tolerance, "cosine of {angle}");
        }
    }
}
