//! What can go wrong while writing.

use ogee_geometry::ShapeError;

/// Why a file was not written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ExchangeError {
    /// The tolerance asked for is outside what the writers take.
    #[error("tolerance {value_um} µm is outside {least_um} µm to {most_um} µm")]
    Tolerance {
        /// The tolerance asked for, µm.
        value_um: f64,
        /// Least tolerance, µm.
        least_um: f64,
        /// Greatest tolerance, µm.
        most_um: f64,
    },
    /// So fine a tolerance would give more points than any reader takes.
    #[error(
        "tolerance {tolerance_um} µm needs about {points:.1e} points, more than {most:.0e}; \
         at least {least_tolerance_um:.2} µm is needed"
    )]
    TooManyPoints {
        /// The tolerance asked for, µm.
        tolerance_um: f64,
        /// Points that it would take.
        points: f64,
        /// Most points that are written.
        most: f64,
        /// The least tolerance that keeps to `most`, µm.
        least_tolerance_um: f64,
    },
    /// A coordinate cannot be told in the format.
    #[error("coordinate {value_um} µm is beyond the reach of {reach_um} µm of this format")]
    OutOfReach {
        /// The coordinate, µm.
        value_um: f64,
        /// Largest coordinate, µm.
        reach_um: f64,
    },
    /// The ribbon's edges cannot be drawn.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// The map holds no cell.
    #[error("the map has no cell to write")]
    EmptyMap,
    /// The picture could not be encoded.
    #[error("the picture could not be encoded: {0}")]
    Picture(#[source] png::EncodingError),
    /// The stream took no more.
    #[error(transparent)]
    Write(#[from] std::io::Error),
}

impl ExchangeError {
    /// Whether the reader on the other side has gone away, which ends a pipe and is no failure.
    pub fn is_broken_pipe(&self) -> bool {
        matches!(self, Self::Write(error) if error.kind() == std::io::ErrorKind::BrokenPipe)
    }
}

impl From<png::EncodingError> for ExchangeError {
    fn from(error: png::EncodingError) -> Self {
        match error {
            png::EncodingError::IoError(error) => Self::Write(error),
            other => Self::Picture(other),
        }
    }
}

impl From<csv::Error> for ExchangeError {
    fn from(error: csv::Error) -> Self {
        Self::Write(match error.into_kind() {
            csv::ErrorKind::Io(error) => error,
            other => std::io::Error::other(format!("{other:?}")),
        })
    }
}
