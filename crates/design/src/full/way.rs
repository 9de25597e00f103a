//! The ribbon on its way from slight compression to past the target: what is kept of every stretch, and where a layer
//! reaches its allowable strain.

use super::assemble::Reached;
use super::light::{Tables, fill_density};
use super::solved::Solved;
use super::strain::SectionPeaks;
use crate::checked::Checked;
use crate::figures::Layers;
use crate::form::RibbonForm;
use crate::result::StretchPoint;

/// One stretch of the way.
#[derive(Clone, Debug)]
pub(crate) struct Stop {
    pub(crate) stretch: f64,
    pub(crate) peaks: SectionPeaks,
    pub(crate) form: RibbonForm,
    pub(crate) force_un: f64,
}

impl Stop {
    pub(crate) fn of(
        checked: &Checked,
        stretch: f64,
        solved: &Solved,
        points_per_segment: usize,
        tables: Option<&Tables>,
    ) -> Result<Self, String> {
        let mut form = solved.form(checked.centreline(), stretch, points_per_segment);
        fill_density(checked, tables, &mut form.points);
        Ok(Self { stretch, peaks: solved.peaks(checked)?, form, force_un: solved.force_un() })
    }
}

/// Force and peak strain against stretch, from rest on.
pub(crate) fn curve(stops: &[Stop]) -> Vec<StretchPoint> {
    stops
        .iter()
        .filter(|stop| stop.stretch >= 0.0)
        .map(|stop| StretchPoint {
            stretch_percent: 100.0 * stop.stretch,
            force_un: stop.force_un,
            peak_tensile_strain_percent: 100.0 * stop.peaks.edges.sizes().0,
        })
        .collect()
}

/// The first stretch at which a layer reaches its allowable strain; stops come by rising stretch.
///
/// Between two stops the logarithm of the share used runs straight against that of the stretch.
pub(crate) fn reached(checked: &Checked, stops: &[Stop]) -> Option<Reached> {
    let layers = Layers::of(checked);
    let used = |stop: &Stop| stop.peaks.judged(&layers).used;
    let mut before: Option<(&Stop, f64)> = None;
    for stop in stops.iter().filter(|stop| stop.stretch > 0.0) {
        let (share, layer) = used(stop);
        if share >= 1.0 {
            let stretch = match before {
                Some((low, below)) if below > 0.0 => {
                    let slope = (share / below).ln() / (stop.stretch / low.stretch).ln();
                    if slope > 0.0 { low.stretch * (-below.ln() / slope).exp() } else { stop.stretch }
                }
                // From rest on strain is in proportion to stretch.
                _ => stop.stretch / share,
            };
            let peak = stop.peaks.layers.get(layer).map(|p| p.tension).unwrap_or_default();
            return Some(Reached { stretch: stretch.min(stop.stretch), layer, peak });
        }
        before = Some((stop, share));
    }
    None
}
