//! Slab of any number of layers, to tell where a mode of the full section is about.

/// Layers in units of `1/k₀`; the first and the last are half-spaces.
#[derive(Debug, Clone)]
pub(super) struct Layered {
    indices: Vec<f64>,
    /// Thickness of the inner ones.
    thickness: Vec<f64>,
}

const BISECTIONS: usize = 50;

impl Layered {
    pub(super) fn new(indices: Vec<f64>, interfaces_um: &[f64], k0: f64) -> Self {
        let thickness = interfaces_um.windows(2).map(|pair| (pair[1] - pair[0]) * k0).collect();
        Self { indices, thickness }
    }

    /// A lateral slab of effective indices with the given interfaces.
    fn cladding(&self) -> f64 {
        self.indices[0].max(self.indices[self.indices.len() - 1])
    }

    /// Effective index of mode `mode`, `None` if it is not guided; `magnetic` for H along the layers.
    pub(super) fn mode(&self, magnetic: bool, mode: usize) -> Option<f64> {
        let mut low = self.cladding() * (1.0 + f64::EPSILON);
        let mut high = self.indices.iter().copied().fold(0.0, f64::max);
        if high <= low || self.count(magnetic, low) <= mode {
            return None;
        }
        for _ in 0..BISECTIONS {
            let middle = f64::midpoint(low, high);
            if self.count(magnetic, middle) > mode {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(f64::midpoint(low, high))
    }

    /// How many modes have an effective index above `n_eff`: zeros of the solution that decays in the first layer.
    fn count(&self, magnetic: bool, n_eff: f64) -> usize {
        let weight = |index: f64| if magnetic { (index * index).recip() } else { 1.0 };
        let last = self.indices.len() - 1;
        let decay = |index: f64| ((n_eff - index) * (n_eff + index)).max(0.0).sqrt();
        // F and the continuous slope F'/q.
        let (mut value, mut slope) = (1.0_f64, weight(self.indices[0]) * decay(self.indices[0]));
        let mut zeros = 0;
        for (&index, &thickness) in self.indices[1..last].iter().zip(&self.thickness) {
            let q = weight(index);
            let square = (index - n_eff) * (index + n_eff);
            let wave = square.abs().sqrt().max(1e-12);
            let ratio = slope / (q * wave);
            if square > 0.0 {
                // F = a cos(kx − φ): zeros where kx − φ passes π/2 + mπ.
                let amplitude = value.hypot(ratio);
                let phase = ratio.atan2(value);
                let end = wave * thickness - phase;
                let cell = |angle: f64| (angle / std::f64::consts::PI + 0.5).floor();
                zeros += (cell(end) - cell(-phase)).max(0.0) as usize;
                value = amplitude * end.cos();
                slope = -amplitude * q * wave * end.sin();
            } else {
                let growth = (-2.0 * wave * thickness).exp();
                // Divided by the growing exponential.
                let next = 0.5 * (value * (1.0 + growth) + ratio * (1.0 - growth));
                let next_slope = 0.5 * q * wave * (value * (1.0 - growth) + ratio * (1.0 + growth));
                zeros += usize::from(value * next < 0.0);
                value = next;
                slope = next_slope;
            }
            let scale = value.abs().max(slope.abs()).max(f64::MIN_POSITIVE);
            value /= scale;
            slope /= scale;
        }
        // In the last half-space the growing part decides whether one more zero comes.
        let growing = value + slope / (weight(self.indices[last]) * decay(self.indices[last]).max(1e-12));
        zeros + usize::from(growing * value < 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::Layered;
    use crate::slab::{Slab, SlabPolarisation};

    #[test]
    fn three_layers_are_the_slab() {
        let slab = Slab { wavelength_um: 0.85, width_um: 3.0, n_core: 1.52, n_left: 1.49, n_right: 1.45 };
        let k0 = std::f64::consts::TAU / slab.wavelength_um;
        let layered = Layered::new(vec![1.49, 1.52, 1.45], &[0.0, 3.0], k0);
        for (magnetic, polarisation) in [(false, SlabPolarisation::Te), (true, SlabPolarisation::Tm)] {
            let guided = slab.mode_count(polarisation).unwrap();
            assert!(guided > 1);
            for mode in 0..guided {
                let exact = slab.mode(polarisation, mode).unwrap().n_eff;
                assert!((layered.mode(magnetic, mode).unwrap() - exact).abs() < 1e-10);
            }
            assert_eq!(layered.mode(magnetic, guided), None);
        }
        // A split core guides as the whole one.
        let split = Layered::new(vec![1.49, 1.52, 1.52, 1.45], &[0.0, 1.0, 3.0], k0);
        let difference = split.mode(false, 1).unwrap() - layered.mode(false, 1).unwrap();
        assert!(difference.abs() < 1e-12);
    }
}
