//! Strength beyond the pull: wrap, oven, life, islands, and the trace.

mod result;

pub use result::*;
