//! The inputs.

use super::theme::Theme;
use crate::session::{Command, Session};

/// The inputs.
#[derive(Debug, Default)]
pub struct InputsPanel {}

impl InputsPanel {
    /// Shows it.
    pub fn ui(&mut self, _ui: &mut egui::Ui, _session: &Session, _theme: &Theme, _out: &mut Vec<Command>) {}
}
