//! The onset for all widths and thicknesses from one search.

use ogee_geometry::Centreline;

use super::{OnsetError, OnsetProblem, Symmetry, roots::Search, search::prepare};
use crate::{
    out_of_plane::{OutOfPlane, SectionLaw},
    ribbon::{EndMotion, RibbonSolver},
    strips::Strips,
};

/// Width over thickness at which the constant is computed.
const WIDTH_OVER_THICKNESS: f64 = 20.0;
/// How far the search goes, in units of (t/w)².
const FARTHEST: f64 = 8.0;

/// Onset of out-of-plane buckling of one shape for any slender section: e = c (t/w)².
///
/// c hardly depends on width and thickness (±3 % for w/t from 4 to 40 and w/P from 0.02 to 0.05), so one search at
/// w/t = 20 serves them all. It depends on the shape, the number of periods and the ends. For a colour in a map; a verdict
/// takes [`onset()`](super::onset()).
///
/// ```
/// use ogee_geometry::{Centreline, Ends, Family, Quarter};
/// use ogee_mechanics::{OnsetEstimate, RibbonSolver};
///
/// let quarter = Quarter::new(Family::Arc, 100.0, 20.0)?;
/// let line = Centreline::new(quarter, 2, Ends::Crossing, 0.0, None)?;
/// let estimate = OnsetEstimate::new(&mut RibbonSolver::new(), &line, 3.0, 0.3)?.expect("a slender strip buckles");
/// assert!((estimate.c - 0.90).abs() < 0.02);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnsetEstimate {
    /// The constant c, dimensionless.
    pub c: f64,
    /// Symmetry of the first mode.
    pub symmetry: Symmetry,
}

impl OnsetEstimate {
    /// The estimate for a ribbon along `line` under a pull, from a homogeneous strip of `width_um` (µm), a twentieth as
    /// thick, with Poisson's ratio `poisson`, free of any bed.
    ///
    /// Takes two flat states and a root search on the parabola through them and rest. None where nothing is found up to
    /// e = 8 (t/w)².
    ///
    /// # Errors
    /// [`OnsetError`] if the section is impossible or a flat state is not found.
    pub fn new(
        solver: &mut RibbonSolver,
        line: &Centreline,
        width_um: f64,
        poisson: f64,
    ) -> Result<Option<Self>, OnsetError> {
        let strips = Strips::new(&[(1.0, width_um)])?;
        let thickness_um = width_um / WIDTH_OVER_THICKNESS;
        let out = OutOfPlane::homogeneous(width_um, thickness_um, 1.0 / thickness_um, poisson)?
            .with_law(SectionLaw::Rod);
        let ratio = out.bending_un_um2 / strips.ei_un_um2();
        let up_to = EndMotion::stretch(FARTHEST * ratio);
        let problem = OnsetProblem { line, strips: &strips, out: &out, foundation_mpa: 0.0, up_to };
        let (size, stiffness, longest) = prepare(&problem)?;
        let mut search = Search::new(solver, &problem, stiffness, size);
        search.begin(longest)?;
        search.draw_parabola()?;
        let roots = search.walk()?;
        Ok(roots.map(|roots| Self {
            c: roots.first.share * up_to.stretch / ratio,
            symmetry: search.parts[roots.first.part].symmetry,
        }))
    }

    /// The stretch at onset of a section, c times the ratio of its bending stiffness out of the plane to that in it, which
    /// is (t/w)² for a homogeneous strip.
    ///
    /// * `ei_out_un_um2`, `ei_in_un_um2`: the two stiffnesses in µN·µm².
    pub fn stretch(&self, ei_out_un_um2: f64, ei_in_un_um2: f64) -> f64 {
        self.c * ei_out_un_um2 / ei_in_un_um2
    }
}
