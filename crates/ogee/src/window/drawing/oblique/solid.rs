//! The ribbon as a band in space: cut into pieces, the farther ones painted first.

use super::super::ink::Ink;
use super::super::sheet::Sheet;
use super::super::strip::Station;
use super::camera::Camera;
use egui::{Color32, Mesh, Pos2, Vec2, vec2};
use ogee_design::FormPoint;

/// Pieces shorter than this, points, are joined to the next.
const SHORTEST: f32 = 1.4;
/// Pieces longer than this, points, are filled in.
const LONGEST: f32 = 9.0;
/// Most pieces between two points of the model.
const MOST_BETWEEN: usize = 12;
/// Distance between two rows of vertices across the band, points, and most rows.
const ROWS: (f32, usize) = (4.0, 8);
/// Width, points, from which colours run across the width.
const ACROSS: [f32; 2] = [5.0, 18.0];
/// Half the width of the lines along the edges, points.
const LINE: f32 = 0.6;
/// Half the width of the lines beside places where more strain is seen than allowed, points.
const MARK: f32 = 1.3;
/// Distance between hatch lines along the band, points.
const HATCH: f32 = 6.0;
/// How far the under side is darkened.
const SHADE: f32 = 0.3;

/// The colours of everything but the band's face.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pens {
    /// Lines along the edges.
    pub line: Color32,
    /// Where more strain is seen than allowed.
    pub mark: Color32,
    /// Hatching there.
    pub hatch: Color32,
}

/// One place of the band on the screen.
#[derive(Clone, Debug)]
pub(super) struct Slice {
    /// The place of the model.
    pub point: FormPoint,
    /// Its centre on the screen.
    pub centre: Pos2,
    /// From there to the left edge, points.
    pub half: Vec2,
    nearness: f64,
}

/// A ribbon on the screen.
#[derive(Clone, Debug)]
pub(super) struct Solid {
    /// Its places from the near island on.
    pub slices: Vec<Slice>,
}

impl Solid {
    /// Lays the places of a form on the screen, in no more detail than can be seen.
    pub(super) fn new(points: &[FormPoint], width_um: f64, camera: &Camera, sheet: &Sheet) -> Self {
        let slice = |point: &FormPoint| {
            let [u, v] = camera.sheet(point.position_um);
            let [du, dv] = camera.direction(point.across);
            let half = 0.5 * width_um;
            Slice {
                point: *point,
                centre: sheet.pos(u, v),
                half: vec2(sheet.points(half * du), -sheet.points(half * dv)),
                nearness: camera.nearness(point.position_um),
            }
        };
        let mut slices: Vec<Slice> = Vec::with_capacity(points.len());
        for (i, point) in points.iter().enumerate() {
            let next = slice(point);
            if let Some(last) = slices.last() {
                let step = next.centre.distance(last.centre) + (next.half - last.half).length();
                if step < SHORTEST && i + 1 < points.len() {
                    continue;
                }
                let between = ((step / LONGEST) as usize).min(MOST_BETWEEN);
                if between > 0 && sheet.canvas().expand(60.0).contains(next.centre) {
                    let around = [
                        points[i.saturating_sub(2)],
                        points[i - 1],
                        *point,
                        points[(i + 1).min(points.len() - 1)],
                    ];
                    for k in 1..=between {
                        let u = k as f64 / (between + 1) as f64;
                        slices.push(slice(&filled(&around, u)));
                    }
                }
            }
            slices.push(next);
        }
        Self { slices }
    }

    /// Width of the band on the screen where it is widest, points.
    fn width(&self) -> f32 {
        self.slices.iter().map(|s| 2.0 * s.half.length()).fold(0.0, f32::max)
    }

    /// The band, farther pieces first. `factor` is on strain.
    pub(super) fn mesh(&self, ink: &Ink, pens: Pens, canvas: egui::Rect) -> Mesh {
        let width = self.width();
        let rows = ((width / ROWS.0) as usize).clamp(1, ROWS.1) + 1;
        let detail = f64::from(egui::remap_clamp(width, ACROSS[0]..=ACROSS[1], 0.0..=1.0));
        let seen = canvas.expand(0.5 * width + 4.0);
        let looks: Vec<Look> = self.slices.iter().map(|s| Look::new(s, ink, rows, detail)).collect();
        let hatches = self.hatches(&looks, width);
        let mut order: Vec<(f64, usize)> = (1..self.slices.len())
            .filter(|&i| {
                seen.intersects(egui::Rect::from_two_pos(self.slices[i - 1].centre, self.slices[i].centre))
            })
            .map(|i| (self.slices[i - 1].nearness + self.slices[i].nearness, i))
            .collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut mesh = Mesh::default();
        for (_, i) in order {
            let piece =
                Piece { from: &self.slices[i - 1], to: &self.slices[i], looks: [&looks[i - 1], &looks[i]] };
            piece.add_face(&mut mesh, rows);
            piece.add_edges(&mut mesh, pens);
            if hatches[i] {
                piece.add_hatch(&mut mesh, pens.hatch);
            }
        }
        mesh
    }

    /// Which pieces carry a hatch line.
    fn hatches(&self, looks: &[Look], width: f32) -> Vec<bool> {
        let mut since = 0.5 * HATCH;
        let mut marked = vec![false; self.slices.len()];
        if width < ACROSS[0] {
            return marked;
        }
        for i in 1..self.slices.len() {
            since += self.slices[i].centre.distance(self.slices[i - 1].centre);
            if since >= HATCH {
                since = 0.0;
                marked[i] = !looks[i].over.is_empty();
            }
        }
        marked
    }

    /// The same band pressed flat onto the plane of the islands, in one colour: its shadow.
    pub(super) fn shadow(
        points: &[FormPoint],
        width_um: f64,
        camera: &Camera,
        sheet: &Sheet,
        colour: Color32,
    ) -> Mesh {
        let flat: Vec<FormPoint> = points
            .iter()
            .map(|p| FormPoint {
                position_um: [p.position_um[0], p.position_um[1], 0.0],
                across: [p.across[0], p.across[1], 0.0],
                ..*p
            })
            .collect();
        let solid = Self::new(&flat, width_um, camera, sheet);
        let mut mesh = Mesh::default();
        for (i, slice) in solid.slices.iter().enumerate() {
            // Never thinner than a line.
            let half = if slice.half.length() < LINE { vec2(0.0, LINE) } else { slice.half };
            mesh.colored_vertex(slice.centre - half, colour);
            mesh.colored_vertex(slice.centre + half, colour);
            if i > 0 {
                let n = 2 * i as u32;
                mesh.add_triangle(n - 2, n - 1, n);
                mesh.add_triangle(n - 1, n, n + 1);
            }
        }
        mesh
    }

    /// The place nearest to `at` and its distance on the screen, points.
    pub(super) fn nearest(&self, at: Pos2) -> Option<(FormPoint, f32)> {
        self.slices
            .windows(2)
            .map(|pair| {
                let [a, b] = [&pair[0], &pair[1]];
                let way = b.centre - a.centre;
                let share = if way.length_sq() > 0.0 {
                    ((at - a.centre).dot(way) / way.length_sq()).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                let place = if share < 0.5 { a } else { b };
                let beside = (at - (a.centre + share * way)).length() - place.half.length();
                (place.point, beside)
            })
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(point, beside)| (point, beside.max(0.0)))
    }

    /// Where the distance `s_um` along the ribbon lies on the screen, `side` of half a width beside the centre.
    pub(super) fn place(&self, s_um: f64, side: f32) -> Option<Pos2> {
        let i = self.slices.partition_point(|s| s.point.s_um < s_um).min(self.slices.len().checked_sub(1)?);
        let to = &self.slices[i];
        let from = &self.slices[i.saturating_sub(1)];
        let gap = to.point.s_um - from.point.s_um;
        let share = if gap > 0.0 { ((s_um - from.point.s_um) / gap).clamp(0.0, 1.0) as f32 } else { 1.0 };
        let centre = from.centre + share * (to.centre - from.centre);
        Some(centre + side * (from.half + share * (to.half - from.half)))
    }
}

/// A place between the second and the third of four neighbours: a cubic through them, the rest straight.
fn filled(around: &[FormPoint; 4], u: f64) -> FormPoint {
    let [before, from, to, after] = around;
    let spacing = [from.s_um - before.s_um, to.s_um - from.s_um, after.s_um - to.s_um];
    let tangent = |i: usize, at_end: bool| {
        let (a, b, ds) = if at_end {
            (from.position_um[i], after.position_um[i], spacing[1] + spacing[2])
        } else {
            (before.position_um[i], to.position_um[i], spacing[0] + spacing[1])
        };
        if ds > 0.0 { (b - a) / ds * spacing[1] } else { 0.0 }
    };
    let (u2, u3) = (u * u, u * u * u);
    let place = |i: usize| {
        (2.0 * u3 - 3.0 * u2 + 1.0) * from.position_um[i]
            + (u3 - 2.0 * u2 + u) * tangent(i, false)
            + (3.0 * u2 - 2.0 * u3) * to.position_um[i]
            + (u3 - u2) * tangent(i, true)
    };
    let mix = |a: f64, b: f64| a + u * (b - a);
    FormPoint {
        s_um: mix(from.s_um, to.s_um),
        position_um: [place(0), place(1), place(2)],
        across: [0, 1, 2].map(|i| mix(from.across[i], to.across[i])),
        axial_strain: mix(from.axial_strain, to.axial_strain),
        left_strain: mix(from.left_strain, to.left_strain),
        right_strain: mix(from.right_strain, to.right_strain),
        loss_db_per_cm: mix(from.loss_db_per_cm, to.loss_db_per_cm),
        ..*from
    }
}

/// The terms in which [`Ink`] reads a place.
pub(super) fn station(point: &FormPoint) -> Station {
    Station {
        x_um: point.position_um[0],
        y_um: point.position_um[1],
        normal: [0.0, 1.0],
        strain: [point.left_strain, point.axial_strain, point.right_strain],
        loss_db_per_cm: point.loss_db_per_cm,
    }
}

/// Colours of a slice from the right edge to the left, and where it sees more than allowed.
struct Look {
    colours: Vec<Color32>,
    over: Vec<[f64; 2]>,
}

impl Look {
    fn new(slice: &Slice, ink: &Ink, rows: usize, detail: f64) -> Self {
        let station = station(&slice.point);
        let colours = (0..rows)
            .map(|row| {
                let side = 2.0 * row as f64 / (rows - 1).max(1) as f64 - 1.0;
                ink.colour(&station, side, &ink.lane_at(side), 1.0, detail)
            })
            .collect();
        Self { colours, over: ink.over(&station, 1.0) }
    }
}

struct Piece<'a> {
    from: &'a Slice,
    to: &'a Slice,
    looks: [&'a Look; 2],
}

impl Piece<'_> {
    /// Whether the under side is seen.
    fn is_under(&self) -> bool {
        let way = self.to.centre - self.from.centre;
        let half = self.from.half + self.to.half;
        way.x * half.y - way.y * half.x > 0.0
    }

    fn add_face(&self, mesh: &mut Mesh, rows: usize) {
        let base = mesh.vertices.len() as u32;
        let is_under = self.is_under();
        for (slice, look) in [(self.from, self.looks[0]), (self.to, self.looks[1])] {
            for (row, colour) in look.colours.iter().enumerate() {
                let side = 2.0 * row as f32 / (rows - 1).max(1) as f32 - 1.0;
                let colour = if is_under { colour.lerp_to_gamma(Color32::BLACK, SHADE) } else { *colour };
                mesh.colored_vertex(slice.centre + side * slice.half, colour);
            }
        }
        let rows = rows as u32;
        for row in 0..rows - 1 {
            let corner = base + row;
            mesh.add_triangle(corner, corner + 1, corner + rows);
            mesh.add_triangle(corner + 1, corner + rows, corner + rows + 1);
        }
    }

    fn add_edges(&self, mesh: &mut Mesh, pens: Pens) {
        for side in [-1.0, 1.0] {
            let is_over = self.looks.iter().all(|look| {
                look.over.iter().any(|part| if side > 0.0 { part[1] > 0.0 } else { part[0] < 0.0 })
            });
            let (colour, half) = if is_over { (pens.mark, MARK) } else { (pens.line, LINE) };
            let ends = [self.from, self.to].map(|s| s.centre + side * s.half);
            add_line(mesh, ends, colour, half);
        }
    }

    fn add_hatch(&self, mesh: &mut Mesh, colour: Color32) {
        for [right, left] in &self.looks[1].over {
            let at = |side: f64| self.to.centre + side as f32 * self.to.half;
            add_line(mesh, [at(*right), at(*left)], colour, LINE);
        }
    }
}

/// A line with soft edges, as part of a mesh: so it is covered by what is nearer.
pub(super) fn add_line(mesh: &mut Mesh, [from, to]: [Pos2; 2], colour: Color32, half: f32) {
    let way = to - from;
    let length = way.length();
    if length <= 0.0 || !length.is_finite() {
        return;
    }
    let beside = way.rot90() / length * (half + 0.5);
    let base = mesh.vertices.len() as u32;
    for end in [from, to] {
        mesh.colored_vertex(end - beside, Color32::TRANSPARENT);
        mesh.colored_vertex(end, colour);
        mesh.colored_vertex(end + beside, Color32::TRANSPARENT);
    }
    for row in 0..2 {
        let corner = base + row;
        mesh.add_triangle(corner, corner + 1, corner + 3);
        mesh.add_triangle(corner + 1, corner + 3, corner + 4);
    }
}

/// A rectangle's corners in space as a polygon on the screen.
pub(super) fn polygon(corners: [[f64; 3]; 4], camera: &Camera, sheet: &Sheet) -> Vec<Pos2> {
    corners
        .iter()
        .map(|corner| {
            let [u, v] = camera.sheet(*corner);
            sheet.pos(u, v)
        })
        .collect()
}
