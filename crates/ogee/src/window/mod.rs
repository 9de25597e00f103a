//! The window: panels that show a [`Session`](crate::session::Session) and send it commands.
//!
//! No formulas live here; a panel owns the state of its widgets and nothing else.

mod along;
mod app;
mod axes;
mod colour_scale;
mod comparison;
mod contour;
mod dialogs;
mod drawing;
mod field_map;
mod figures;
mod gesture;
mod inputs;
mod legend;
mod margins;
mod menu;
mod pins;
mod plot;
mod quantity_field;
mod start;
mod stretch_bar;
mod theme;

pub use along::AlongPanel;
pub use app::App;
pub use colour_scale::{ColourScale, Palette};
pub use comparison::ComparisonPanel;
pub use dialogs::{Chooser, FileKind, NativeChooser};
pub use drawing::DrawingPanel;
pub use field_map::MapPanel;
pub use figures::FigurePanel;
pub use inputs::InputsPanel;
pub use margins::MarginsPanel;
pub use quantity_field::{NameFields, QuantityFields, RowLayout};
pub use start::{Folders, first_session, run};
pub use stretch_bar::StretchBar;
pub use theme::Theme;
