//! The section as strips centred on the centreline, for planar solvers.
//!
//! Bending in the plane sees only E·t as a function of y. Let F(a) be the strip from −a to a. A piece from y0 to
//! y1 is the signed difference of two pieces that begin at the centreline, and the even part of a piece from 0 to
//! y1 is half of ±F(|y1|). So the even part of every piece is
//!
//! ```text
//! ½ E t [sgn(y1) F(|y1|) − sgn(y0) F(|y0|)]
//! ```
//!
//! and the sum over all pieces gives strips, some of them negative (the hollow between two side pieces). What
//! stays out is the odd part, ½ E t [O(|y1|) − O(|y0|)] with O(a) = +1 on the left and −1 on the right: it cancels
//! for a section that is symmetric about the centreline.

use crate::{ModulusKind, Rectangle};

/// A strip centred on the centreline: it reaches from −`half_width_um` to `half_width_um`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    /// E·t, µN/µm; negative for a hollow that is cut out of wider strips.
    pub stiffness_un_per_um: f64,
    /// Half of its width, µm.
    pub half_width_um: f64,
}

/// Widths and stiffnesses that differ by less than this share of the largest are one.
const SAME: f64 = 1e-12;

/// Strips of the even part of the section, widest first, equal widths merged.
pub(crate) fn even_strips(rectangles: &[Rectangle], kind: ModulusKind) -> Vec<Strip> {
    merged(rectangles, kind, f64::signum)
}

/// Whether E·t, summed over z, is the same at y and −y.
pub(crate) fn is_even(rectangles: &[Rectangle], kind: ModulusKind) -> bool {
    merged(rectangles, kind, |_| 1.0).is_empty()
}

/// Adds `½ E t (sign(y1) at |y1| − sign(y0) at |y0|)` over all rectangles; what cancels is dropped.
fn merged(rectangles: &[Rectangle], kind: ModulusKind, sign: impl Fn(f64) -> f64) -> Vec<Strip> {
    let mut ends = Vec::with_capacity(2 * rectangles.len());
    for r in rectangles {
        let half = 0.5 * kind.effective_mpa(r.modulus_mpa, r.poisson) * r.thickness_um();
        ends.push((r.y1_um.abs(), sign(r.y1_um) * half));
        ends.push((r.y0_um.abs(), -sign(r.y0_um) * half));
    }
    ends.sort_by(|a, b| b.0.total_cmp(&a.0));
    let widest = ends.first().map_or(0.0, |e| e.0);
    let stiffest = ends.iter().fold(0.0, |most: f64, e| most.max(e.1.abs()));

    let mut strips: Vec<Strip> = Vec::new();
    for (half_width_um, stiffness_un_per_um) in ends {
        match strips.last_mut() {
            Some(last) if last.half_width_um - half_width_um <= SAME * widest => {
                last.stiffness_un_per_um += stiffness_un_per_um;
            }
            _ => strips.push(Strip { stiffness_un_per_um, half_width_um }),
        }
    }
    strips.retain(|s| s.half_width_um > SAME * widest && s.stiffness_un_per_um.abs() > SAME * stiffest);
    strips
}
