//! End factors.
#[derive(Debug, Clone)]
pub(crate) struct EndFactor {
    pub(crate) factor: f64,
    pub(crate) note: Option<String>,
}
pub(crate) fn end_factor(ends: ogee_geometry::Ends, periods: u32, _share: f64) -> EndFactor {
    let factor = if ends == ogee_geometry::Ends::Crossing {
        if periods == 1 { 2.2 } else { 1.0 + 0.6 / f64::from(periods) }
    } else {
        1.0
    };
    EndFactor { factor, note: None }
}
