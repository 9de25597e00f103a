//! Full-vector modes of a cross-section of rectangles, straight and bent in the wafer plane.
//!
//! A [`CrossSection`] is cut into rectangles whose edges lie on the interfaces, refined towards them. On these the
//! electric field is expanded in edge elements: with u outwards (across the guide), z upwards and s along it,
//! `E_u ∈ Q(p−1, p)`, `E_z ∈ Q(p, p−1)`, `E_s = iNψ` with `ψ ∈ Q(p, p)`. That leaves tangential components
//! continuous and normal ones free to jump, and admits no spurious modes. In units of `1/k₀`, with h = 1 + u/R and
//! complex stretches `s_u`, `s_z` in absorbing layers (1 elsewhere),
//!
//! ```text
//! A = ∫ [ (curl E)(curl W)/τ_s − n² (τ_u E_u W_u + τ_z E_z W_z) ]
//! B = ∫ [ (∂_uψ − E_u)(∂_uχ − W_u)/τ_z + (∂_zψ − E_z)(∂_zχ − W_z)/τ_u − n² τ_s ψχ ]
//! A x = −N² B x,   τ_u = s_z h/s_u,  τ_z = s_u h/s_z,  τ_s = s_u s_z/h
//! ```
//!
//! (derived from the curl equations by testing with edge functions; the coordinates of a bend are a metric h along s).
//! Each term is a product of a matrix along u and one along z. `A − σB` is eliminated by nested halving of the window,
//! with real numbers wherever the path is real; a few inverse iterations and the quotient without conjugation give N.
//!
//! **Straight.** Electric walls where the field has fallen by e⁻⁹. Planes of symmetry halve the window twice.
//!
//! **Bent.** The path is real up to the radiation caustic `r_c = R N/n_out` and turns to slope 1 beyond it, and likewise
//! above and below where the field has fallen by e⁻¹⁰: nearer, the cut tail feigns a loss of 1e-5 dB per 90°. Losses
//! below [`LEAST_VECTOR_LOSS_DB_PER_90DEG`] are refused: rounding and what the mesh leaves are of that size, and
//! ln(loss) goes on along R with the slope of [`BentSlab`](crate::BentSlab).
//!
//! | [`VectorSettings`] | error of `n_eff`, contrast 0.05 / 0.5 / 1 | error of the loss | unknowns |
//! |---|---|---|---|
//! | coarse: order 3, 1 layer | 4e-9 / 4e-6 / 2e-5 | 1e-3 (6e-3 for a strip that radiates down) | 1 000–15 000 |
//! | standard: order 4, 2 layers | 5e-10 / 2e-7 / 5e-7 | 6e-5 (6e-4) | 2 000–40 000 |
//!
//! [`CrossSection::count_modes`] finds all guided modes; "one mode only" is one of each polarisation, two in all.
//!
//! Limits: indices are real, interfaces upright or level, claddings infinite; [`VectorMode`] is the fundamental mode of
//! its polarisation. Quasi-TE and quasi-TM of a core without a plane of symmetry are told apart by the larger of the
//! two transverse components, which means little where both are alike.

mod count;
mod dense;
mod dissection;
mod element;
mod error;
mod layered;
mod layout;
mod line;
mod mode;
mod problem;
mod result;
mod section;
mod window;

pub use count::ModeCount;
pub use error::VectorError;
pub use mode::{LEAST_VECTOR_LOSS_DB_PER_90DEG, VectorSettings};
pub use result::{VectorField, VectorMode};
pub use section::{CoreMaterial, CrossSection, Rectangle};

#[cfg(test)]
mod tests;
