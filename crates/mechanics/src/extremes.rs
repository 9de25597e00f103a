//! Least and greatest strain of a layer along the quarter, in lanes.

use pulp::Simd;

use crate::{
    basis::{NODES, POINT, WEIGHT},
    lanes::CellLanes,
    wide::Wide,
};

/// Parts of an element between which an extreme away from the crest is sought.
const PARTS: usize = 10;
/// An extreme that exceeds the crest's by less than this share of it is as good as the crest's.
const AT_CREST: f64 = 1e-5;

/// `BETWEEN[p][g]`: value of the shape function of node g at the end of part p.
const BETWEEN: [[f64; NODES]; PARTS + 1] = between();

const fn between() -> [[f64; NODES]; PARTS + 1] {
    let mut table = [[1.0; NODES]; PARTS + 1];
    let mut p = 0;
    while p <= PARTS {
        let xi = 2.0 * p as f64 / PARTS as f64 - 1.0;
        let mut g = 0;
        while g < NODES {
            let mut j = 0;
            while j < NODES {
                if j != g {
                    table[p][g] *= (xi - POINT[j]) / (POINT[g] - POINT[j]);
                }
                j += 1;
            }
            g += 1;
        }
        p += 1;
    }
    table
}

/// An element longer than this many layers (EI/F)^½ may not resolve one. Within it strain runs from one end value to
/// the other, which are exact to a higher order, while the values between may swing beyond them.
pub(crate) const LAYERS_RESOLVED: f64 = 4.0;

/// The strain at all nodes of element `e` of the fibre at `offset` (over P); only that of the ends where the element is
/// too long for what is between.
#[inline(always)]
fn nodal_strain<S: Simd>(simd: S, cell: &CellLanes<'_, S>, e: usize, offset: Wide<S>) -> [Wide<S>; NODES] {
    let one = Wide::splat(simd, 1.0);
    let mut strain = [one; NODES];
    let mut length = Wide::splat(simd, 0.0);
    for g in 0..NODES {
        let [_, axial, curving, _] = cell.fields_at(e, g);
        let room = offset.neg_mul_add(cell.kappa_at(e, g), one);
        strain[g] = axial - offset * curving / room;
        length = cell.jacobian_at(e, g).scale_add(WEIGHT[g], length);
    }
    let limit = Wide::splat(simd, LAYERS_RESOLVED * LAYERS_RESOLVED);
    let layers = cell.force * length * length;
    for g in 1..NODES - 1 {
        let end = if g < NODES / 2 { strain[0] } else { strain[NODES - 1] };
        strain[g] = layers.select_below(limit, strain[g], end);
    }
    strain
}

/// Least and greatest strain over the quarter of the fibres at `offsets`.
///
/// Nearly always both lie at the crest, which is a node. Where a lane has one elsewhere, the nodal values are
/// interpolated and a parabola is laid through the three best places.
#[inline(always)]
pub(crate) fn least_and_greatest<S: Simd>(
    simd: S,
    cell: &CellLanes<'_, S>,
    offsets: &[Wide<S>],
) -> [Wide<S>; 2] {
    let elements = cell.elements();
    let far = Wide::splat(simd, f64::INFINITY);
    let (mut least, mut greatest) = (far, -far);
    let (mut crest_least, mut crest_greatest) = (far, -far);
    for &offset in offsets {
        for e in 0..elements {
            let strain = nodal_strain(simd, cell, e, offset);
            for value in strain {
                least = least.min(value);
                greatest = greatest.max(value);
            }
            if e + 1 == elements {
                crest_least = crest_least.min(strain[NODES - 1]);
                crest_greatest = crest_greatest.max(strain[NODES - 1]);
            }
        }
    }
    let beyond = (greatest - crest_greatest).max(crest_least - least);
    let scale = greatest.max(-least);
    if (beyond - scale.scale(AT_CREST)).greatest() > 0.0 {
        for &offset in offsets {
            for e in 0..elements {
                let strain = nodal_strain(simd, cell, e, offset);
                let [low, high] = between_nodes(simd, strain);
                // Values of the ends alone are not to be interpolated.
                let spread = (strain[1] - strain[0]).abs();
                let zero = Wide::splat(simd, 0.0);
                least = least.min(zero.select_below(spread, low, least));
                greatest = greatest.max(zero.select_below(spread, high, greatest));
            }
        }
    }
    [least, greatest]
}

/// The nodal values interpolated to the end of part `p`.
#[inline(always)]
fn interpolate<S: Simd>(strain: &[Wide<S>; NODES], p: usize) -> Wide<S> {
    let mut value = strain[0].scale(BETWEEN[p][0]);
    for g in 1..NODES {
        value = strain[g].scale_add(BETWEEN[p][g], value);
    }
    value
}

#[inline(always)]
fn between_nodes<S: Simd>(simd: S, strain: [Wide<S>; NODES]) -> [Wide<S>; 2] {
    let (mut before, mut here) = (strain[0], interpolate(&strain, 1));
    let (mut least, mut greatest) = (before, before);
    let tiny = Wide::splat(simd, f64::MIN_POSITIVE);
    for p in 2..=PARTS {
        let after = interpolate(&strain, p);
        // Vertex of the parabola through the three, where the middle one is the best; there |rise| ≤ |bend|.
        let rise = after - before;
        let bend = before + after - here.scale(2.0);
        let gain = (rise * rise).scale(0.125) / bend.abs().max(rise.abs()).max(tiny);
        let is_top = here - before.max(after);
        let is_bottom = before.min(after) - here;
        let zero = Wide::splat(simd, 0.0);
        greatest = greatest.max(here + is_top.select_below(zero, zero, gain));
        least = least.min(here - is_bottom.select_below(zero, zero, gain));
        before = here;
        here = after;
    }
    [least, greatest]
}
