//! Strength beyond the pull: wrap, oven, life, islands, and the trace.

mod answers;
mod cracks;
mod field;
mod islands;
mod life;
mod margins;
mod notes;
mod oven;
mod result;
mod thermal;
mod trace;
mod wrap;

pub(crate) use answers::add_answers;
pub(crate) use field::Pull;
pub(crate) use oven::{Oven, Piece};
pub use result::*;

use crate::checked::{Checked, CheckedLayer};
use crate::figures::WrapShare;
use crate::margin::LARGEST_MARGIN;
use crate::result::{Margin, Note};
use wrap::{Case, Worst};

/// What was found, part by part.
#[derive(Debug, Default)]
pub(crate) struct Strength {
    pub(crate) wrap: Option<WrapResult>,
    pub(crate) thermal: Option<ThermalResult>,
    pub(crate) life: Option<LifeResult>,
    pub(crate) islands: Option<IslandResult>,
    pub(crate) trace: Option<TraceResult>,
    worst_wrapped: Option<Worst>,
    worst_stretched: Option<Worst>,
    /// Checks that could not be made: id, name, and why.
    failed: Vec<(&'static str, &'static str, String)>,
}

/// What the wrap adds to every judged layer; nothing without a wrap.
pub(crate) fn wrap_shares(checked: &Checked) -> Vec<WrapShare> {
    let share = |case: &Case, layer: &CheckedLayer| WrapShare {
        strain: case.of_layer(layer),
        limits: layer.wrap_limits(),
    };
    match Case::of(checked) {
        Ok(Some(case)) => checked.layers().iter().map(|l| share(&case, l)).collect(),
        _ => Vec::new(),
    }
}

/// The smallest of those margins that do not ask what the ribbon looks like in its plane: wrap, oven and islands. Cracks are
/// judged without the pull here. 0 where one could not be made.
pub(crate) fn shapeless_margin(checked: &Checked) -> f64 {
    let mut found = Strength::default();
    let none = vec![[0.0; 2]; checked.layers().len()];
    let case = found.keep("wrap", "Wrap", Case::of(checked));
    if let Some(case) = &case {
        found.wrap = found.keep("wrap", "Wrap", case.result(checked, &none).map(Some));
        found.worst_wrapped = case.worst(checked, &none);
    }
    let thermal = thermal::result(checked, &none, case.as_ref());
    found.thermal = found.keep("residual-strain", "Strain from the process", thermal);
    found.islands = found.keep("island-strain", "Islands", islands::result(checked));
    let margins = found.margins(checked).into_iter();
    margins.map(|m| m.margin.unwrap_or(0.0)).fold(LARGEST_MARGIN, f64::min)
}

impl Strength {
    /// Everything that a design's sections ask for.
    ///
    /// * `peaks`: greatest and least strain of every judged layer at the target stretch, dimensionless. `pull`: the strain
    ///   along the ribbon at any stretch.
    pub(crate) fn of(checked: &Checked, peaks: &[[f64; 2]], pull: &mut Pull<'_>) -> Self {
        let mut found = Self::default();
        let design = checked.design();
        let case = found.keep("wrap", "Wrap", Case::of(checked));
        if let Some(case) = &case {
            found.wrap = found.keep("wrap", "Wrap", case.result(checked, peaks).map(Some));
            found.worst_wrapped = case.worst(checked, &vec![[0.0; 2]; peaks.len()]);
            found.worst_stretched = case.worst(checked, peaks);
        }
        let thermal = thermal::result(checked, peaks, case.as_ref());
        found.thermal = found.keep("residual-strain", "Strain from the process", thermal);
        if design.life.is_some() {
            found.life = found.keep("cycles", "Life", life::result(checked, case.as_ref(), pull));
        }
        found.islands = found.keep("island-strain", "Islands", islands::result(checked));
        if design.trace.is_some() {
            let traced = pull
                .field(checked, checked.target_stretch())
                .and_then(|field| trace::result(checked, &field));
            found.trace = found.keep("resistance", "Trace", traced);
        }
        found
    }

    fn keep<T>(
        &mut self,
        id: &'static str,
        name: &'static str,
        part: Result<Option<T>, String>,
    ) -> Option<T> {
        match part {
            Ok(part) => part,
            Err(why) => {
                self.failed.push((id, name, why));
                None
            }
        }
    }

    /// Their margins.
    pub(crate) fn margins(&self, checked: &Checked) -> Vec<Margin> {
        margins::margins(checked, self)
    }

    /// What to know when reading them.
    pub(crate) fn notes(&self, checked: &Checked) -> Vec<Note> {
        notes::notes(checked, self)
    }
}
