//! The checked section.

use crate::strip::{even_strips, is_even};
use crate::{
    Field, Filler, Layer, ModulusKind, Rectangle, RectangleStrain, Row, SectionError, SectionLoads,
    SectionStrain, Strip,
};

/// Lengths may exceed a limit by this share of the ribbon's width: the rounding of w/2 and of offsets.
const ROUNDING: f64 = 1e-12;

/// A checked section: rectangles that do not overlap, and its stiffness. See the crate docs for the formulas.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    width_um: f64,
    thickness_um: f64,
    kind: ModulusKind,
    rectangles: Vec<Rectangle>,
    stiffness: Stiffness,
}

/// Sums over the rectangles.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stiffness {
    ea: f64,
    y_n: f64,
    z_n: f64,
    ei_in: f64,
    ei_out: f64,
    ei_x: f64,
}

impl Section {
    /// Builds a section from its rows, bottom to top, with Young's modulus acting along the ribbon
    /// ([`ModulusKind::Beam`]).
    ///
    /// * `ribbon_width_um`: width of the ribbon, the room that the rows may take, µm.
    /// # Errors
    /// The first of [`Section::faults`], or [`SectionError::OutOfNumbers`] where a stiffness over- or underflows.
    pub fn new(ribbon_width_um: f64, rows: Vec<Row>) -> Result<Self, SectionError> {
        if let Some(fault) = Self::faults(ribbon_width_um, &rows).into_iter().next() {
            return Err(fault);
        }
        let mut rectangles = Vec::with_capacity(3 * rows.len());
        let mut bottom_um = 0.0;
        for (row, content) in rows.into_iter().enumerate() {
            let top_um = bottom_um + content.core.thickness_um;
            place(&mut rectangles, row, content, ribbon_width_um, bottom_um, top_um);
            bottom_um = top_um;
        }
        Self::from_rectangles(ribbon_width_um, bottom_um, ModulusKind::Beam, rectangles)
    }

    /// The same section with another modulus acting along the ribbon.
    ///
    /// # Errors
    /// [`SectionError::OutOfNumbers`] where a stiffness over- or underflows.
    pub fn with_modulus_kind(self, kind: ModulusKind) -> Result<Self, SectionError> {
        Self::from_rectangles(self.width_um, self.thickness_um, kind, self.rectangles)
    }

    fn from_rectangles(
        width_um: f64,
        thickness_um: f64,
        kind: ModulusKind,
        rectangles: Vec<Rectangle>,
    ) -> Result<Self, SectionError> {
        let stiffness = Stiffness::of(&rectangles, kind);
        stiffness.check()?;
        Ok(Self { width_um, thickness_um, kind, rectangles, stiffness })
    }

    /// Everything that is wrong with a set of rows; empty where [`Section::new`] would accept them.
    ///
    /// Per row: finite values; width, thickness and modulus above zero; Poisson's ratio between −1 and 0.5; no
    /// wider than the ribbon (or than the row that its filler makes up); inside it at its offset; resting on the
    /// row below. The last is judged only between rows that are sound by themselves.
    pub fn faults(ribbon_width_um: f64, rows: &[Row]) -> Vec<SectionError> {
        let mut faults = Vec::new();
        if rows.is_empty() {
            faults.push(SectionError::NoLayers);
        }
        let width_is_sound = ribbon_width_um.is_finite() && ribbon_width_um > 0.0;
        if !width_is_sound {
            faults.push(SectionError::RibbonWidth { value_um: ribbon_width_um });
        }
        // Without a sound width the rows are checked for themselves only.
        let room_um = if width_is_sound { ribbon_width_um } else { f64::INFINITY };
        let mut below: Option<(f64, f64)> = None;
        for (row, content) in rows.iter().enumerate() {
            let known = faults.len();
            check_layer(&mut faults, row, &content.core);
            let filled_um = match &content.filler {
                Some(filler) => check_filler(&mut faults, row, filler, room_um),
                None => room_um,
            };
            if faults.len() == known {
                check_room(&mut faults, row, content, filled_um, room_um);
            }
            let extent = extent_um(content, filled_um);
            if faults.len() == known {
                if let Some(below) = below {
                    check_rest(&mut faults, row, &content.core, extent, below, room_um);
                }
                below = Some(extent);
            } else {
                below = None;
            }
        }
        faults
    }

    /// The rectangles, bottom to top and within a row from right to left (rising y).
    pub fn rectangles(&self) -> &[Rectangle] {
        &self.rectangles
    }

    /// Which modulus acts along the ribbon.
    pub fn modulus_kind(&self) -> ModulusKind {
        self.kind
    }

    /// w: width of the ribbon, µm. The widest row may be narrower.
    pub fn width_um(&self) -> f64 {
        self.width_um
    }

    /// Total thickness of all rows, µm.
    pub fn thickness_um(&self) -> f64 {
        self.thickness_um
    }

    /// EA: stiffness against stretch, µN.
    pub fn ea_un(&self) -> f64 {
        self.stiffness.ea
    }

    /// `EI_in`: stiffness against bending in the plane about the neutral axis, µN·µm².
    pub fn ei_in_plane_un_um2(&self) -> f64 {
        self.stiffness.ei_in
    }

    /// `EI_out`: stiffness against bending out of the plane about the neutral plane, µN·µm².
    pub fn ei_out_of_plane_un_um2(&self) -> f64 {
        self.stiffness.ei_out
    }

    /// `EI_x`: coupling of the two bendings, µN·µm²; zero for a section that is symmetric in y or in z.
    pub fn ei_coupling_un_um2(&self) -> f64 {
        self.stiffness.ei_x
    }

    /// `z_n`: height of the neutral plane above the bottom of the section, µm.
    pub fn neutral_plane_um(&self) -> f64 {
        self.stiffness.z_n
    }

    /// `y_n`: offset of the neutral axis from the centreline, µm, positive towards the left edge.
    pub fn neutral_axis_y_um(&self) -> f64 {
        self.stiffness.y_n
    }

    /// The even part of the section as strips centred on the centreline, widest first.
    ///
    /// Σ E·t·2a = EA and Σ E·t J2(κ0, ±a) = the curved bending stiffness about y = 0, exactly, for a section that
    /// [is symmetric](Self::is_symmetric_in_plane). Otherwise the strips leave out the odd part: EA, J0 and J2 of
    /// a straight ribbon stay right, the coupling of stretch and in-plane bending is lost.
    /// Side pieces beside a core appear as a full strip and a negative one of the inner width, merged with the
    /// core's own.
    pub fn strips(&self) -> Vec<Strip> {
        even_strips(&self.rectangles, self.kind)
    }

    /// Whether E·t, summed over the thickness, is the same on both sides of the centreline, so that stretching a
    /// straight ribbon does not bend it in the plane and [`Section::strips`] describe the section fully.
    pub fn is_symmetric_in_plane(&self) -> bool {
        is_even(&self.rectangles, self.kind)
    }

    /// Strain of the fibre at (y, z), dimensionless: `ε_m + κ_o (z − z_n) − κ_i (y − y_n)`.
    ///
    /// Holds for a ribbon that is straight, or gently curved (w|κ0| < 0.1), at rest.
    ///
    /// * `y_um`: offset from the centreline, µm. `z_um`: height above the bottom, µm.
    pub fn strain_at(&self, state: &SectionStrain, y_um: f64, z_um: f64) -> f64 {
        state.membrane + state.curvature_out_per_um * (z_um - self.stiffness.z_n)
            - state.curvature_in_per_um * (y_um - self.stiffness.y_n)
    }

    /// Strain of every rectangle, in the order of [`Section::rectangles`].
    pub fn strains(&self, state: &SectionStrain) -> Vec<RectangleStrain> {
        self.rectangles.iter().map(|r| self.strain_of(state, r)).collect()
    }

    fn strain_of(&self, state: &SectionStrain, r: &Rectangle) -> RectangleStrain {
        let at = |y_um, z_um| self.strain_at(state, y_um, z_um);
        let middle_um = r.middle_y_um();
        RectangleStrain {
            bottom_left: at(r.y1_um, r.z0_um),
            bottom_middle: at(middle_um, r.z0_um),
            bottom_right: at(r.y0_um, r.z0_um),
            top_left: at(r.y1_um, r.z1_um),
            top_middle: at(middle_um, r.z1_um),
            top_right: at(r.y0_um, r.z1_um),
        }
    }

    /// Force and moments that hold a state of strain.
    ///
    /// `N = EA ε_m,  M_o = EI_out κ_o − EI_x κ_i,  M_i = EI_in κ_i − EI_x κ_o`
    pub fn loads(&self, state: &SectionStrain) -> SectionLoads {
        let s = &self.stiffness;
        let (out, inward) = (state.curvature_out_per_um, state.curvature_in_per_um);
        SectionLoads {
            force_un: s.ea * state.membrane,
            moment_out_un_um: s.ei_out * out - s.ei_x * inward,
            moment_in_un_um: s.ei_in * inward - s.ei_x * out,
        }
    }

    /// State of strain under a force and moments: the inverse of [`Section::loads`].
    pub fn strain_under(&self, loads: &SectionLoads) -> SectionStrain {
        let s = &self.stiffness;
        // Positive for any real section, by the inequality of Cauchy and Schwarz.
        let determinant = s.ei_out * s.ei_in - s.ei_x * s.ei_x;
        let (out, inward) = (loads.moment_out_un_um, loads.moment_in_un_um);
        SectionStrain {
            membrane: loads.force_un / s.ea,
            curvature_out_per_um: (s.ei_in * out + s.ei_x * inward) / determinant,
            curvature_in_per_um: (s.ei_out * inward + s.ei_x * out) / determinant,
        }
    }
}

impl Stiffness {
    fn of(rectangles: &[Rectangle], kind: ModulusKind) -> Self {
        let ea_of = |r: &Rectangle| kind.effective_mpa(r.modulus_mpa, r.poisson) * r.area_um2();
        let ea: f64 = rectangles.iter().map(ea_of).sum();
        let y_n = rectangles.iter().map(|r| ea_of(r) * r.middle_y_um()).sum::<f64>() / ea;
        let z_n = rectangles.iter().map(|r| ea_of(r) * r.middle_z_um()).sum::<f64>() / ea;
        let (mut ei_in, mut ei_out, mut ei_x) = (0.0, 0.0, 0.0);
        for r in rectangles {
            let (y, z) = (r.middle_y_um() - y_n, r.middle_z_um() - z_n);
            ei_in += ea_of(r) * (r.width_um().powi(2) / 12.0 + y * y);
            ei_out += ea_of(r) * (r.thickness_um().powi(2) / 12.0 + z * z);
            ei_x += ea_of(r) * y * z;
        }
        Self { ea, y_n, z_n, ei_in, ei_out, ei_x }
    }

    /// Squares of the stiffnesses must stay finite too: [`Section::strain_under`] multiplies them.
    fn check(&self) -> Result<(), SectionError> {
        let positive = [
            ("stretch stiffness", self.ea),
            ("in-plane bending stiffness", self.ei_in),
            ("out-of-plane bending stiffness", self.ei_out),
            ("product of the bending stiffnesses", self.ei_in * self.ei_out - self.ei_x * self.ei_x),
        ];
        for (quantity, value) in positive {
            if !(value.is_normal() && value > 0.0) {
                return Err(SectionError::OutOfNumbers { quantity, value });
            }
        }
        for (quantity, value) in
            [("neutral plane", self.z_n), ("neutral axis", self.y_n), ("coupling stiffness", self.ei_x)]
        {
            if !value.is_finite() {
                return Err(SectionError::OutOfNumbers { quantity, value });
            }
        }
        Ok(())
    }
}

/// Adds the rectangles of one checked row.
fn place(rectangles: &mut Vec<Rectangle>, row: usize, content: Row, room_um: f64, z0_um: f64, z1_um: f64) {
    let Row { core, filler } = content;
    let (y0_um, y1_um) = core_edges_um(&core);
    let sides = filler.map(|f| (0.5 * f.width_um.unwrap_or(room_um), f));
    let piece = |f: &Filler, y0_um: f64, y1_um: f64| Rectangle {
        row,
        name: f.name.clone(),
        is_filler: true,
        y0_um,
        y1_um,
        z0_um,
        z1_um,
        modulus_mpa: f.modulus_mpa,
        poisson: f.poisson,
    };
    if let Some((half_um, f)) = &sides
        && y0_um + half_um > ROUNDING * room_um
    {
        rectangles.push(piece(f, -half_um, y0_um));
    }
    rectangles.push(Rectangle {
        row,
        name: core.name,
        is_filler: false,
        y0_um,
        y1_um,
        z0_um,
        z1_um,
        modulus_mpa: core.modulus_mpa,
        poisson: core.poisson,
    });
    if let Some((half_um, f)) = &sides
        && half_um - y1_um > ROUNDING * room_um
    {
        rectangles.push(piece(f, y1_um, *half_um));
    }
}

fn core_edges_um(core: &Layer) -> (f64, f64) {
    (core.offset_um - 0.5 * core.width_um, core.offset_um + 0.5 * core.width_um)
}

/// y of the row's right and left edge.
fn extent_um(content: &Row, filled_um: f64) -> (f64, f64) {
    if content.filler.is_some() { (-0.5 * filled_um, 0.5 * filled_um) } else { core_edges_um(&content.core) }
}

fn check_layer(faults: &mut Vec<SectionError>, row: usize, core: &Layer) {
    let mut check = |field, value| check_positive(faults, row, &core.name, field, value);
    check(Field::Width, core.width_um);
    check(Field::Thickness, core.thickness_um);
    check(Field::Modulus, core.modulus_mpa);
    if !core.offset_um.is_finite() {
        let (layer, value) = (core.name.clone(), core.offset_um);
        faults.push(SectionError::NotFinite { row, layer, field: Field::Offset, value });
    }
    check_poisson(faults, row, &core.name, core.poisson);
}

/// Returns the width to which the row is filled.
fn check_filler(faults: &mut Vec<SectionError>, row: usize, filler: &Filler, room_um: f64) -> f64 {
    check_positive(faults, row, &filler.name, Field::Modulus, filler.modulus_mpa);
    check_poisson(faults, row, &filler.name, filler.poisson);
    let Some(width_um) = filler.width_um else { return room_um };
    check_positive(faults, row, &filler.name, Field::Width, width_um);
    if width_um > room_um * (1.0 + ROUNDING) && width_um.is_finite() {
        let layer = filler.name.clone();
        faults.push(SectionError::WiderThanRibbon { row, layer, value_um: width_um, limit_um: room_um });
    }
    width_um
}

fn check_positive(faults: &mut Vec<SectionError>, row: usize, name: &str, field: Field, value: f64) {
    let layer = name.to_owned();
    if !value.is_finite() {
        faults.push(SectionError::NotFinite { row, layer, field, value });
    } else if value <= 0.0 {
        faults.push(SectionError::NotPositive { row, layer, field, value });
    }
}

fn check_poisson(faults: &mut Vec<SectionError>, row: usize, name: &str, value: f64) {
    let layer = name.to_owned();
    if !value.is_finite() {
        faults.push(SectionError::NotFinite { row, layer, field: Field::Poisson, value });
    } else if value <= -1.0 || value >= 0.5 {
        faults.push(SectionError::Poisson { row, layer, value });
    }
}

fn check_room(faults: &mut Vec<SectionError>, row: usize, content: &Row, filled_um: f64, room_um: f64) {
    let core = &content.core;
    let slack_um = if room_um.is_finite() { ROUNDING * room_um } else { 0.0 };
    let layer = core.name.clone();
    let value_um = core.width_um;
    if value_um > room_um + slack_um {
        faults.push(SectionError::WiderThanRibbon { row, layer, value_um, limit_um: room_um });
    } else if value_um > filled_um + slack_um {
        faults.push(SectionError::WiderThanFiller { row, layer, value_um, limit_um: filled_um });
    } else {
        let limit_um = 0.5 * (filled_um - core.width_um).max(0.0);
        if core.offset_um.abs() > limit_um + slack_um {
            faults.push(SectionError::SticksOut { row, layer, value_um: core.offset_um, limit_um });
        }
    }
}

fn check_rest(
    faults: &mut Vec<SectionError>,
    row: usize,
    core: &Layer,
    extent_um: (f64, f64),
    below_um: (f64, f64),
    room_um: f64,
) {
    let slack_um = if room_um.is_finite() { ROUNDING * room_um } else { 0.0 };
    if extent_um.1.min(below_um.1) - extent_um.0.max(below_um.0) > slack_um {
        return;
    }
    let half_um = 0.5 * (extent_um.1 - extent_um.0);
    faults.push(SectionError::NotResting {
        row,
        layer: core.name.clone(),
        value_um: core.offset_um,
        least_um: below_um.0 - half_um,
        greatest_um: below_um.1 + half_um,
    });
}
