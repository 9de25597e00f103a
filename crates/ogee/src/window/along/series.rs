//! The curves of the plot along the ribbon: one period, its repeats and the ends, ready to be thinned for a screen.

use ogee_design::{PeriodState, RibbonForm, RibbonPoint};

/// What is plotted against the distance along the ribbon.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(super) enum Quantity {
    /// Strain of the inner and the outer edge at the shown stretch, %.
    #[default]
    Strain,
    /// Curvature at the shown stretch and at rest, 1/mm.
    Curvature,
    /// Loss per length at the shown stretch and at rest, dB/cm.
    Loss,
}

impl Quantity {
    /// All quantities, in the order of the switch.
    pub(super) const ALL: [Self; 3] = [Self::Strain, Self::Curvature, Self::Loss];

    /// The word of the switch.
    pub(super) fn label(self) -> &'static str {
        match self {
            Self::Strain => "strain",
            Self::Curvature => "curvature",
            Self::Loss => "loss",
        }
    }

    /// Unit of the plotted numbers.
    pub(super) fn unit(self) -> &'static str {
        match self {
            Self::Strain => "%",
            Self::Curvature => "1/mm",
            Self::Loss => "dB/cm",
        }
    }

    /// Names of the two curves.
    pub(super) fn curves(self) -> [&'static str; 2] {
        match self {
            Self::Strain => ["inner edge", "outer edge"],
            Self::Curvature | Self::Loss => ["stretched", "at rest"],
        }
    }
}

/// Which edge lies on the inside of a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Inner {
    /// The left edge: the ribbon turns counter-clockwise.
    Left,
    /// The right edge: the ribbon turns clockwise.
    Right,
}

impl Inner {
    /// Words for the inner and the outer edge.
    pub(super) fn words(self) -> [&'static str; 2] {
        match self {
            Self::Left => ["inner (left) edge", "outer (right) edge"],
            Self::Right => ["inner (right) edge", "outer (left) edge"],
        }
    }
}

/// One point of both curves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sample {
    /// Distance along the ribbon at rest, µm.
    pub(super) s_um: f64,
    /// The values of the two curves, in the quantity's unit.
    pub(super) values: [f64; 2],
    /// Which edge is the inner one here.
    pub(super) inner: Inner,
}

/// Both curves over the whole ribbon.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Series {
    /// What is plotted.
    pub(super) quantity: Quantity,
    start: Vec<Sample>,
    period: Vec<Sample>,
    end: Vec<Sample>,
    first_um: f64,
    period_um: f64,
    periods: u32,
    length_um: f64,
    /// The same quantity by the periodic cell, beside that of a whole ribbon.
    beside: Option<Box<Series>>,
    is_whole: bool,
}

/// The curves as a screen needs them.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Trace {
    /// Chains of points, drawn as lines.
    pub(super) lines: Vec<Vec<Sample>>,
    /// Where single periods can no longer be told apart: from, to, and the least and greatest of both curves there.
    pub(super) bands: Vec<Band>,
}

/// A stretch of the ribbon over which the curves fill a band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Band {
    /// Where it begins and ends, µm along the ribbon.
    pub(super) s_um: [f64; 2],
    /// Least and greatest value of each curve.
    pub(super) extremes: [[f64; 2]; 2],
}

/// Which edge is the inner one at each point: by the curvature at rest, on straight parts by the nearest bend.
pub(super) fn inner_edges(chain: &[RibbonPoint]) -> Vec<Inner> {
    let largest = chain.iter().map(|p| p.kappa_rest_per_um.abs()).fold(0.0, f64::max);
    let sign =
        |p: &RibbonPoint| (p.kappa_rest_per_um.abs() > 1e-6 * largest).then_some(p.kappa_rest_per_um > 0.0);
    let bends: Vec<(f64, bool)> =
        chain.iter().filter_map(|p| sign(p).map(|is_left| (p.s_um, is_left))).collect();
    chain
        .iter()
        .map(|p| {
            let is_left = sign(p).unwrap_or_else(|| {
                let after = bends.partition_point(|(s, _)| *s < p.s_um);
                let before = after.checked_sub(1).and_then(|i| bends.get(i));
                match (before, bends.get(after)) {
                    (Some(b), Some(a)) => {
                        if p.s_um - b.0 <= a.0 - p.s_um {
                            b.1
                        } else {
                            a.1
                        }
                    }
                    (Some(only), None) | (None, Some(only)) => only.1,
                    (None, None) => true,
                }
            });
            if is_left { Inner::Left } else { Inner::Right }
        })
        .collect()
}

impl Series {
    /// The curves of `quantity` at the stretch of `state`; `rest` is the same ribbon at rest, for the second curve.
    pub(super) fn new(quantity: Quantity, state: &PeriodState, rest: Option<&PeriodState>) -> Self {
        let samples = |chain: &[RibbonPoint], rest_at: &dyn Fn(usize, f64) -> f64| -> Vec<Sample> {
            let inner = inner_edges(chain);
            let values = |i: usize, p: &RibbonPoint| match quantity {
                Quantity::Strain => {
                    let edges = [100.0 * p.left_strain, 100.0 * p.right_strain];
                    if inner[i] == Inner::Left { edges } else { [edges[1], edges[0]] }
                }
                Quantity::Curvature => [1e3 * p.kappa_per_um, 1e3 * p.kappa_rest_per_um],
                Quantity::Loss => [p.loss_db_per_cm, rest_at(i, p.loss_db_per_cm)],
            };
            chain
                .iter()
                .enumerate()
                .map(|(i, p)| Sample { s_um: p.s_um, values: values(i, p), inner: inner[i] })
                .collect()
        };
        let from_rest = |part: fn(&PeriodState) -> &[RibbonPoint]| {
            move |i: usize, otherwise: f64| {
                rest.and_then(|r| part(r).get(i)).map_or(otherwise, |p| p.loss_db_per_cm)
            }
        };
        let (first_um, _) = state.period_origin(0);
        let (last_um, _) = state.period_origin(state.whole_periods);
        Self {
            quantity,
            start: samples(&state.start, &from_rest(|r| &r.start)),
            period: samples(&state.period, &from_rest(|r| &r.period)),
            end: samples(&state.end, &from_rest(|r| &r.end)),
            first_um,
            period_um: state.period_contour_um,
            periods: state.whole_periods,
            length_um: state.end.last().map_or(last_um, |p| p.s_um),
            beside: None,
            is_whole: false,
        }
    }

    /// The curves of a whole ribbon; `rest` is the same ribbon at rest, `cell` its periodic estimate.
    pub(super) fn whole(
        quantity: Quantity,
        form: &RibbonForm,
        rest: Option<&RibbonForm>,
        cell: Option<Self>,
    ) -> Self {
        let bends: Vec<RibbonPoint> = form
            .points
            .iter()
            .map(|p| RibbonPoint {
                s_um: p.s_um,
                kappa_rest_per_um: p.rest_curvature_per_um,
                ..RibbonPoint::default()
            })
            .collect();
        let inner = inner_edges(&bends);
        let rest_loss = |i: usize, otherwise: f64| {
            rest.and_then(|r| r.points.get(i)).map_or(otherwise, |p| p.loss_db_per_cm)
        };
        let sample = |(i, p): (usize, &ogee_design::FormPoint)| {
            let edges = [100.0 * p.left_strain, 100.0 * p.right_strain];
            let values = match quantity {
                Quantity::Strain if inner[i] == Inner::Left => edges,
                Quantity::Strain => [edges[1], edges[0]],
                Quantity::Curvature => [1e3 * p.curvature_in_per_um, 1e3 * p.curvature_out_per_um],
                Quantity::Loss => [p.loss_db_per_cm, rest_loss(i, p.loss_db_per_cm)],
            };
            Sample { s_um: p.s_um, values, inner: inner[i] }
        };
        let start: Vec<Sample> = form.points.iter().enumerate().map(sample).collect();
        let length_um = start.last().map_or(0.0, |p| p.s_um);
        Self {
            quantity,
            start,
            period: Vec::new(),
            end: Vec::new(),
            first_um: length_um,
            period_um: length_um.max(1e-9),
            periods: 0,
            length_um,
            beside: cell.map(Box::new),
            is_whole: true,
        }
    }

    /// The periodic estimate beside the curves of a whole ribbon.
    pub(super) fn beside(&self) -> Option<&Self> {
        self.beside.as_deref()
    }

    /// Whether the curves are those of the whole ribbon, not of one period repeated.
    pub(super) fn is_whole(&self) -> bool {
        self.is_whole
    }

    /// Names of the two curves.
    pub(super) fn curves(&self) -> [&'static str; 2] {
        match self.quantity {
            Quantity::Curvature if self.is_whole => ["in plane", "out of plane"],
            quantity => quantity.curves(),
        }
    }

    /// Length of the ribbon along its centreline at rest, µm.
    pub(super) fn length_um(&self) -> f64 {
        self.length_um
    }

    /// Number of periods that repeat.
    pub(super) fn periods(&self) -> u32 {
        self.periods
    }

    /// Least and greatest value of both curves; `None` without any point.
    pub(super) fn extremes(&self) -> Option<[f64; 2]> {
        let beside = self.beside().and_then(Self::extremes);
        let all =
            self.start.iter().chain(&self.end).chain(if self.periods > 0 { &self.period[..] } else { &[] });
        extremes(all.flat_map(|p| p.values).chain(beside.into_iter().flatten()))
    }

    /// Whether single periods can no longer be told apart on a screen that shows `um_per_point` of `shown_um`.
    pub(super) fn blends(&self, um_per_point: f64, shown_um: [f64; 2]) -> bool {
        /// Screen points below which a period is no longer drawn as a curve.
        const LEAST_PERIOD: f64 = 7.0;
        let repeats_end = self.first_um + f64::from(self.periods) * self.period_um;
        let is_seen = self.periods > 0 && shown_um[0] < repeats_end && shown_um[1] > self.first_um;
        is_seen && self.period_um < LEAST_PERIOD * um_per_point
    }

    /// The curves from `from_um` to `to_um` for a screen that shows `um_per_point`.
    pub(super) fn trace(&self, from_um: f64, to_um: f64, um_per_point: f64) -> Trace {
        let mut trace = Trace::default();
        let is_start_seen = self.start.last().is_some_and(|p| p.s_um >= from_um);
        let mut line =
            if is_start_seen { thinned(&self.start, from_um, to_um, um_per_point) } else { Vec::new() };
        let repeats_end = self.first_um + f64::from(self.periods) * self.period_um;
        if self.periods > 0 && from_um < repeats_end && to_um > self.first_um {
            let number = |s: f64| {
                (((s - self.first_um) / self.period_um).floor().max(0.0) as u32).min(self.periods - 1)
            };
            let (first, last) = (number(from_um), number(to_um));
            if self.blends(um_per_point, [from_um, to_um]) {
                trace.lines.push(std::mem::take(&mut line));
                let curve =
                    |i: usize| extremes(self.period.iter().map(|p| p.values[i])).unwrap_or([0.0, 0.0]);
                trace.bands.push(Band {
                    s_um: [self.first_um.max(from_um), repeats_end.min(to_um)],
                    extremes: [curve(0), curve(1)],
                });
            } else {
                if first > 0 {
                    trace.lines.push(std::mem::take(&mut line));
                }
                let stride = self.stride(um_per_point);
                for k in first..=last {
                    let s0 = self.first_um + f64::from(k) * self.period_um;
                    self.append_period(&mut line, s0, stride);
                }
                if last + 1 < self.periods {
                    trace.lines.push(std::mem::take(&mut line));
                }
            }
        }
        if self.end.first().is_some_and(|p| p.s_um <= to_um) {
            line.extend(&self.end);
        }
        trace.lines.push(line);
        trace.lines.retain(|l| l.len() > 1);
        trace
    }

    /// Every how many points of the period are needed when neighbours should be about a screen point apart.
    fn stride(&self, um_per_point: f64) -> usize {
        let spacing = self.period_um / self.period.len().max(1) as f64;
        ((0.8 * um_per_point / spacing.max(1e-12)) as usize).max(1)
    }

    fn append_period(&self, line: &mut Vec<Sample>, s0: f64, stride: usize) {
        let last = self.period.len().saturating_sub(1);
        // Crossings and crests are quarters of the list: a stride that divides a quarter keeps the peaks.
        let quarter = (last / 4).max(1);
        let stride = (1..=stride).rev().find(|s| quarter.is_multiple_of(*s)).unwrap_or(1);
        for (i, p) in self.period.iter().enumerate() {
            let (a, b) = (self.period[i.saturating_sub(1)], self.period[(i + 1).min(last)]);
            // Both sides of a jump stay whatever the stride.
            let is_jump = (b.s_um == p.s_um && i < last) || (a.s_um == p.s_um && i > 0);
            if i % stride == 0 || i == last || is_jump {
                line.push(Sample { s_um: s0 + p.s_um, ..*p });
            }
        }
    }

    /// Both curves at a place, interpolated.
    pub(super) fn at(&self, s_um: f64) -> Option<Sample> {
        let repeats_end = self.first_um + f64::from(self.periods) * self.period_um;
        if s_um < self.first_um && !self.start.is_empty() {
            return interpolate(&self.start, s_um);
        }
        if self.periods > 0 && s_um <= repeats_end {
            let k = ((s_um - self.first_um) / self.period_um).floor().clamp(0.0, f64::from(self.periods - 1));
            let s0 = self.first_um + k * self.period_um;
            return interpolate(&self.period, s_um - s0).map(|p| Sample { s_um, ..p });
        }
        interpolate(if self.end.is_empty() { &self.start } else { &self.end }, s_um)
    }

    /// The curves as a table, tabs between columns: at most `most_periods` of the repeated periods.
    pub(super) fn table(&self, most_periods: u32) -> String {
        let unit = self.quantity.unit();
        let mut text = if self.quantity == Quantity::Strain {
            "along (µm)\tinner edge (%)\touter edge (%)\tinner edge is\n".to_owned()
        } else {
            let [a, b] = self.curves();
            format!("along (µm)\t{q}, {a} ({unit})\t{q}, {b} ({unit})\n", q = self.quantity.label())
        };
        let mut row = |s_um: f64, p: &Sample| {
            let numbers = [s_um, p.values[0], p.values[1]].map(shortest);
            text.push_str(&numbers.join("\t"));
            if self.quantity == Quantity::Strain {
                text.push_str(if p.inner == Inner::Left { "\tleft" } else { "\tright" });
            }
            text.push('\n');
        };
        for p in &self.start {
            row(p.s_um, p);
        }
        for k in 0..self.periods.min(most_periods) {
            let s0 = self.first_um + f64::from(k) * self.period_um;
            for p in &self.period {
                row(s0 + p.s_um, p);
            }
        }
        for p in &self.end {
            row(p.s_um, p);
        }
        text
    }
}

/// The part of a chain that is seen, with the extremes of both curves for every screen point.
fn thinned(chain: &[Sample], from_um: f64, to_um: f64, um_per_point: f64) -> Vec<Sample> {
    // One point on either side of the part that is seen, so that lines run out of it.
    let first = chain.partition_point(|p| p.s_um < from_um).saturating_sub(1);
    let last = (chain.partition_point(|p| p.s_um <= to_um) + 1).min(chain.len());
    let seen = chain.get(first..last).unwrap_or(&[]);
    let bucket = |p: &Sample| (p.s_um / um_per_point.max(1e-12)).floor();
    let mut thin = Vec::new();
    for group in seen.chunk_by(|a, b| bucket(a) == bucket(b)) {
        if group.len() <= 4 {
            thin.extend_from_slice(group);
            continue;
        }
        let mut kept = vec![0, group.len() - 1];
        for i in 0..2 {
            let by = |a: &usize, b: &usize| group[*a].values[i].total_cmp(&group[*b].values[i]);
            kept.extend((0..group.len()).min_by(by));
            kept.extend((0..group.len()).max_by(by));
        }
        kept.sort_unstable();
        kept.dedup();
        thin.extend(kept.into_iter().map(|k| group[k]));
    }
    thin
}

/// Seven digits: enough for any plot, without the noise of the last ones.
fn shortest(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let rounded: f64 = format!("{value:.6e}").parse().unwrap_or(value);
    rounded.to_string()
}

fn extremes(values: impl Iterator<Item = f64>) -> Option<[f64; 2]> {
    values.filter(|v| v.is_finite()).fold(None, |range, v| match range {
        None => Some([v, v]),
        Some([low, high]) => Some([f64::min(low, v), f64::max(high, v)]),
    })
}

fn interpolate(chain: &[Sample], s_um: f64) -> Option<Sample> {
    let i = chain.partition_point(|p| p.s_um < s_um);
    match (i.checked_sub(1).and_then(|j| chain.get(j)), chain.get(i)) {
        (Some(a), Some(b)) if b.s_um > a.s_um => {
            let t = (s_um - a.s_um) / (b.s_um - a.s_um);
            let mix = |k: usize| a.values[k] + t * (b.values[k] - a.values[k]);
            Some(Sample { s_um, values: [mix(0), mix(1)], inner: if t < 0.5 { a.inner } else { b.inner } })
        }
        (_, Some(p)) | (Some(p), None) => Some(Sample { s_um, ..*p }),
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// κ = −κ₀ sin(2πs/L): right turn first, as a meander from its crossing; strain of the inner edge is |sin|.
    fn state(periods: u32, stretch: f64) -> PeriodState {
        let point = |s_um: f64| {
            let wave = (TAU * s_um / 1000.0).sin();
            RibbonPoint {
                s_um,
                kappa_rest_per_um: -0.01 * wave,
                kappa_per_um: -0.01 * wave * (1.0 - stretch),
                left_strain: -0.01 * stretch * wave,
                right_strain: 0.01 * stretch * wave,
                loss_db_per_cm: 1.0 + stretch * wave.abs(),
                ..RibbonPoint::default()
            }
        };
        let lead = |s: f64| RibbonPoint { s_um: s, loss_db_per_cm: 1.0, ..RibbonPoint::default() };
        let end = 100.0 + 1000.0 * f64::from(periods);
        PeriodState {
            stretch,
            cell_stretch: stretch,
            period: (0..=192).map(|i| point(1000.0 * f64::from(i) / 192.0)).collect(),
            pitch_um: 500.0,
            period_contour_um: 1000.0,
            start: vec![lead(0.0), lead(100.0)],
            end: vec![lead(end), lead(end + 100.0)],
            first_period_x_um: 100.0,
            first_period_s_um: 100.0,
            whole_periods: periods,
            span_um: 700.0,
            amplitude_um: 100.0,
        }
    }

    #[test]
    fn inner_edge_is_on_the_side_to_which_the_ribbon_turns() {
        let state = state(1, 0.5);
        let series = Series::new(Quantity::Strain, &state, None);
        let first = series.at(100.0 + 250.0).unwrap();
        assert_eq!(first.inner, Inner::Right, "a clockwise bend has its right edge inside");
        assert!((first.values[0] - 0.5).abs() < 1e-6 && (first.values[1] + 0.5).abs() < 1e-6, "{first:?}");
        let second = series.at(100.0 + 750.0).unwrap();
        assert_eq!(second.inner, Inner::Left);
        assert!((second.values[0] - 0.5).abs() < 1e-6, "{second:?}");
        assert_eq!(series.length_um(), 1200.0);
    }

    #[test]
    fn a_straight_arm_belongs_to_the_nearer_bend() {
        let point = |s_um: f64, kappa_rest_per_um: f64| RibbonPoint {
            s_um,
            kappa_rest_per_um,
            ..RibbonPoint::default()
        };
        let chain = [point(0.0, -0.1), point(1.0, 0.0), point(2.0, 0.0), point(3.0, 0.1)];
        assert_eq!(inner_edges(&chain), [Inner::Right, Inner::Right, Inner::Left, Inner::Left]);
        assert_eq!(inner_edges(&[point(0.0, 0.0)]), [Inner::Left]);
    }

    #[test]
    fn few_periods_are_lines_and_many_are_a_band() {
        let few = Series::new(Quantity::Strain, &state(4, 0.5), None);
        let trace = few.trace(0.0, few.length_um(), few.length_um() / 300.0);
        assert!(trace.bands.is_empty());
        assert_eq!(trace.lines.len(), 1, "one chain from end to end");
        let line = &trace.lines[0];
        assert!(line.len() > 200 && line.len() < 4 * 193 + 8, "{}", line.len());
        let peak = line.iter().map(|p| p.values[0]).fold(0.0, f64::max);
        assert!((peak - 0.5).abs() < 1e-9, "thinning keeps the peak: {peak}");

        let many = Series::new(Quantity::Strain, &state(10_000, 0.5), None);
        let trace = many.trace(0.0, many.length_um(), many.length_um() / 300.0);
        assert_eq!(trace.bands.len(), 1);
        let band = trace.bands[0];
        assert_eq!(band.s_um, [100.0, 10_000_100.0]);
        assert!((band.extremes[0][1] - 0.5).abs() < 1e-9 && band.extremes[0][0].abs() < 1e-9);
        assert!((band.extremes[1][0] + 0.5).abs() < 1e-9);

        let zoomed = many.trace(5_000_000.0, 5_003_000.0, 10.0);
        assert!(zoomed.bands.is_empty());
        assert!(zoomed.lines.iter().map(Vec::len).sum::<usize>() < 5 * 200);
        let (first, last) = (zoomed.lines[0][0].s_um, zoomed.lines[0].last().unwrap().s_um);
        assert!(first <= 5_000_000.0 && last >= 5_003_000.0, "{first} {last}");
    }

    #[test]
    fn rest_stands_beside_the_stretched_curve() {
        let (stretched, rest) = (state(2, 0.5), state(2, 0.0));
        let loss = Series::new(Quantity::Loss, &stretched, Some(&rest));
        let crest = loss.at(100.0 + 250.0).unwrap();
        assert!((crest.values[0] - 1.5).abs() < 1e-9 && (crest.values[1] - 1.0).abs() < 1e-9);
        let curvature = Series::new(Quantity::Curvature, &stretched, Some(&rest));
        let crest = curvature.at(100.0 + 250.0).unwrap();
        assert!((crest.values[0] + 5.0).abs() < 1e-6 && (crest.values[1] + 10.0).abs() < 1e-6, "{crest:?}");
    }

    #[test]
    fn table_has_units_and_every_row_the_same_columns() {
        let series = Series::new(Quantity::Strain, &state(3, 0.5), None);
        let table = series.table(2);
        let mut lines = table.lines();
        assert_eq!(lines.next(), Some("along (µm)\tinner edge (%)\touter edge (%)\tinner edge is"));
        let rows: Vec<Vec<&str>> = lines.map(|l| l.split('\t').collect()).collect();
        assert_eq!(rows.len(), 2 + 2 * 193 + 2);
        assert!(rows.iter().all(|r| r.len() == 4 && r[..3].iter().all(|c| c.parse::<f64>().is_ok())));
        assert_eq!(shortest(0.1 + 0.2), "0.3");
    }
}
