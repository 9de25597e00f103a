//! Ogee: shape a stretchable ribbon by hand, while strain, light loss and fit answer in the same moment.
//!
//! The [`session`] holds a person's work and knows no window toolkit; the window shows a session and sends it
//! commands; the [`command`] line reads the same design files and gives the same numbers.
//!
//! ```
//! use ogee::session::{Command, Edit, Session, Settings};
//!
//! let mut session = Session::new(ogee_design::Design::sample(), Settings::default());
//! session.apply(Command::Commit(Edit::number("Change width", "shape.width_um", 30.0)));
//! assert_eq!(session.undo_label(), Some("Change width"));
//! ```

pub mod command;
pub mod session;
#[cfg(feature = "window")]
pub mod window;
