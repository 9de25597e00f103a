//! Meander centrelines with exact curvature.
//!
//! A ribbon that joins two stiff islands runs in equal bends about a straight midline. One period is four
//! mirrored copies of a [`Quarter`], which runs from a crossing of the midline to a crest. Lengths are in
//! micrometres, angles in radians; the tangent angle φ is counted counter-clockwise from +x and the
//! curvature is κ = dφ/ds, so a bend over an upper crest has κ < 0.
//!
//! ```
//! use ogee_geometry::{Family, Quarter};
//!
//! // A pitch of 400 µm and an amplitude of a quarter of it make semicircles of 100 µm radius.
//! let quarter = Quarter::new(Family::Arc, 400.0, 100.0)?;
//! assert!((quarter.least_radius_um() - 100.0).abs() < 1e-9);
//! let crest = quarter.at(quarter.length_um());
//! assert!((crest.x_um - 100.0).abs() < 1e-9 && (crest.y_um - 100.0).abs() < 1e-9);
//! # Ok::<(), ogee_geometry::ShapeError>(())
//! ```

mod centreline;
mod clearance;
mod curve_point;
mod deformed;
mod edge;
mod ends;
mod error;
mod family;
mod jump;
mod nearest;
mod path;
mod piece;
mod placement;
mod polyline;
mod quarter;
mod root;
mod segment;
mod series;

pub use centreline::Centreline;
pub use clearance::{Clearance, ClearanceKind, clearance};
pub use curve_point::CurvePoint;
pub use deformed::clearance_of_quarter_points;
pub use ends::{EndBend, Ends};
pub use error::ShapeError;
pub use family::{ArmDrive, Family};
pub use jump::Jump;
pub use piece::{Piece, PieceSample};
pub use quarter::Quarter;
pub use segment::Segment;
