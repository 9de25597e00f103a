//! The strain along the ribbon at one stretch, as far as single fibres need it.

use crate::caches::Caches;
use crate::checked::{Checked, CheckedLayer};
use crate::evaluate::{bed_factor, end_at, solve};
use crate::form::{FormKind, RibbonPath};
use crate::text::number;

/// Places along a quarter from the live model.
const PER_QUARTER: usize = 24;

/// A place along the ribbon and the length for which it stands.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FieldPoint {
    pub(crate) s_um: f64,
    pub(crate) length_um: f64,
    pub(crate) rest_per_um: f64,
    change_in_per_um: f64,
    out_per_um: f64,
    pub(crate) axial: f64,
}

impl FieldPoint {
    /// Strain of the fibre at the offset `y_um` and the height `z_um` over the neutral plane, dimensionless.
    fn strain(&self, y_um: f64, z_um: f64) -> f64 {
        (self.axial - y_um * self.change_in_per_um) / (1.0 - y_um * self.rest_per_um) + self.out_per_um * z_um
    }
}

/// The strain along the ribbon at one stretch.
#[derive(Clone, Debug)]
pub(crate) struct Field {
    pub(crate) points: Vec<FieldPoint>,
    /// Whether the points are one quarter, of which others are mirror images, left and right in exchange.
    pub(crate) is_quarter: bool,
    /// How often the points repeat along the ribbon.
    pub(crate) repeats: f64,
    /// Factor on the strain for clamped ends and elastomer.
    factor: f64,
}

/// A fibre: offset and height over the neutral plane, µm.
#[derive(Clone, Copy, Debug)]
#[expect(clippy::struct_field_names, reason = "every field is a length and carries its unit")]
pub(crate) struct Fibre {
    pub(crate) y_um: f64,
    pub(crate) z_um: f64,
    /// Height above the stack's bottom, µm.
    pub(crate) height_um: f64,
}

/// Where the strain at a stretch comes from.
#[derive(Debug)]
pub(crate) enum Pull<'a> {
    /// From the periodic cell.
    Live(&'a mut Caches),
    /// From the path of the model that governs.
    Path(&'a RibbonPath),
}

impl Pull<'_> {
    /// The strain when the islands are `stretch` apart.
    ///
    /// # Errors
    /// A sentence that says why there is none.
    pub(crate) fn field(&mut self, checked: &Checked, stretch: f64) -> Result<Field, String> {
        match self {
            Self::Live(caches) => live(checked, stretch, caches),
            Self::Path(path) => along(checked, path, stretch),
        }
    }

    /// The model in words.
    pub(crate) fn words(&self) -> &'static str {
        match self {
            Self::Live(_) => "periodic cell with factors for ends and elastomer",
            Self::Path(_) => "the model that governs, between the stretches at which it was solved",
        }
    }
}

fn live(checked: &Checked, stretch: f64, caches: &mut Caches) -> Result<Field, String> {
    let cell = solve(checked, stretch, caches)?;
    let factor = end_at(checked, stretch).factor * bed_factor(checked, caches);
    let along = cell.along(PER_QUARTER);
    let places: Vec<f64> = along.iter().map(|p| p.s_um).collect();
    let points = along
        .iter()
        .zip(lengths(&places))
        .map(|(p, length_um)| FieldPoint {
            s_um: p.s_um,
            length_um,
            rest_per_um: p.kappa_rest_per_um,
            change_in_per_um: p.kappa_per_um - p.kappa_rest_per_um,
            out_per_um: 0.0,
            axial: p.axial_strain,
        })
        .collect();
    let repeats = 4.0 * f64::from(checked.centreline().periods());
    Ok(Field { points, is_quarter: true, repeats, factor })
}

fn along(checked: &Checked, path: &RibbonPath, stretch: f64) -> Result<Field, String> {
    let form = path.form(stretch).ok_or_else(|| {
        let [low, high] = path.range().unwrap_or([0.0; 2]);
        format!(
            "a stretch of {} % lies outside the {} to {} % to which the ribbon was followed",
            number(100.0 * stretch),
            number(100.0 * low),
            number(100.0 * high)
        )
    })?;
    // Its own curl strains a ribbon that has left its plane no further; others are followed as if they were flat.
    let curl_per_um = if form.kind == FormKind::Buckled { checked.curl_per_um() } else { 0.0 };
    let places: Vec<f64> = form.points.iter().map(|p| p.s_um).collect();
    let points = form
        .points
        .iter()
        .zip(lengths(&places))
        .map(|(p, length_um)| FieldPoint {
            s_um: p.s_um,
            length_um,
            rest_per_um: p.rest_curvature_per_um,
            change_in_per_um: p.curvature_in_per_um - p.rest_curvature_per_um,
            out_per_um: p.curvature_out_per_um - curl_per_um,
            axial: p.axial_strain,
        })
        .collect();
    Ok(Field { points, is_quarter: false, repeats: 1.0, factor: 1.0 })
}

/// The length for which each place stands: half the way to its neighbours.
fn lengths(places: &[f64]) -> Vec<f64> {
    let last = places.len().saturating_sub(1);
    (0..places.len())
        .map(|i| 0.5 * (places[(i + 1).min(last)] - places[i.saturating_sub(1)]).max(0.0))
        .collect()
}

/// The four corners of a layer.
pub(crate) fn corners(checked: &Checked, layer: &CheckedLayer) -> [Fibre; 4] {
    let neutral_um = checked.section().neutral_plane_um();
    let fibre = |y_um: f64, height_um: f64| Fibre { y_um, z_um: height_um - neutral_um, height_um };
    [
        fibre(layer.left_um, layer.bottom_um),
        fibre(layer.right_um, layer.bottom_um),
        fibre(layer.left_um, layer.top_um),
        fibre(layer.right_um, layer.top_um),
    ]
}

impl Field {
    /// The strain of a fibre at the place of that number, dimensionless; of its mirror image with `mirrored`.
    pub(crate) fn strain(&self, place: usize, fibre: &Fibre, mirrored: bool) -> f64 {
        let point = &self.points[place];
        let strain = if mirrored {
            // Below the midline the quarter is turned over: its curvatures have the other sign.
            let turned = FieldPoint {
                rest_per_um: -point.rest_per_um,
                change_in_per_um: -point.change_in_per_um,
                ..*point
            };
            turned.strain(fibre.y_um, fibre.z_um)
        } else {
            point.strain(fibre.y_um, fibre.z_um)
        };
        self.factor * strain
    }

    /// Whether mirror images have to be looked at for themselves.
    pub(crate) fn images(&self) -> &'static [bool] {
        if self.is_quarter { &[false, true] } else { &[false] }
    }

    /// Mean strain along the centreline, dimensionless.
    pub(crate) fn mean_axial(&self) -> f64 {
        let length: f64 = self.points.iter().map(|p| p.length_um).sum();
        let sum: f64 = self.points.iter().map(|p| p.length_um * p.axial).sum();
        if length > 0.0 { sum / length } else { 0.0 }
    }
}
