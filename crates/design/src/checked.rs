//! What a design is once it has been checked: domain types of which the physics cannot be handed nonsense.

use crate::document::Design;
use crate::strength::Oven;
use ogee_geometry::{Centreline, Quarter};
use ogee_mechanics::{OutOfPlane, SectionLaw, Strips};
use ogee_optics::{Core, EffectiveIndex, Polarisation};
use ogee_stack::{Section, Torsion};
use std::sync::{Arc, OnceLock};

/// A design that has passed [`Design::check`]: shape, section and core are known to be possible.
#[derive(Clone, Debug)]
pub struct Checked {
    pub(crate) design: Arc<Design>,
    pub(crate) centreline: Centreline,
    pub(crate) section: Section,
    pub(crate) strips: Strips,
    pub(crate) layers: Vec<CheckedLayer>,
    pub(crate) light: Option<CheckedLight>,
    pub(crate) oven: Option<Oven>,
    /// Made when it is first asked for: that of a section of several pieces takes most of a millisecond.
    pub(crate) torsion: OnceLock<Torsion>,
}

/// A layer that is judged: its edges and its allowable strains.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckedLayer {
    /// Name of the layer.
    pub name: String,
    /// Offset of its right edge, µm.
    pub right_um: f64,
    /// Offset of its left edge, µm.
    pub left_um: f64,
    /// Height of its bottom face above the stack's bottom, µm.
    pub bottom_um: f64,
    /// Height of its top face above the stack's bottom, µm.
    pub top_um: f64,
    /// Largest tensile strain that pull and wrap may add, dimensionless: the layer's own limit less what the process has
    /// left in it.
    pub allowable_strain: f64,
    /// Largest compressive strain that pull and wrap may add, dimensionless and positive.
    pub allowable_compression: Option<f64>,
    /// The layer's own limit in tension, dimensionless.
    pub given_strain: f64,
    /// The layer's own limit in compression, dimensionless and positive.
    pub given_compression: Option<f64>,
    /// Greatest and least elastic strain that the process leaves over the temperatures of use, dimensionless; zero
    /// without a process. Of a free ribbon that curls: as it curls, because its strain is told from there.
    pub residual: [f64; 2],
    /// The same with the ribbon held flat, to which a wrap adds.
    pub flat_residual: [f64; 2],
}

/// Least strain that a limit is taken for where the process has used up all of it, dimensionless.
const USED_UP: f64 = 1e-9;

impl CheckedLayer {
    /// The same layer with what its process leaves in it, and leaves in it when held flat.
    pub(crate) fn with_residual(mut self, residual: [f64; 2], flat_residual: [f64; 2]) -> Self {
        (self.allowable_strain, self.allowable_compression) = self.limits(residual);
        (self.residual, self.flat_residual) = (residual, flat_residual);
        self
    }

    /// What a wrap may add in tension and in compression, dimensionless and positive.
    pub(crate) fn wrap_limits(&self) -> (f64, Option<f64>) {
        self.limits(self.flat_residual)
    }

    fn limits(&self, residual: [f64; 2]) -> (f64, Option<f64>) {
        let compression = self.given_compression.map(|c| (c + residual[1]).max(USED_UP));
        ((self.given_strain - residual[0]).max(USED_UP), compression)
    }
}

/// The light of a checked design: a core that guides at least one mode.
#[derive(Clone, Debug)]
pub struct CheckedLight {
    /// The core and what surrounds it.
    pub core: Core,
    /// The polarisation asked for.
    pub polarisation: Polarisation,
    /// The effective-index estimate of its fundamental mode.
    pub index: EffectiveIndex,
    /// Number of the core's layer.
    pub core_layer: usize,
    /// Sideways offset of the core's middle from the centreline, towards the left edge, µm.
    pub core_offset_um: f64,
    /// Largest insertion loss allowed, dB.
    pub insertion_loss_limit_db: f64,
}

impl Checked {
    /// The document.
    pub fn design(&self) -> &Arc<Design> {
        &self.design
    }

    /// The whole ribbon at rest.
    pub fn centreline(&self) -> &Centreline {
        &self.centreline
    }

    /// One quarter of the meander at rest.
    pub fn quarter(&self) -> &Quarter {
        self.centreline.quarter()
    }

    /// The layered section.
    pub fn section(&self) -> &Section {
        &self.section
    }

    /// The section as the planar mechanics sees it.
    pub fn strips(&self) -> &Strips {
        &self.strips
    }

    /// The layers that are judged.
    pub fn layers(&self) -> &[CheckedLayer] {
        &self.layers
    }

    /// The process that has been followed, where the design has one.
    pub(crate) fn oven(&self) -> Option<&Oven> {
        self.oven.as_ref()
    }

    /// Curvature out of the plane that the ribbon takes when left to itself, 1/µm, positive with the top face stretched:
    /// that of `support.curl_radius_um`, or else what its process gives it.
    pub fn curl_per_um(&self) -> f64 {
        match self.design.support.curl_radius_um {
            Some(radius) => -radius.recip(),
            None => self.oven().map_or(0.0, Oven::curl_per_um),
        }
    }

    /// The light, where the design has any.
    pub fn light(&self) -> Option<&CheckedLight> {
        self.light.as_ref()
    }

    /// The section against twist and bending out of the plane.
    pub fn out_of_plane(&self) -> OutOfPlane {
        let section = &self.section;
        OutOfPlane {
            bending_un_um2: section.ei_out_of_plane_un_um2(),
            torsion_un_um2: self.torsion().value_un_um2,
            poisson: section.poisson(),
            bottom_um: -section.neutral_plane_um(),
            top_um: section.thickness_um() - section.neutral_plane_um(),
            law: SectionLaw::Ribbon,
        }
    }

    /// The section's stiffness against twist.
    pub(crate) fn torsion(&self) -> &Torsion {
        self.torsion.get_or_init(|| self.section.torsion_un_um2())
    }

    /// Width of the ribbon, µm.
    pub fn width_um(&self) -> f64 {
        self.design.shape.width_um
    }

    /// Target stretch between the islands, dimensionless.
    pub fn target_stretch(&self) -> f64 {
        self.design.duty.target_stretch_percent / 100.0
    }

    /// End-to-end length over the length of the full periods: leads hardly elongate, so the meander takes
    /// the island's displacement over a shorter length.
    pub fn stretch_ratio(&self) -> f64 {
        self.centreline.span_um() / (f64::from(self.design.shape.periods) * self.design.shape.pitch_um)
    }

    /// Stretch of the meander itself when the islands move apart by `stretch`.
    pub fn cell_stretch(&self, stretch: f64) -> f64 {
        stretch * self.stretch_ratio()
    }
}
