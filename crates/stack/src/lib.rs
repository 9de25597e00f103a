//! Layered sections: stiffness, neutral plane and the strain of each layer.
//!
//! A ribbon is a stack of rows, bottom to top, on a section of width w (y, in the wafer plane) and thickness t
//! (z, out of it). Each row is one layer, or a narrower core whose sides are open or filled with another
//! material. The crate turns the rows into a [`Section`] of rectangles with its stiffness against stretch and
//! both bendings, and back from a state of strain to the strain of every rectangle.
//!
//! Units: µm, µN, `MPa` (1 `MPa` = 1 µN/µm²). y grows towards the left edge, from the centreline; z grows from the
//! bottom face. Tension is positive.
//!
//! ```
//! use ogee_stack::{Layer, Row, Section, SectionStrain};
//!
//! let epoxy = Row::open(Layer::new("epoxy", 15.0, 4.0, 4000.0, 0.22));
//! let glass = Row::open(Layer::new("glass", 15.0, 1.0, 72_000.0, 0.17));
//! let section = Section::new(15.0, vec![epoxy, glass])?;
//! // 15 µm × (4 µm × 4000 MPa + 1 µm × 72000 MPa) = 1.32 N
//! assert!((section.ea_un() - 1.32e6).abs() < 1e-3);
//! let bent = SectionStrain { curvature_out_per_um: 5e-4, ..SectionStrain::default() };
//! let strains = section.strains(&bent);
//! assert!((strains[1].greatest() - 5e-4 * (5.0 - section.neutral_plane_um())).abs() < 1e-15);
//! # Ok::<(), ogee_stack::SectionError>(())
//! ```
//!
//! # The transformed section
//!
//! Plane sections stay plane and each rectangle carries uniaxial stress, so with `A_i`, `ȳ_i`, `z̄_i` the area and the
//! middle of rectangle i and `E_i` its modulus (see [`ModulusKind`]):
//!
//! ```text
//! EA     = Σ E_i A_i          z_n = Σ E_i A_i z̄_i / EA          y_n = Σ E_i A_i ȳ_i / EA
//! EI_out = Σ E_i A_i (t_i²/12 + (z̄_i − z_n)²)
//! EI_in  = Σ E_i A_i (w_i²/12 + (ȳ_i − y_n)²)
//! EI_x   = Σ E_i A_i (ȳ_i − y_n)(z̄_i − z_n)
//! ε(y,z) = ε_m + κ_o (z − z_n) − κ_i (y − y_n)
//! N      = EA ε_m,   M_o = EI_out κ_o − EI_x κ_i,   M_i = EI_in κ_i − EI_x κ_o
//! ```
//!
//! `κ_o` > 0 puts the top face in tension, `κ_i` > 0 (counter-clockwise) the right edge (small y). `ε_m` is the strain
//! at (`y_n`, `z_n`). N follows from ∫E ε dA, `M_o` from ∫E ε (z − `z_n`) dA and `M_i` from −∫E ε (y − `y_n`) dA; the terms
//! of first order vanish because of the choice of `y_n` and `z_n`.
//!
//! The sums are exact for a long uniform ribbon of layers with one Poisson ratio. Unequal Poisson ratios add
//! transverse stress which the sums leave out: for stacks of glass, metal, polymer and elastomer this stays
//! below about 0.15 % of EA and EI. Within about one width of an end, shear lag adds to it.
//!
//! # Tight bends in the plane
//!
//! Where w|κ0| is above about 0.1, fibres on the inner side of a bend are shorter at rest and strain more:
//! ε = (ε0 − y Δκ)/(1 − y κ0). [`Section::curved_stiffness`] and [`curved_integrals`] hold the integrals for
//! that; [`Section::strips`] hands the section to a planar solver in a form from which it can compute them itself.
//!
//! # Round a cylinder
//!
//! [`Section::plies`] turns the rows into plies across the width, and [`Wrap`] bends these round a cylinder: bonded, with
//! soft interlayers over a given length, and split by them; [`Wrap::least_radius`] is the tightest cylinder.
//! [`Section::bending_stiffness_at_radius`] lies between the stiffness of a beam and that of a plate, as the width has it.
//!
//! # Strength and life
//!
//! [`Weibull`] gives the strength of brittle edges, [`StaticFatigue`] glass under long load, [`StrainLife`] and
//! [`FoilDuctility`] metals under cycles, [`miner_damage`] a duty of several kinds of cycles; [`Allowable`] is a strain with
//! the rule that set it. Lives beyond what a law can tell are told so by [`Cycles`] and [`HoldLife`], and a
//! [`LifeBand`] goes with every one.
//!
//! # Stiff islands and metal traces
//!
//! [`IslandRow`] tells how much more the sheet stretches between stiff islands than the row as a whole, and how far the
//! islands themselves strain. Of a metal trace the crate gives its squares ([`path_squares`]), its resistance
//! ([`Conductor`], [`film_factor`]), how that changes with strain ([`resistance_ratio`]) and the current it carries
//! ([`SheetCooling`], [`ipc_2221_current`]).
//!
//! # Heat, release, cracks
//!
//! [`run`] follows films through deposition, heat, bonding, etching and release and leaves the stress and the curl of
//! every step in a [`History`], with the energy that an interface could set free. [`ChannelCrack`] says whether a film
//! in tension cracks, [`Wrinkle`] when one in compression buckles on a soft base.

mod anticlastic;
mod crack;
mod curved;
mod error;
mod field;
mod heat;
mod island;
mod layer;
mod life;
mod ply;
mod rectangle;
mod section;
mod strain;
mod strip;
mod torsion;
mod trace;
mod wrap;

pub use anticlastic::{Anticlastic, AnticlasticError, BendingStiffness, anticlastic};
pub use crack::{
    CRACK_FACTOR_ALPHA, ChannelCrack, CrackBase, CrackError, CrackField, CrackNumbers, CrackVerdict, Solid,
    Uncovered, Wrinkle, crack_factor, dundurs_alpha, wrinkle_length_um, wrinkle_strain,
};
pub use curved::{CurvatureError, CurvedStiffness, curved_integrals};
pub use error::SectionError;
pub use field::Field;
pub use heat::{
    Birth, Film, FilmField, FilmModulus, FilmState, History, Multilayer, ProcessError, State, Step,
    bimetal_curvature_per_um, multilayer_curvature, run, stoney_stress_mpa,
};
pub use island::{
    Adhesive, EdgeConcentration, IslandError, IslandField, IslandNote, IslandRow, Plate, Solved, StrainAlong,
    Stretched, edge_concentration,
};
pub use layer::{Filler, Layer, ModulusKind, Row};
pub use life::{
    Allowable, AllowableRule, BrittleBound, Cycles, DutyBlock, FoilDuctility, HoldLife, LifeBand, LifeError,
    LifeField, LifeScatter, MINER_LIMIT, StaticFatigue, StrainCycle, StrainLife, Waveform, Weibull,
    duty_repeats, failure_of_many, fibre_practice_ratio, miner_damage, survival_of_many,
};
pub use ply::{Ply, PlyError};
pub use rectangle::Rectangle;
pub use section::Section;
pub use strain::{RectangleStrain, SectionLoads, SectionStrain};
pub use strip::Strip;
pub use torsion::{Torsion, TorsionNote};
pub use trace::{
    ALUMINIUM, COPPER, CORNER_SQUARES, Conductor, CurrentRating, FilmFactor, GOLD, Grains, OutsideTheData,
    PathSquares, SheetCooling, Surfaces, TraceError, TraceField, TraceLayer, bend_squares, film_factor,
    geometric_gauge_factor, geometric_resistance_ratio, grain_factor, ipc_2221_current,
    liquid_resistance_ratio, mean_strain, path_squares, resistance_ratio, straight_squares, surface_factor,
    voltage_drop_v,
};
pub use wrap::{ContactFace, LeastRadius, PlyLimit, Wrap, WrapError, WrapNote, Wrapped};
