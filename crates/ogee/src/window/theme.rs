//! The look: one table of colours for light and one for dark, and the fonts.
//!
//! Panels take every colour from here; none is written anywhere else.

use crate::session::ThemeChoice;
use egui::{
    Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Shadow, Stroke, TextStyle,
    ThemePreference, Vec2,
};
use std::sync::Arc;

/// Colours by what they are for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Theme {
    /// Whether light lines stand on dark paper.
    pub dark: bool,
    /// Ground of the window.
    pub paper: Color32,
    /// Ground of a panel.
    pub panel: Color32,
    /// Ground of the drawing and the plots.
    pub canvas: Color32,
    /// Ground of a field in which one types.
    pub field: Color32,
    /// Borders of panels and fields, rules between lines.
    pub line: Color32,
    /// Lines that carry meaning: axes, outlines.
    pub line_strong: Color32,
    /// Text.
    pub text: Color32,
    /// Captions, units, secondary text.
    pub muted: Color32,
    /// The one accent: what can be moved, what passes.
    pub accent: Color32,
    /// The accent as a ground.
    pub accent_soft: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// Limits and cautions.
    pub warn: Color32,
    /// A caution's ground.
    pub warn_soft: Color32,
    /// Faults and failed checks.
    pub bad: Color32,
    /// A fault's ground.
    pub bad_soft: Color32,
    /// Grid of the drawing and the plots.
    pub grid: Color32,
    /// Groove of bars.
    pub track: Color32,
    /// Ribbon at rest.
    pub rest_fill: Color32,
    /// Ground of an island.
    pub island_fill: Color32,
    /// Outline of an island.
    pub island_line: Color32,
    /// Lines of the pinned variants, in their order.
    pub pins: [Color32; 4],
    /// Grounds of layers in the cross-section, one per material.
    pub layers: [Color32; 6],
    /// Hatching over what is impossible or out of range.
    pub hatch: Color32,
}

const fn rgb(code: u32) -> Color32 {
    Color32::from_rgb((code >> 16) as u8, (code >> 8) as u8, code as u8)
}

/// Family of the bold face.
const BOLD: &str = "bold";
/// Text style of the headline number.
const HEADLINE: &str = "headline";

impl Theme {
    /// Dark lines on warm paper.
    pub const LIGHT: Self = Self {
        dark: false,
        paper: rgb(0xF8_F7F2),
        panel: rgb(0xFF_FFFF),
        canvas: rgb(0xFF_FEFB),
        field: rgb(0xFB_FAF6),
        line: rgb(0xE3_DFD4),
        line_strong: rgb(0x9A_A3A6),
        text: rgb(0x1C_2A31),
        muted: rgb(0x5F_6C73),
        accent: rgb(0x0B_6C73),
        accent_soft: rgb(0xDC_ECEB),
        on_accent: rgb(0xFF_FFFF),
        warn: rgb(0xA8_4A16),
        warn_soft: rgb(0xFB_EDE0),
        bad: rgb(0xA8_2620),
        bad_soft: rgb(0xFB_E6E3),
        grid: rgb(0xF0_EDE4),
        track: rgb(0xEC_E8DF),
        rest_fill: rgb(0xBE_C8CB),
        island_fill: rgb(0xE9_EDF0),
        island_line: rgb(0x7A_8690),
        pins: [rgb(0x7A_4E9C), rgb(0xA8_5F12), rgb(0x2F_6BA8), rgb(0x4F_7326)],
        layers: [
            rgb(0xE8_DDC6),
            rgb(0xCD_DFE0),
            rgb(0xDA_D3E4),
            rgb(0xD6_E0C4),
            rgb(0xEF_CFC2),
            rgb(0xD4_D8DB),
        ],
        hatch: rgb(0x8A_9296),
    };

    /// Light lines on dark paper.
    pub const DARK: Self = Self {
        dark: true,
        paper: rgb(0x16_1A1C),
        panel: rgb(0x1E_2426),
        canvas: rgb(0x1A_1F21),
        field: rgb(0x27_2E31),
        line: rgb(0x36_3F43),
        line_strong: rgb(0x76_8288),
        text: rgb(0xE7_EBEB),
        muted: rgb(0x9D_AAAF),
        accent: rgb(0x5B_C2C4),
        accent_soft: rgb(0x1E_3F42),
        on_accent: rgb(0x0E_1A1B),
        warn: rgb(0xF0_A56B),
        warn_soft: rgb(0x44_3021),
        bad: rgb(0xF2_8B82),
        bad_soft: rgb(0x4A_2826),
        grid: rgb(0x25_2B2D),
        track: rgb(0x33_3B3E),
        rest_fill: rgb(0x4B_5659),
        island_fill: rgb(0x2B_3336),
        island_line: rgb(0x87_959B),
        pins: [rgb(0xC3_9BDD), rgb(0xE0_B061), rgb(0x86_B7E8), rgb(0xA5_C97A)],
        layers: [
            rgb(0x4C_4536),
            rgb(0x33_4A4D),
            rgb(0x45_3E52),
            rgb(0x3F_4A30),
            rgb(0x55_3D34),
            rgb(0x40_464A),
        ],
        hatch: rgb(0x6F_7A7F),
    };

    /// The colours that `ctx` is painted in now.
    pub fn of(ctx: &egui::Context) -> Self {
        match ctx.theme() {
            egui::Theme::Light => Self::LIGHT,
            egui::Theme::Dark => Self::DARK,
        }
    }

    /// Gives `ctx` the fonts and the styles of both themes. To be called once, before the first frame;
    /// without it [`bold`](Self::bold) and [`headline`](Self::headline) name faces that are not there.
    pub fn install(ctx: &egui::Context) {
        ctx.set_fonts(fonts());
        for (of, theme) in [(egui::Theme::Light, Self::LIGHT), (egui::Theme::Dark, Self::DARK)] {
            ctx.style_mut_of(of, |style| theme.dress(style));
        }
        // The window owns the key that ends the program: it asks about unsaved work first.
        ctx.options_mut(|options| {
            options.quit_shortcuts.clear();
            options.fallback_theme = egui::Theme::Light;
            options.zoom_with_keyboard = false;
        });
    }

    /// Follows the person's choice of light or dark.
    pub fn choose(ctx: &egui::Context, choice: ThemeChoice) {
        ctx.set_theme(match choice {
            ThemeChoice::System => ThemePreference::System,
            ThemeChoice::Light => ThemePreference::Light,
            ThemeChoice::Dark => ThemePreference::Dark,
        });
    }

    /// The bold face.
    pub fn bold(size: f32) -> FontId {
        FontId::new(size, FontFamily::Name(BOLD.into()))
    }

    /// Text style of the headline number.
    pub fn headline() -> TextStyle {
        TextStyle::Name(HEADLINE.into())
    }

    /// Colour of a margin: the accent where it passes, else that of faults.
    pub fn verdict(&self, passes: bool) -> Color32 {
        if passes { self.accent } else { self.bad }
    }

    /// A white panel with a thin border and rounded corners.
    pub fn card(&self) -> egui::Frame {
        egui::Frame::new()
            .fill(self.panel)
            .stroke(Stroke::new(1.0, self.line))
            .corner_radius(CornerRadius::same(5))
            .inner_margin(Margin::symmetric(12, 9))
    }

    fn dress(&self, style: &mut egui::Style) {
        style.text_styles = [
            (TextStyle::Small, FontId::proportional(11.0)),
            (TextStyle::Body, FontId::proportional(12.5)),
            (TextStyle::Button, FontId::proportional(12.5)),
            (TextStyle::Monospace, FontId::monospace(12.0)),
            (TextStyle::Heading, Self::bold(13.0)),
            (Self::headline(), Self::bold(30.0)),
        ]
        .into();
        style.animation_time = 0.08;
        style.spacing.item_spacing = Vec2::new(8.0, 4.0);
        style.spacing.button_padding = Vec2::new(7.0, 3.0);
        style.spacing.interact_size = Vec2::new(32.0, 20.0);
        style.spacing.menu_margin = Margin::same(6);
        style.spacing.window_margin = Margin::same(14);
        style.spacing.tooltip_width = 340.0;
        style.spacing.icon_width = 14.0;
        // The bar has room of its own beside what scrolls.
        style.spacing.scroll = egui::style::ScrollStyle {
            bar_width: 7.0,
            floating_allocated_width: 8.0,
            ..egui::style::ScrollStyle::floating()
        };
        let v = &mut style.visuals;
        *v = if self.dark { egui::Visuals::dark() } else { egui::Visuals::light() };
        let radius = CornerRadius::same(4);
        v.window_corner_radius = CornerRadius::same(7);
        v.menu_corner_radius = CornerRadius::same(5);
        v.panel_fill = self.paper;
        v.window_fill = self.panel;
        v.window_stroke = Stroke::new(1.0, self.line);
        let shade = Color32::from_black_alpha(if self.dark { 110 } else { 34 });
        v.window_shadow = Shadow { offset: [0, 6], blur: 20, spread: 0, color: shade };
        v.popup_shadow = Shadow { offset: [0, 3], blur: 10, spread: 0, color: shade };
        v.extreme_bg_color = self.field;
        v.text_edit_bg_color = Some(self.field);
        v.faint_bg_color = self.paper;
        v.code_bg_color = self.paper;
        v.weak_text_color = Some(self.muted);
        v.hyperlink_color = self.accent;
        v.warn_fg_color = self.warn;
        v.error_fg_color = self.bad;
        v.selection.bg_fill = self.accent_soft;
        v.selection.stroke = Stroke::new(1.0, self.accent);
        v.disabled_alpha = 0.45;
        let w = &mut v.widgets;
        for (visuals, ground, border, ink) in [
            (&mut w.noninteractive, self.panel, self.line, self.text),
            (&mut w.inactive, self.field, self.line, self.text),
            (&mut w.hovered, self.field, self.line_strong, self.text),
            (&mut w.active, self.accent_soft, self.accent, self.text),
            (&mut w.open, self.field, self.accent, self.text),
        ] {
            visuals.bg_fill = ground;
            visuals.weak_bg_fill = ground;
            visuals.bg_stroke = Stroke::new(1.0, border);
            visuals.fg_stroke = Stroke::new(1.0, ink);
            visuals.corner_radius = radius;
            visuals.expansion = 0.0;
        }
    }
}

fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let regular = include_bytes!("../../../../assets/fonts/DejaVuSansCondensed.ttf");
    let bold = include_bytes!("../../../../assets/fonts/DejaVuSansCondensed-Bold.ttf");
    fonts.font_data.insert("regular".to_owned(), Arc::new(FontData::from_static(regular)));
    fonts.font_data.insert(BOLD.to_owned(), Arc::new(FontData::from_static(bold)));
    fonts.families.entry(FontFamily::Proportional).or_default().insert(0, "regular".to_owned());
    // Behind the monospaced face, for the glyphs that it lacks.
    fonts.families.entry(FontFamily::Monospace).or_default().push("regular".to_owned());
    fonts.families.insert(FontFamily::Name(BOLD.into()), vec![BOLD.to_owned(), "regular".to_owned()]);
    fonts
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of the Web Content Accessibility Guidelines.
    fn luminance(c: Color32) -> f64 {
        let linear = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.03928 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(c.r()) + 0.7152 * linear(c.g()) + 0.0722 * linear(c.b())
    }

    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_is_readable_on_every_ground() {
        for theme in [Theme::LIGHT, Theme::DARK] {
            let inks = [theme.text, theme.muted, theme.accent, theme.warn, theme.bad];
            for ground in [theme.paper, theme.panel, theme.canvas, theme.field] {
                for ink in inks {
                    let ratio = contrast(ink, ground);
                    assert!(ratio >= 4.5, "{ink:?} on {ground:?} has {ratio:.2}");
                }
            }
            for (ink, ground) in [
                (theme.on_accent, theme.accent),
                (theme.text, theme.accent_soft),
                (theme.accent, theme.accent_soft),
                (theme.text, theme.warn_soft),
                (theme.text, theme.bad_soft),
                (theme.bad, theme.bad_soft),
                (theme.text, theme.island_fill),
            ] {
                let ratio = contrast(ink, ground);
                assert!(ratio >= 4.5, "{ink:?} on {ground:?} has {ratio:.2}");
            }
            for pin in theme.pins {
                assert!(contrast(pin, theme.canvas) >= 3.0, "{pin:?}");
            }
        }
    }
}
