//! Centreline tables, drawings and map pictures, written to any stream.
//!
//! One road for all: the checked centreline is sampled within a stated tolerance that holds for the centreline and for
//! both edges, and every writer returns figures of what it has written, so that a length read back from a file can be
//! held against the assessment. Output is deterministic: no clock, fixed order.
//!
//! ```
//! use ogee_geometry::{Centreline, Ends, Family, Quarter};
//!
//! // Half circles of radius 100 µm: two full periods are four of them.
//! let quarter = Quarter::new(Family::Arc, 400.0, 100.0)?;
//! let ribbon = Centreline::new(quarter, 2, Ends::Crossing, 0.0, None)?;
//! let mut table = Vec::new();
//! let summary = ogee_exchange::write_centreline_csv(&mut table, &ribbon, 20.0, 0.005)?;
//! assert!((summary.contour_length_um / (400.0 * std::f64::consts::PI) - 1.0).abs() < 1e-9);
//! assert!(summary.largest_chord_error_um < 0.005);
//! assert!(table.starts_with(b"s_um,x_um,y_um,phi_deg,kappa_per_um,"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod canvas;
mod centreline_csv;
mod centreline_svg;
mod colour_scale;
mod error;
mod font;
mod map_csv;
mod map_png;
mod number;
mod samples;
mod summary;

pub use centreline_csv::{CENTRELINE_HEADER, write_centreline_csv};
pub use centreline_svg::{DrawingOptions, write_centreline_svg};
pub use error::ExchangeError;
pub use map_csv::write_map_csv;
pub use map_png::{PictureOptions, write_map_png};
pub use samples::{LEAST_TOLERANCE_UM, MOST_TOLERANCE_UM, USUAL_TOLERANCE_UM};
pub use summary::{MapSummary, Summary};
