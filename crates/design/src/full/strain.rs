//! What a solved ribbon says about the strain in its layers, whichever model solved it.

use crate::checked::Checked;
use crate::figures::{Layers, Strain};
use crate::places;
use crate::result::Place;
use ogee_mechanics::LayerPeaks;

/// The greatest strain of one sign in a layer, and where it is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Peak {
    /// Strain, tension positive, dimensionless.
    pub(crate) strain: f64,
    /// Distance along the ribbon at rest, µm.
    pub(crate) s_um: f64,
    /// Offset from the centreline, towards the left edge, µm.
    pub(crate) offset_um: f64,
}

/// Greatest and least strain in a layer.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Peaks {
    pub(crate) tension: Peak,
    pub(crate) compression: Peak,
}

impl Peaks {
    /// Peak tension and compression, both positive or zero.
    pub(crate) fn sizes(&self) -> (f64, f64) {
        (self.tension.strain.max(0.0), (-self.compression.strain).max(0.0))
    }
}

/// Strain over the whole section and in every judged layer.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct SectionPeaks {
    pub(crate) edges: Peaks,
    pub(crate) layers: Vec<Peaks>,
}

impl SectionPeaks {
    fn layer_peaks(&self) -> Vec<LayerPeaks> {
        std::iter::once(&self.edges)
            .chain(&self.layers)
            .map(|p| LayerPeaks { tensile: p.tension.strain, compressive: p.compression.strain })
            .collect()
    }

    /// The strain as the margins judge it.
    pub(crate) fn judged(&self, layers: &Layers) -> Strain {
        let peaks = self.layer_peaks();
        Strain {
            edge_tension: self.edges.sizes().0,
            used: layers.most_used(&peaks, 1.0),
            compressed: layers.most_compressed(&peaks, 1.0),
            wrapped: layers.wrapped_margin(&peaks, 1.0),
        }
    }

    /// Peak tension and compression of every judged layer.
    pub(crate) fn sizes(&self) -> Vec<(f64, f64)> {
        self.layers.iter().map(Peaks::sizes).collect()
    }
}

/// The place of a peak in the layer of that number; over the whole section without one.
pub(crate) fn place(checked: &Checked, peak: &Peak, layer: Option<usize>) -> Place {
    let name = layer.and_then(|i| checked.layers().get(i)).map_or("", |l| l.name.as_str());
    places::on_ribbon(checked, peak.s_um, Some(peak.offset_um), name)
}
