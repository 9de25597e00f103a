//! Where things stand on the sheet: the ribbon at rest above, the stretched one below, plates at their ends.

use super::ribbon::Ribbon;
use super::sheet::Extent;
pub(super) use super::sheet::Padding;
use ogee_design::{Checked, PeriodState, RibbonPoint};

/// Space round a fitted drawing: the read-out above, scale bar and legend below.
pub(super) const PADDING: Padding = Padding { sides: 26.0, top: 46.0, bottom: 76.0 };

/// Height of a caption with its space, points at the fitted scale.
const CAPTION: f64 = 38.0;
/// Smallest plate, points at the fitted scale.
const LEAST_PLATE: [f64; 2] = [56.0, 46.0];
/// Share of the height that is left over which goes between the ribbons, and the most of it, points.
const SPREAD: (f64, f64) = (0.5, 70.0);
/// Largest plate, points at the fitted scale.
const LARGEST_PLATE: [f64; 2] = [84.0, 112.0];

/// One ribbon's end on a plate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Plate {
    /// The plate, µm.
    pub extent: Extent,
    /// Where the ribbon meets it, µm.
    pub joint: [f64; 2],
}

/// Where things stand, µm on the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
#[expect(clippy::struct_field_names, reason = "every length carries its unit")]
pub(super) struct Scene {
    /// Midline of the ribbon at rest; handles live in its coordinates, so it is 0.
    pub rest_midline_um: f64,
    /// Midline of the stretched ribbon.
    pub stretched_midline_um: f64,
    /// Width and height of a plate.
    plate_um: [f64; 2],
    /// Half the height that each ribbon takes up with its plates.
    half_height_um: f64,
}

impl Scene {
    /// The arrangement for a canvas `[width, height]` points large.
    ///
    /// It follows from the design at rest and at its target alone, so that it does not move while the
    /// stretch does.
    pub(super) fn new(checked: &Checked, rest: &PeriodState, canvas: [f64; 2]) -> Self {
        let ribbon = Ribbon { state: rest, across: &[], width_um: checked.width_um(), midline_um: 0.0 };
        let reach = ribbon.extent();
        let half_ribbon = reach.high[1].max(-reach.low[1]);
        let span = rest.span_um * (1.0 + checked.target_stretch().max(0.0));
        let free = (canvas[0] - 2.0 * PADDING.sides - 2.0 * LEAST_PLATE[0]).max(60.0);
        let free_height = (canvas[1] - PADDING.top - PADDING.bottom - 2.0 * CAPTION).max(40.0);
        // Points per µm if width decides, or if height does.
        let scale = (free / span).min(free_height / (4.0 * half_ribbon).max(1e-9));
        let plate_height = (1.1 * half_ribbon).clamp(LEAST_PLATE[1] / scale, LARGEST_PLATE[1] / scale);
        let plate_width = (0.74 * plate_height).clamp(LEAST_PLATE[0] / scale, LARGEST_PLATE[0] / scale);
        let end_y = end_points(rest).map(|[_, y]| y.abs()).into_iter().fold(0.0, f64::max);
        let half_height_um = half_ribbon.max(end_y + plate_height / 2.0);
        let left_over = (free_height - 4.0 * half_height_um * scale).max(0.0);
        let gap = CAPTION + (SPREAD.0 * left_over).min(SPREAD.1);
        Self {
            rest_midline_um: 0.0,
            stretched_midline_um: -(2.0 * half_height_um + gap / scale),
            plate_um: [plate_width, plate_height],
            half_height_um,
        }
    }

    /// The plates of a ribbon whose midline lies at `midline_um`.
    pub(super) fn plates(&self, state: &PeriodState, midline_um: f64) -> [Plate; 2] {
        let [width, height] = self.plate_um;
        let [start, end] = end_points(state);
        let plate = |[x, y]: [f64; 2], left: bool| {
            let y = y + midline_um;
            let x0 = if left { x - width } else { x };
            Plate {
                extent: Extent { low: [x0, y - height / 2.0], high: [x0 + width, y + height / 2.0] },
                joint: [x, y],
            }
        };
        [plate(start, true), plate(end, false)]
    }

    /// Width and height of a plate, µm.
    pub(super) fn plate_um(&self) -> [f64; 2] {
        self.plate_um
    }

    /// Lower end of what a ribbon with its plates takes up: where its caption stands.
    pub(super) fn foot_um(&self, midline_um: f64) -> f64 {
        midline_um - self.half_height_um
    }

    /// Left end of the left plates.
    pub(super) fn extent_left(&self) -> f64 {
        -self.plate_um[0]
    }

    /// What has to be seen: both ribbons with their plates; the stretched one at `span_um`.
    pub(super) fn extent(&self, rest: &PeriodState, span_um: f64) -> Extent {
        let right = rest.span_um.max(span_um) + self.plate_um[0];
        Extent {
            low: [-self.plate_um[0], self.stretched_midline_um - self.half_height_um],
            high: [right, self.half_height_um],
        }
    }
}

/// Both ends of a ribbon with its own midline at 0.
pub(super) fn end_points(state: &PeriodState) -> [[f64; 2]; 2] {
    let place = |p: &RibbonPoint| [p.x_um, p.y_um];
    [state.start.first().map_or([0.0, 0.0], place), state.end.last().map_or([state.span_um, 0.0], place)]
}
