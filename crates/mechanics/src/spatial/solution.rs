//! A solved ribbon in space.

use super::problem::{Ribbon, SpatialProblem};
use super::recovery::{EnergyParts, Recovered};
use super::rod::Pose;
use super::section_state::{Extent, PeakKind};
use super::state::{SpatialState, between};
use super::vector::{Vec3, axes, norm};
use super::{SpatialError, newton::Outcome};

/// Heights below this share of the thickness are rounding: the ribbon is flat.
const FLAT: f64 = 1e-6;
/// Heights that differ by less than this share of the largest are alike.
const ALIKE: f64 = 1e-3;

/// How the deflection out of the plane repeats about the middle of the ribbon.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StateSymmetry {
    /// The ribbon lies in its plane.
    Flat,
    /// v(L − s) = v(s).
    Even,
    /// v(L − s) = −v(s).
    Odd,
    /// Neither.
    Mixed,
}

impl StateSymmetry {
    /// The symmetry in a word.
    pub fn label(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::Even => "even",
            Self::Odd => "odd",
            Self::Mixed => "mixed",
        }
    }
}

/// A largest strain and its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpatialPeak {
    /// The strain, tension positive, dimensionless: axial at a corner, principal elsewhere.
    pub strain: f64,
    /// Contour length at rest from the near end, in µm.
    pub s_um: f64,
    /// Offset from the centreline, positive to the left, in µm.
    pub offset_um: f64,
    /// Height over the neutral plane, along b, in µm.
    pub height_um: f64,
    /// What kind of place it is.
    pub kind: PeakKind,
}

/// A rectangle of the section, as a layer covers it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FibreBox {
    /// Offset of its right side from the centreline, in µm; the smaller one.
    pub right_um: f64,
    /// Offset of its left side, in µm.
    pub left_um: f64,
    /// Height of its bottom over the neutral plane, in µm.
    pub bottom_um: f64,
    /// Height of its top, in µm.
    pub top_um: f64,
}

/// An extreme axial strain of a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FibrePeak {
    /// The axial strain, tension positive, dimensionless.
    pub strain: f64,
    /// Contour length at rest from the near end, in µm.
    pub s_um: f64,
    /// Offset from the centreline, positive to the left, in µm.
    pub offset_um: f64,
    /// Height over the neutral plane, in µm.
    pub height_um: f64,
}

/// Least and greatest axial strain of a layer over the whole ribbon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FibreExtremes {
    /// The greatest strain.
    pub tensile: FibrePeak,
    /// The least strain.
    pub compressive: FibrePeak,
}

/// A place on the ribbon in space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpatialPoint {
    /// Contour length at rest from the near end, in µm.
    pub s_um: f64,
    /// Position of the centreline, in µm: x along the span, y across it, z out of the wafer.
    pub position_um: [f64; 3],
    /// Unit tangent t.
    pub tangent: [f64; 3],
    /// Unit left normal n, along the width.
    pub normal: [f64; 3],
    /// Twist τ per rest length, in 1/µm.
    pub twist_per_um: f64,
    /// Curvature κₙ about n, out of the plane of the width, in 1/µm.
    pub kappa_out_per_um: f64,
    /// Curvature `κ_z` about t × n, in the plane of the width, per rest length, in 1/µm.
    pub kappa_in_per_um: f64,
    /// Curvature at rest, in 1/µm.
    pub kappa_rest_per_um: f64,
    /// Stretch ratio of the centreline minus 1.
    pub axial_strain: f64,
    /// Axial strain at the left top corner.
    pub left_top_strain: f64,
    /// Axial strain at the left bottom corner.
    pub left_bottom_strain: f64,
    /// Axial strain at the right top corner.
    pub right_top_strain: f64,
    /// Axial strain at the right bottom corner.
    pub right_bottom_strain: f64,
}

impl SpatialPoint {
    /// Curvature of the centreline per stretched length along n and along t × n, in 1/µm: what bends the light.
    pub fn curvatures_per_um(&self) -> [f64; 2] {
        let arm = 1.0 + self.axial_strain;
        [self.kappa_in_per_um / arm, -self.kappa_out_per_um / arm]
    }
}

/// A ribbon in equilibrium in space.
///
/// Stresses follow from equilibrium, m(s) = m(0) − (r(s) − r(0)) × F, never from slopes of the frames.
#[derive(Debug, Clone)]
pub struct SpatialSolution {
    /// Stretch, dimensionless.
    pub stretch: f64,
    /// Force on the far end, in µN.
    pub force_un: [f64; 3],
    /// Moment in the ribbon at the near end, about the axes of space, in µN·µm.
    pub near_moment_un_um: [f64; 3],
    /// The same at the far end.
    pub far_moment_un_um: [f64; 3],
    /// Elastic energy, in µN·µm.
    pub energy_un_um: f64,
    /// Its parts.
    pub energy: EnergyParts,
    /// Whether no small motion lowers the energy.
    pub is_stable: bool,
    /// Directions that lower the energy.
    pub unstable_modes: usize,
    /// How the deflection repeats about the ribbon's middle.
    pub symmetry: StateSymmetry,
    /// Largest |z| of the centreline, in µm.
    pub height_um: f64,
    /// Least z of the centreline, in µm.
    pub lowest_um: f64,
    /// Greatest z of the centreline, in µm.
    pub highest_um: f64,
    /// Peak tensile strain.
    pub peak_tensile: SpatialPeak,
    /// Peak compressive strain: the least axial strain, at a corner.
    pub peak_compressive: SpatialPeak,
    /// Greatest axial strain at a corner.
    pub corner_strain: f64,
    /// Upper bound of the peak tensile strain: a corner's axial strain with the full shear of the face.
    pub upper_bound_strain: f64,
    /// Greatest |τ|, in 1/µm.
    pub largest_twist_per_um: f64,
    /// Greatest |κₙ|, in 1/µm.
    pub largest_curvature_out_per_um: f64,
    /// Greatest |`κ_z` − κ₀|, in 1/µm.
    pub largest_curvature_change_in_per_um: f64,
    /// β = w² κₙ/t: the ribbon law is believed good to about 10, the plain rod to 0.7.
    pub beta: f64,
    /// w² τ/t of the largest twist.
    pub twist_ratio: f64,
    /// (E/G) w⁴ τ²/(240 t²) of the largest twist: share of the edges' stretching in the energy of twist.
    pub wagner_number: f64,
    /// Newton steps taken.
    pub iterations: u32,
    /// Largest rotation of the last step, in radians; the error it leaves is about its square.
    pub residual: f64,
    /// Elements of the ribbon.
    pub elements: usize,
    /// How far energies by equilibrium and by the frames differ, element by element, over the whole energy,
    /// dimensionless: a cheap indicator, some five times the error of the energy.
    pub mesh_indicator: f64,
    /// The state, to start another solve from.
    pub state: SpatialState,
    pub(crate) recovered: Recovered,
    extent: Extent,
    least_radius_um: f64,
    counts: Vec<usize>,
}

impl SpatialSolution {
    pub(crate) fn new(
        problem: &SpatialProblem<'_>,
        ribbon: &Ribbon,
        pose: &Pose,
        near_moment: Vec3,
        outcome: Outcome,
    ) -> Result<Self, SpatialError> {
        let recovered = Recovered::new(ribbon, pose, near_moment);
        let width = problem.strips.width_um();
        let thickness = problem.out.thickness_um();
        let extent = Extent::new(width, problem.out);
        let nowhere =
            SpatialPeak { strain: 0.0, s_um: 0.0, offset_um: 0.0, height_um: 0.0, kind: PeakKind::Corner };
        let mut tensile = SpatialPeak { strain: f64::NEG_INFINITY, ..nowhere };
        let mut compressive = SpatialPeak { strain: f64::INFINITY, ..nowhere };
        let (mut corner_strain, mut upper) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        let (mut twist, mut bend, mut change) = (0.0_f64, 0.0_f64, 0.0_f64);
        let (mut lowest, mut highest) = (0.0_f64, 0.0_f64);
        let mut is_finite = true;
        recovered.each(|element, x, state| {
            let (most, least, corner, bound) = extent.extremes(state);
            is_finite &= most.0.is_finite() && least.0.is_finite() && bound.is_finite();
            let at = |found: (f64, PeakKind, f64, f64)| SpatialPeak {
                strain: found.0,
                s_um: recovered.place(element, x),
                offset_um: found.2,
                height_um: found.3,
                kind: found.1,
            };
            if most.0 > tensile.strain {
                tensile = at(most);
            }
            if least.0 < compressive.strain {
                compressive = at(least);
            }
            corner_strain = corner_strain.max(corner);
            upper = upper.max(bound);
            twist = twist.max(state.kappa[0].abs());
            bend = bend.max(state.kappa[1].abs());
            change = change.max((state.kappa[2] - state.kappa_rest).abs());
            let z = recovered.position(element, x)[2];
            lowest = lowest.min(z);
            highest = highest.max(z);
        });
        let energy = recovered.energy;
        let last = recovered.ends.len() - 1;
        let far = super::vector::in_space(&axes(pose.frames[2 * last + 2]), recovered.ends[last][1].moment);
        let height = highest.max(-lowest);
        let symmetry = symmetry(&recovered, height, FLAT * thickness);
        let stretch = problem.motion.stretch;
        let shear_ratio = 2.0 * (1.0 + problem.out.poisson);
        let all =
            [tensile.strain, compressive.strain, energy.total_un_um(), norm(pose.force), norm(far), height];
        if !is_finite || all.iter().any(|number| !number.is_finite()) {
            return Err(SpatialError::NotConverged {
                stretch,
                reached: 0.0,
                residual: outcome.last_turn,
                iterations: outcome.iterations as u32,
            });
        }
        Ok(Self {
            stretch,
            force_un: pose.force,
            near_moment_un_um: super::vector::in_space(&axes(pose.frames[0]), near_moment),
            far_moment_un_um: far,
            energy_un_um: energy.total_un_um(),
            energy,
            is_stable: outcome.unstable == 0,
            unstable_modes: outcome.unstable,
            symmetry,
            height_um: height,
            lowest_um: lowest,
            highest_um: highest,
            peak_tensile: tensile,
            peak_compressive: compressive,
            corner_strain,
            upper_bound_strain: upper,
            largest_twist_per_um: twist,
            largest_curvature_out_per_um: bend,
            largest_curvature_change_in_per_um: change,
            beta: width * width * bend / thickness,
            twist_ratio: width * width * twist / thickness,
            wagner_number: shear_ratio * width.powi(4) * twist * twist / (240.0 * thickness * thickness),
            iterations: outcome.iterations as u32,
            residual: outcome.last_turn,
            elements: recovered.lengths.len(),
            mesh_indicator: recovered.mismatch().sum(),
            state: SpatialState::new(ribbon, pose, stretch, symmetry == StateSymmetry::Flat),
            recovered,
            extent,
            least_radius_um: problem.line.least_radius_um(),
            counts: ribbon.counts.clone(),
        })
    }

    /// Elements of each smooth stretch, twice as many where the mesh is too coarse; none if there are too many already.
    pub(crate) fn finer(&self, tolerance: f64, most: usize) -> Option<Vec<usize>> {
        let mismatch: Vec<f64> = self.recovered.mismatch().collect();
        let mut first = 0;
        let mut has_grown = false;
        let fair = tolerance / self.counts.len() as f64;
        let counts = self.counts.iter().map(|count| {
            let own: f64 = mismatch[first..first + count].iter().sum();
            first += count;
            if own <= fair || 2 * count > most {
                return *count;
            }
            has_grown = true;
            2 * count
        });
        let counts: Vec<usize> = counts.collect();
        has_grown.then_some(counts)
    }

    /// Contour length at rest, in µm.
    pub fn contour_length_um(&self) -> f64 {
        self.recovered.places[self.recovered.places.len() - 1]
    }

    /// The ribbon at `s_um` of contour length at rest from the near end, kept within the ribbon.
    pub fn at(&self, s_um: f64) -> SpatialPoint {
        let places = &self.recovered.places;
        let last = places.len() - 2;
        let element = places.partition_point(|place| *place <= s_um).saturating_sub(1).min(last);
        let x = ((s_um - places[element]) / self.recovered.lengths[element]).clamp(0.0, 1.0);
        self.point(element, x)
    }

    /// Points along the ribbon, `points_per_segment` on each smooth stretch and one at the far end; at a jump of
    /// curvature the point is that after it. At least one per stretch.
    pub fn along(&self, points_per_segment: usize) -> Vec<SpatialPoint> {
        let points = points_per_segment.max(1);
        let mut result = Vec::with_capacity(points * self.counts.len() + 1);
        let mut first = 0;
        for count in &self.counts {
            for i in 0..points {
                let place = i as f64 / points as f64 * *count as f64;
                let element = (place as usize).min(count - 1);
                result.push(self.point(first + element, place - element as f64));
            }
            first += count;
        }
        result.push(self.point(first - 1, 1.0));
        result
    }

    fn point(&self, element: usize, x: f64) -> SpatialPoint {
        let state = self.recovered.inside(element, x);
        let frames = &self.recovered.frames;
        let nodes = [frames[2 * element], frames[2 * element + 1], frames[2 * element + 2]];
        let axes = axes(between(nodes, x));
        let corners = self.extent.corners(&state);
        SpatialPoint {
            s_um: self.recovered.place(element, x),
            position_um: self.recovered.position(element, x),
            tangent: axes[0],
            normal: axes[1],
            twist_per_um: state.kappa[0],
            kappa_out_per_um: state.kappa[1],
            kappa_in_per_um: state.kappa[2],
            kappa_rest_per_um: state.kappa_rest,
            axial_strain: state.stretch,
            left_top_strain: corners[0].0,
            left_bottom_strain: corners[1].0,
            right_top_strain: corners[2].0,
            right_bottom_strain: corners[3].0,
        }
    }

    /// Least and greatest axial strain of a layer over the whole ribbon.
    ///
    /// Strain is that of the whole ribbon's section continued to the layer's fibres:
    /// `ε(y, z) = ε_m + [−y χ + z (κₙ − k) + ½ (y² − w²/12) g]/(1 − y κ₀)`.
    ///
    /// # Errors
    /// [`SpatialError::WiderThanBend`] if the layer reaches past the centre of a bend.
    pub fn extremes_in(&self, layer: FibreBox) -> Result<FibreExtremes, SpatialError> {
        let reach = layer.left_um.abs().max(layer.right_um.abs());
        if !(reach.is_finite() && reach < self.least_radius_um) {
            return Err(SpatialError::WiderThanBend {
                radius_um: self.least_radius_um,
                width_um: 2.0 * reach,
            });
        }
        let nowhere = FibrePeak { strain: f64::NEG_INFINITY, s_um: 0.0, offset_um: 0.0, height_um: 0.0 };
        let mut result =
            FibreExtremes { tensile: nowhere, compressive: FibrePeak { strain: f64::INFINITY, ..nowhere } };
        self.recovered.each(|element, x, state| {
            for z in [layer.bottom_um, layer.top_um] {
                let [least, most] = state.range(self.extent.width, layer.right_um, layer.left_um, z);
                let at = |found: (f64, f64)| FibrePeak {
                    strain: found.0,
                    s_um: self.recovered.place(element, x),
                    offset_um: found.1,
                    height_um: z,
                };
                if most.0 > result.tensile.strain {
                    result.tensile = at(most);
                }
                if least.0 < result.compressive.strain {
                    result.compressive = at(least);
                }
            }
        });
        Ok(result)
    }
}

fn symmetry(recovered: &Recovered, height: f64, flat: f64) -> StateSymmetry {
    if height <= flat {
        return StateSymmetry::Flat;
    }
    let count = recovered.positions.len();
    let (mut even, mut odd) = (0.0_f64, 0.0_f64);
    for i in 0..count {
        let (a, b) = (recovered.positions[i][2], recovered.positions[count - 1 - i][2]);
        even = even.max((a - b).abs());
        odd = odd.max((a + b).abs());
    }
    if even <= ALIKE * height {
        StateSymmetry::Even
    } else if odd <= ALIKE * height {
        StateSymmetry::Odd
    } else {
        StateSymmetry::Mixed
    }
}
