//! What a person prefers, kept in a file of its own and apart from any design.

use super::files::write_safely;
use ogee_design::{MapField, MapModel};
use serde::{Deserialize, Serialize};
use std::io;
use std::path::{Path, PathBuf};

/// Most recent files that are remembered.
pub const MOST_RECENT: usize = 10;

/// Smallest and largest text size, % of the usual one.
pub const TEXT_PERCENT: [f64; 2] = [80.0, 200.0];

/// Light or dark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ThemeChoice {
    /// What the desktop prefers; light where it does not say.
    #[default]
    System,
    /// Dark lines on warm paper.
    Light,
    /// Light lines on dark paper.
    Dark,
}

/// A colour scale for magnitudes; signed strain always has its own, centred on zero.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ColourMap {
    /// Blue to yellow, the same for colour-blind readers.
    #[default]
    Cividis,
    /// Violet over green to yellow.
    Viridis,
}

impl ColourMap {
    /// All scales, in the order in which they are listed.
    pub const ALL: [Self; 2] = [Self::Cividis, Self::Viridis];

    /// The name as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Cividis => "Cividis",
            Self::Viridis => "Viridis",
        }
    }
}

/// What a person prefers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Light or dark.
    pub theme: ThemeChoice,
    /// Colour scale of maps and strain magnitudes.
    pub colour_map: ColourMap,
    /// Text size, % of the usual one.
    pub text_percent: f64,
    /// `id` of the quantity shown in the map.
    pub map_field: String,
    /// Whether the strain of the map is refined by the full models.
    pub map_by_full_models: bool,
    /// Whether handles catch on round values and on limits.
    pub snapping: bool,
    /// Whether the ribbon at rest is drawn beside the stretched one.
    pub rest_shown: bool,
    /// Whether the map draws lines of equal value.
    pub isolines_shown: bool,
    /// Whether the inputs are shown.
    pub inputs_shown: bool,
    /// Whether the margins are shown.
    pub margins_shown: bool,
    /// Whether the map and the plot along the ribbon are shown.
    pub plots_shown: bool,
    /// Whether the hints for a first start are still shown.
    pub hints_shown: bool,
    /// Files opened or saved last, the newest first.
    pub recent: Vec<PathBuf>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            theme: ThemeChoice::default(),
            colour_map: ColourMap::default(),
            text_percent: 100.0,
            map_field: "strain-margin".to_owned(),
            map_by_full_models: false,
            snapping: true,
            rest_shown: true,
            isolines_shown: true,
            inputs_shown: true,
            margins_shown: true,
            plots_shown: true,
            hints_shown: true,
            recent: Vec::new(),
        }
    }
}

/// One change of the settings.
#[derive(Clone, Debug, PartialEq)]
pub enum SettingsChange {
    /// Light or dark.
    Theme(ThemeChoice),
    /// Colour scale.
    ColourMap(ColourMap),
    /// Text size, %; kept within [`TEXT_PERCENT`].
    TextPercent(f64),
    /// Snapping on or off.
    Snapping(bool),
    /// Ribbon at rest on or off.
    RestShown(bool),
    /// Lines of equal value on or off.
    IsolinesShown(bool),
    /// Inputs on or off.
    InputsShown(bool),
    /// Margins on or off.
    MarginsShown(bool),
    /// Map and plot along the ribbon on or off.
    PlotsShown(bool),
    /// Hints on or off.
    HintsShown(bool),
    /// Forgets the recent files.
    ClearRecent,
}

impl Settings {
    /// Reads the settings at `path`. A missing or unreadable file gives the defaults: settings are never
    /// a reason not to start.
    pub fn load(path: &Path) -> Self {
        let read = std::fs::read_to_string(path).ok();
        let mut settings: Self = read.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
        settings.recent.truncate(MOST_RECENT);
        settings.set_text_percent(settings.text_percent);
        settings
    }

    /// Writes the settings to `path`, creating its folder.
    ///
    /// # Errors
    /// Whatever the file system says.
    pub fn store(&self, path: &Path) -> io::Result<()> {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        let text = serde_json::to_string_pretty(self).map_err(io::Error::other)?;
        write_safely(path, text.as_bytes())
    }

    /// The quantity shown in the map.
    pub fn map_field(&self) -> MapField {
        MapField::ALL.into_iter().find(|f| f.id() == self.map_field).unwrap_or(MapField::StrainMargin)
    }

    /// Chooses the quantity shown in the map.
    pub fn set_map_field(&mut self, field: MapField) {
        field.id().clone_into(&mut self.map_field);
    }

    /// By which models the strain of the map is.
    pub fn map_model(&self) -> MapModel {
        if self.map_by_full_models { MapModel::Full } else { MapModel::Live }
    }

    /// Puts `path` on top of the recent files.
    pub fn remember(&mut self, path: &Path) {
        self.recent.retain(|p| p != path);
        self.recent.insert(0, path.to_owned());
        self.recent.truncate(MOST_RECENT);
    }

    /// Applies `change`; returns whether anything is different now.
    pub fn apply(&mut self, change: &SettingsChange) -> bool {
        let before = self.clone();
        match *change {
            SettingsChange::Theme(theme) => self.theme = theme,
            SettingsChange::ColourMap(map) => self.colour_map = map,
            SettingsChange::TextPercent(percent) => self.set_text_percent(percent),
            SettingsChange::Snapping(on) => self.snapping = on,
            SettingsChange::RestShown(on) => self.rest_shown = on,
            SettingsChange::IsolinesShown(on) => self.isolines_shown = on,
            SettingsChange::InputsShown(on) => self.inputs_shown = on,
            SettingsChange::MarginsShown(on) => self.margins_shown = on,
            SettingsChange::PlotsShown(on) => self.plots_shown = on,
            SettingsChange::HintsShown(on) => self.hints_shown = on,
            SettingsChange::ClearRecent => self.recent.clear(),
        }
        *self != before
    }

    fn set_text_percent(&mut self, percent: f64) {
        let percent = if percent.is_finite() { percent } else { 100.0 };
        self.text_percent = percent.clamp(TEXT_PERCENT[0], TEXT_PERCENT[1]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_come_back_as_stored() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep/settings.json");
        let mut settings = Settings::default();
        assert!(settings.apply(&SettingsChange::Theme(ThemeChoice::Dark)));
        assert!(settings.apply(&SettingsChange::TextPercent(1000.0)));
        assert!(!settings.apply(&SettingsChange::TextPercent(200.0)));
        settings.remember(Path::new("/a.ogee.json"));
        settings.store(&path).unwrap();
        assert_eq!(Settings::load(&path), settings);
    }

    #[test]
    fn a_damaged_file_gives_the_defaults() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("settings.json");
        std::fs::write(&path, "{ not json").unwrap();
        assert_eq!(Settings::load(&path), Settings::default());
        std::fs::write(&path, r#"{"theme":"dark","later_key":1}"#).unwrap();
        assert_eq!(Settings::load(&path).theme, ThemeChoice::Dark);
    }

    #[test]
    fn recent_files_are_few_and_unique() {
        let mut settings = Settings::default();
        for i in 0..30 {
            settings.remember(&PathBuf::from(format!("/{}.ogee.json", i % 15)));
        }
        assert_eq!(settings.recent.len(), MOST_RECENT);
        assert_eq!(settings.recent[0], Path::new("/14.ogee.json"));
        settings.remember(Path::new("/10.ogee.json"));
        assert_eq!(settings.recent.len(), MOST_RECENT);
        assert_eq!(settings.recent[0], Path::new("/10.ogee.json"));
    }
}
