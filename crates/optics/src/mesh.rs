//! Elements along r for a bent mode, first on the real axis, then on a complex path.
//!
//! Dimensionless: x = k₀ u with u = r − R, c = 1/(k₀ R), ρ = r/R = 1 + c x. In these the bent-slab equation reads
//! `q ρ d/dx((ρ/q) dF/dx) + (n² ρ² − N²) F = 0`; for c = 0 it is that of the straight slab, so large radii lose no
//! digits. The local wave number is `√(n² − N²/ρ²)`; an element spans a fixed phase (or decay) of it. Beyond the
//! radiation caustic `ρ_c` = `N/n_out` the path turns to x = `x_c` + (1 + i) t, where the outgoing wave decays.

use crate::complex::Complex;

/// A core between two claddings in the numbers above.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Layers {
    /// c.
    pub(crate) curvature: f64,
    /// x of the inner and the outer edge of the core.
    pub(crate) inner_edge: f64,
    pub(crate) outer_edge: f64,
    pub(crate) n_in: f64,
    pub(crate) n_core: f64,
    pub(crate) n_out: f64,
    /// q of the three.
    pub(crate) q_in: f64,
    pub(crate) q_core: f64,
    pub(crate) q_out: f64,
}

impl Layers {
    pub(crate) fn rho(&self, x: f64) -> f64 {
        1.0 + self.curvature * x
    }

    /// `n² − N²/ρ²`: positive where the field oscillates.
    fn wave_number_squared(&self, index: f64, n_eff: f64, x: f64) -> f64 {
        let local = n_eff / self.rho(x);
        (index - local) * (index + local)
    }

    /// x of the radiation caustic of a mode of effective index `n_eff`; infinite on a straight.
    pub(crate) fn caustic(&self, n_eff: f64) -> f64 {
        (n_eff / self.n_out - 1.0) / self.curvature
    }

    /// Length over which the field changes at the caustic (Airy scale), `(2 n_out³ c/N)^(−1/3)`.
    pub(crate) fn caustic_scale(&self, n_eff: f64) -> f64 {
        (2.0 * self.n_out.powi(3) * self.curvature / n_eff).cbrt().recip()
    }

    /// Decay exponent between the outer core edge and the caustic: `(N/c)(a − tanh a)`, `cosh a = N/(n_out ρ)`;
    /// 0 when the caustic is inside the core.
    pub(crate) fn barrier(&self, n_eff: f64) -> f64 {
        let ratio = n_eff / (self.n_out * self.rho(self.outer_edge));
        if ratio <= 1.0 {
            return 0.0;
        }
        let a = ratio.acosh();
        n_eff / self.curvature * (a - a.tanh())
    }
}

/// One element on the real axis.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RealElement {
    pub(crate) start: f64,
    pub(crate) end: f64,
    pub(crate) index_squared: f64,
    pub(crate) inverse_weight: f64,
}

/// One element on the complex path, in the outer cladding.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ComplexElement {
    pub(crate) start: Complex,
    pub(crate) end: Complex,
}

/// Elements from deep in the inner cladding outwards.
#[derive(Debug, Clone, Default)]
pub(crate) struct Mesh {
    pub(crate) real: Vec<RealElement>,
    pub(crate) tail: Vec<ComplexElement>,
    /// Which of the real elements are in the core.
    pub(crate) core: std::ops::Range<usize>,
}

/// How finely and how far to mesh.
#[derive(Debug, Clone, Copy)]
pub(crate) struct MeshSettings {
    /// Phase or decay per element.
    pub(crate) phase: f64,
    /// Decay kept in the inner cladding.
    pub(crate) inner_decay: f64,
    /// Decay of the outgoing wave along the complex path; 0 leaves that path out and ends at the caustic.
    pub(crate) tail_decay: f64,
    /// Decay beyond the outer core edge after which the field is cut, caustic or not.
    pub(crate) outer_decay: f64,
    /// The complex path is `x_c` + (1 + i·slope) t.
    pub(crate) slope: f64,
}

/// The inner end stays outside this share of the inner core radius, where 1/r would be singular.
const LEAST_INNER_SHARE: f64 = 0.1;
/// Refinements of an element's length from its phase.
const LENGTH_STEPS: usize = 5;
/// Under-relaxation of them: near a turning point the phase grows as length^1.5.
const LENGTH_POWER: f64 = 0.7;
/// The phase of an element need not be met any closer than this.
const LENGTH_TOLERANCE: f64 = 0.05;
/// Elements in the core are this much shorter: the effective index hangs on them.
const CORE_SHARE: f64 = 0.75;
/// A remainder shorter than this share of an element is added to its neighbour.
const REMAINDER: f64 = 0.4;
/// Keeps a whole number of elements whole.
const ROUNDING: f64 = 1e-9;
/// Elements on one stretch, as a stop against nonsense.
const MOST_ELEMENTS: usize = 4000;

impl Mesh {
    /// Meshes for a mode of effective index about `n_eff`.
    pub(crate) fn build(&mut self, layers: &Layers, n_eff: f64, settings: &MeshSettings) {
        self.real.clear();
        self.tail.clear();
        self.inner_cladding(layers, n_eff, settings);
        let first = self.real.len();
        self.core_elements(layers, n_eff, settings);
        self.core = first..self.real.len();
        let barrier = layers.barrier(n_eff);
        if barrier > settings.outer_decay {
            self.outer_cladding(layers, n_eff, settings, f64::INFINITY);
        } else {
            let caustic = layers.caustic(n_eff).max(layers.outer_edge);
            self.outer_cladding(layers, n_eff, settings, caustic);
            if settings.tail_decay > 0.0 {
                self.complex_tail(layers, n_eff, settings, caustic);
            }
        }
    }

    /// Meshes the real path for all modes with an effective index between `low` and `high`: the core for the
    /// shortest waves among them, the outer cladding for the fastest decay.
    pub(crate) fn build_for_range(&mut self, layers: &Layers, low: f64, high: f64, settings: &MeshSettings) {
        self.real.clear();
        self.tail.clear();
        self.inner_cladding(layers, 0.5 * (low + high), settings);
        let first = self.real.len();
        self.core_elements(layers, low, settings);
        self.core = first..self.real.len();
        self.outer_cladding(layers, high, settings, layers.caustic(high));
    }

    fn push(&mut self, start: f64, end: f64, index: f64, weight: f64) {
        self.real.push(RealElement {
            start,
            end,
            index_squared: index * index,
            inverse_weight: weight.recip(),
        });
    }

    fn inner_cladding(&mut self, layers: &Layers, n_eff: f64, settings: &MeshSettings) {
        let floor = -(1.0 - LEAST_INNER_SHARE * layers.rho(layers.inner_edge)) / layers.curvature;
        let decay = |x: f64| (-layers.wave_number_squared(layers.n_in, n_eff, x)).max(0.0).sqrt();
        let mut outer = layers.inner_edge;
        let mut left = settings.inner_decay;
        while left > 0.0 && outer > floor && self.real.len() < MOST_ELEMENTS {
            // Where the field is small already, longer elements do no harm.
            let target = settings.phase * (1.0 + INNER_GROWTH * (settings.inner_decay - left));
            let length = element_length(target, |length| {
                layers.wave_number_squared(layers.n_in, n_eff, outer - 0.5 * length).abs().sqrt()
            });
            let inner = if outer - (1.0 + REMAINDER) * length < floor { floor } else { outer - length };
            left -= (outer - inner) * decay(0.5 * (outer + inner));
            self.push(inner, outer, layers.n_in, layers.q_in);
            outer = inner;
        }
        self.real.reverse();
    }

    fn core_elements(&mut self, layers: &Layers, n_eff: f64, settings: &MeshSettings) {
        let width = layers.outer_edge - layers.inner_edge;
        let wave = |x: f64| layers.wave_number_squared(layers.n_core, n_eff, x).abs().sqrt();
        let mut inner = layers.inner_edge;
        let last = self.real.len() + MOST_ELEMENTS;
        while inner < layers.outer_edge && self.real.len() < last {
            let rest = layers.outer_edge - inner;
            let length =
                element_length(CORE_SHARE * settings.phase, |length| wave(inner + 0.5 * length.min(rest)))
                    .min(0.5 * width);
            // What is left is shared out evenly, so that no sliver remains.
            let share = rest / (rest / length - ROUNDING).ceil().max(1.0);
            let outer = if share >= rest { layers.outer_edge } else { inner + share };
            self.push(inner, outer, layers.n_core, layers.q_core);
            inner = outer;
        }
    }

    /// From the core to `end`, or until the field has decayed enough.
    fn outer_cladding(&mut self, layers: &Layers, n_eff: f64, settings: &MeshSettings, end: f64) {
        let wave = |x: f64| layers.wave_number_squared(layers.n_out, n_eff, x).abs().sqrt();
        let mut inner = layers.outer_edge;
        let mut decay = 0.0;
        let last = self.real.len() + MOST_ELEMENTS;
        while inner < end && decay < settings.outer_decay && self.real.len() < last {
            let rest = end - inner;
            let length = element_length(settings.phase, |length| wave(inner + 0.5 * length.min(rest)));
            let outer = if (1.0 + REMAINDER) * length > rest { end } else { inner + length };
            decay += (outer - inner) * wave(0.5 * (inner + outer));
            self.push(inner, outer, layers.n_out, layers.q_out);
            inner = outer;
        }
    }

    fn complex_tail(&mut self, layers: &Layers, n_eff: f64, settings: &MeshSettings, caustic: f64) {
        let direction = Complex::new(1.0, settings.slope);
        let stretch = direction.abs();
        let wave = |t: f64| {
            let rho = Complex::real(layers.rho(caustic)) + direction * (layers.curvature * t);
            let local = Complex::real(n_eff) / rho;
            (Complex::real(layers.n_out * layers.n_out) - local * local).sqrt()
        };
        let (mut t, mut decay) = (0.0, 0.0);
        while decay < settings.tail_decay && self.tail.len() < MOST_ELEMENTS {
            let length = element_length(settings.phase, |length| stretch * wave(t + 0.5 * length).abs());
            let next = t + length;
            decay += length * (wave(0.5 * (t + next)) * direction).im;
            let at = |t: f64| Complex::real(caustic) + direction * t;
            self.tail.push(ComplexElement { start: at(t), end: at(next) });
            t = next;
        }
    }
}

/// Growth of inner elements per unit of decay already passed.
const INNER_GROWTH: f64 = 0.05;

/// Length of an element that spans `phase`, given the mean wave number as a function of that length.
fn element_length(phase: f64, wave_number: impl Fn(f64) -> f64) -> f64 {
    // A wave number of zero (exactly at a turning point) would give no length scale.
    const LEAST_WAVE_NUMBER: f64 = 1e-6;
    let mut length = phase / wave_number(0.0).max(LEAST_WAVE_NUMBER);
    for _ in 0..LENGTH_STEPS {
        let ratio = phase / (length * wave_number(length).max(LEAST_WAVE_NUMBER));
        length *= ratio.powf(LENGTH_POWER);
        if (ratio - 1.0).abs() < LENGTH_TOLERANCE {
            break;
        }
    }
    length
}
