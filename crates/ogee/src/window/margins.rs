//! The margins.

use super::theme::Theme;
use crate::session::{Command, Session};

/// The margins.
#[derive(Debug, Default)]
pub struct MarginsPanel {}

impl MarginsPanel {
    /// Shows it.
    pub fn ui(&mut self, _ui: &mut egui::Ui, _session: &Session, _theme: &Theme, _out: &mut Vec<Command>) {}
}
