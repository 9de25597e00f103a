//! The window around a section: elements graded towards the interfaces, margins, absorbing layers, walls.

use super::layout::{Wall, Walls};
use super::line::Segment;
use super::section::CrossSection;
use crate::channel::Polarisation;
use crate::complex::Complex;

/// Margin beyond the outermost interface on one side, in units of `1/k₀`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Margin {
    /// Length on the real path and its longest element.
    length: f64,
    longest: f64,
    /// Length of the absorbing layer, 0 for none, and its longest element.
    absorber: f64,
    longest_absorbing: f64,
}

/// How a line starts on the low side.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Low {
    Margin(Margin),
    /// At the plane of symmetry, coordinate 0.
    Symmetry,
}

/// Elements of the window.
#[derive(Debug, Clone)]
pub(super) struct Window {
    pub(super) u: Vec<Segment>,
    pub(super) z: Vec<Segment>,
    pub(super) walls: Walls,
    /// u or z is only one half, by symmetry.
    pub(super) half_u: bool,
    pub(super) half_z: bool,
    /// `1/(k₀ R)`, 0 on a straight.
    pub(super) curvature: f64,
}

/// Decay of the field to the wall on a straight …
const DECAY: f64 = 9.0;
/// … and to the absorbing layers above and below a bend.
const DECAY_TO_ABSORBER: f64 = 10.0;
/// Least margins and absorbers of a bend in wavelengths.
const LEAST_MARGIN: f64 = 1.5;
const LEAST_ABSORBER: f64 = 2.0;
/// Longest element in wavelengths of the core.
const LONGEST: f64 = 1.0 / 1.6;
/// Growth of elements outwards.
const GROWTH: f64 = 1.8;
/// Length of the layer of elements next to an interface as a share of the next.
const LAYER_RATIO: f64 = 0.2;
/// Longest element of a decaying field in decay lengths, in a bend.
const LONGEST_DECAY: f64 = 2.5;
/// Length of the absorber beyond the caustic and its longest element in Airy lengths.
const ABSORBER_AIRY: f64 = 6.0;
const LONGEST_AIRY: f64 = 1.5;
/// A bend's inner margin ends at this share of the inner core radius.
const LEAST_INNER_SHARE: f64 = 0.1;
/// Least `N² − n²` for the length of a margin.
const LEAST_DIFFERENCE: f64 = 1e-5;

/// Decay constant of a mode of effective index `n_eff` in a cladding, in units of `k₀`.
pub(super) fn decay(n_eff: f64, index: f64) -> f64 {
    ((n_eff - index) * (n_eff + index)).max(LEAST_DIFFERENCE).sqrt()
}

/// Interfaces of one direction with what is between them.
struct Interfaces {
    /// Rising, from the core's middle.
    places: Vec<f64>,
    /// Column or row of the section in each interval.
    cells: Vec<usize>,
    /// Intervals of the core, inclusive.
    core: (usize, usize),
    longest: f64,
    layers: usize,
}

impl Interfaces {
    fn of_columns(section: &CrossSection, outwards: f64, layers: usize) -> Self {
        let (k0, middle) = (section.k0(), section.core_middle_um());
        let mut places: Vec<f64> = section.y_um.iter().map(|y| outwards * (y - middle) * k0).collect();
        let mut cells: Vec<usize> = (0..section.columns()).collect();
        let mut core = section.core_columns;
        if outwards < 0.0 {
            places.reverse();
            cells.reverse();
            let last = section.columns() - 1;
            core = (last - core.1, last - core.0);
        }
        Self { places, cells, core, longest: longest(section), layers }
    }

    fn of_rows(section: &CrossSection, layers: usize) -> Self {
        let k0 = section.k0();
        let middle = section.mid_plane_um();
        Self {
            places: section.z_um.iter().map(|z| (z - middle) * k0).collect(),
            cells: (0..section.rows()).collect(),
            core: section.core_rows,
            longest: longest(section),
            layers,
        }
    }

    fn line(&self, low: Low, high: Margin) -> Vec<Segment> {
        let mut segments = Vec::new();
        let last = self.places.len();
        if let Low::Margin(margin) = low {
            let mut out = self.outwards(&margin);
            out.reverse();
            let edge = self.places[0];
            for (near, far, stretch) in out {
                // Mirrored: the path turns at the end of the real margin.
                let turn = edge - margin.length;
                let one = Complex::real(1.0);
                let (start, end) = (edge - far, edge - near);
                let at = if stretch == one {
                    Complex::real(start)
                } else {
                    Complex::real(turn) + stretch * (start - turn)
                };
                segments.push(Segment { start, end, at, stretch, cell: self.cells[0] });
            }
        }
        for interval in 1..last {
            let (mut from, to) = (self.places[interval - 1], self.places[interval]);
            let mut at_interface = true;
            if low == Low::Symmetry {
                if to <= 0.0 {
                    continue;
                }
                if from < 0.0 {
                    from = 0.0;
                    at_interface = false;
                }
            }
            let is_core = (self.core.0..=self.core.1).contains(&interval);
            let least = if is_core && at_interface { 2.0 } else { 1.0 };
            let count = ((to - from) / self.longest).ceil().max(least);
            let step = (to - from) / count;
            let mut cuts = vec![from, to];
            cuts.extend((1..count as usize).map(|i| from + step * i as f64));
            let mut layer = step;
            for _ in 0..self.layers {
                layer *= LAYER_RATIO;
                if at_interface {
                    cuts.push(from + layer);
                }
                cuts.push(to - layer);
            }
            cuts.sort_by(f64::total_cmp);
            segments.extend(cuts.windows(2).map(|pair| Segment {
                start: pair[0],
                end: pair[1],
                at: Complex::real(pair[0]),
                stretch: Complex::real(1.0),
                cell: self.cells[interval],
            }));
        }
        let edge = self.places[last - 1];
        for (near, far, stretch) in self.outwards(&high) {
            let turn = edge + high.length;
            let start = edge + near;
            let at = if stretch == Complex::real(1.0) {
                Complex::real(start)
            } else {
                Complex::real(turn) + stretch * (start - turn)
            };
            segments.push(Segment { start, end: edge + far, at, stretch, cell: self.cells[last] });
        }
        segments
    }

    /// Near end, far end and stretch of the elements of a margin, from the edge outwards.
    fn outwards(&self, margin: &Margin) -> Vec<(f64, f64, Complex)> {
        let mut cuts = spread(margin.length, self.longest, margin.longest);
        let first = cuts[1];
        let mut layer = first;
        for _ in 0..self.layers {
            layer *= LAYER_RATIO;
            cuts.push(layer);
        }
        cuts.sort_by(f64::total_cmp);
        let one = Complex::real(1.0);
        let mut elements: Vec<_> = cuts.windows(2).map(|pair| (pair[0], pair[1], one)).collect();
        if margin.absorber > 0.0 {
            let tail = spread(margin.absorber, margin.longest_absorbing, margin.longest_absorbing);
            elements.extend(
                tail.windows(2)
                    .map(|pair| (margin.length + pair[0], margin.length + pair[1], Complex::new(1.0, 1.0))),
            );
        }
        elements
    }
}

fn longest(section: &CrossSection) -> f64 {
    std::f64::consts::TAU * LONGEST / section.core_index()
}

/// Cuts of a length into elements that grow from `first` by [`GROWTH`] up to `longest`.
fn spread(length: f64, first: f64, longest: f64) -> Vec<f64> {
    let mut lengths = Vec::new();
    let (mut sum, mut next) = (0.0, first.min(longest));
    while sum < length {
        lengths.push(next);
        sum += next;
        next = (next * GROWTH).min(longest);
    }
    // All a little shorter, so that they fit.
    let scale = length / sum;
    let mut cuts = vec![0.0];
    let mut at = 0.0;
    for element in lengths {
        at += element * scale;
        cuts.push(at);
    }
    cuts
}

/// Numbers a window is built from.
#[derive(Debug, Clone, Copy)]
pub(super) struct WindowSettings {
    /// Layers of short elements at every interface.
    pub(super) layers: usize,
    /// Factor on all margins.
    pub(super) margins: f64,
    /// Effective index the window is made for.
    pub(super) n_eff: f64,
}

impl Window {
    /// For a straight mode; planes of symmetry halve it.
    pub(super) fn straight(
        section: &CrossSection,
        polarisation: Polarisation,
        settings: &WindowSettings,
    ) -> Self {
        let margin = |index: f64| {
            let length = settings.margins * DECAY / decay(settings.n_eff, index);
            Margin { length, longest: f64::INFINITY, absorber: 0.0, longest_absorbing: 0.0 }
        };
        let (half_u, half_z) = (section.is_mirrored(), section.is_upright());
        let low = |half: bool, index: f64| {
            if half { Low::Symmetry } else { Low::Margin(margin(index)) }
        };
        let (left, right) = (section.escape_index(0), section.escape_index(section.columns() - 1));
        let (below, above) = half_spaces(section);
        Self {
            u: Interfaces::of_columns(section, 1.0, settings.layers).line(low(half_u, left), margin(right)),
            z: Interfaces::of_rows(section, settings.layers).line(low(half_z, below), margin(above)),
            walls: walls(polarisation, half_u, half_z),
            half_u,
            half_z,
            curvature: 0.0,
        }
    }

    /// For a bend of signed curvature (`1/(k₀ R)`, positive to the left).
    pub(super) fn bent(
        section: &CrossSection,
        polarisation: Polarisation,
        curvature: f64,
        settings: &WindowSettings,
    ) -> Self {
        let wavelength = std::f64::consts::TAU;
        let n_eff = settings.n_eff;
        // u points away from the centre of the bend.
        let outwards = if curvature > 0.0 { -1.0 } else { 1.0 };
        let curvature = curvature.abs();
        let columns = Interfaces::of_columns(section, outwards, settings.layers);
        let last = columns.places.len();
        let inner_index = section.escape_index(columns.cells[0]);
        let outer_index = section.escape_index(columns.cells[last]);
        let (below, above) = half_spaces(section);

        let inner_edge = columns.places[0];
        let floor = (1.0 + curvature * inner_edge) * (1.0 - LEAST_INNER_SHARE) / curvature;
        let inner_decay = decay(n_eff, inner_index);
        let inner = Margin {
            length: (settings.margins * (DECAY / inner_decay).max(LEAST_MARGIN * wavelength)).min(floor),
            longest: LONGEST_DECAY / inner_decay,
            absorber: 0.0,
            longest_absorbing: 0.0,
        };
        let outer_edge = columns.places[last - 1];
        let caustic = (n_eff / outer_index - 1.0) / curvature;
        let airy = (2.0 * outer_index * outer_index * curvature).cbrt().recip();
        let shortest = 0.5 * columns.longest;
        let outer = Margin {
            length: (caustic - outer_edge).max(shortest),
            longest: LONGEST_DECAY / decay(n_eff, outer_index),
            absorber: settings.margins * (LEAST_ABSORBER * wavelength).max(ABSORBER_AIRY * airy),
            longest_absorbing: (LONGEST_AIRY * airy).max(columns.longest),
        };
        let vertical = |index: f64| {
            let decay = decay(n_eff, index);
            let length = settings.margins * (DECAY_TO_ABSORBER / decay).max(LEAST_MARGIN * wavelength);
            let longest = (LONGEST_DECAY / decay).max(columns.longest);
            Margin {
                length,
                longest,
                absorber: settings.margins * (DECAY_TO_ABSORBER / decay).max(LEAST_ABSORBER * wavelength),
                longest_absorbing: longest,
            }
        };
        let half_z = section.is_upright();
        let low = if half_z { Low::Symmetry } else { Low::Margin(vertical(below)) };
        Self {
            u: columns.line(Low::Margin(inner), outer),
            z: Interfaces::of_rows(section, settings.layers).line(low, vertical(above)),
            walls: walls(polarisation, false, half_z),
            half_u: false,
            half_z,
            curvature,
        }
    }
}

/// Highest index of the half-spaces below and above.
fn half_spaces(section: &CrossSection) -> (f64, f64) {
    let highest =
        |row: usize| (0..section.columns()).map(|column| section.index(column, row)).fold(1.0, f64::max);
    (highest(0), highest(section.rows() - 1))
}

/// Outer walls are electric; a plane of symmetry lets the main field through or holds it, as the polarisation asks.
fn walls(polarisation: Polarisation, half_u: bool, half_z: bool) -> Walls {
    let (across, upright) = match polarisation {
        Polarisation::QuasiTe => (Wall::Electric, Wall::Magnetic),
        Polarisation::QuasiTm => (Wall::Magnetic, Wall::Electric),
    };
    let low = |half: bool, plane: Wall| if half { plane } else { Wall::Electric };
    Walls { u: [low(half_u, across), Wall::Electric], z: [low(half_z, upright), Wall::Electric] }
}
