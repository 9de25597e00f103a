//! From the raw figures of an evaluation to the list of margins.
//!
//! A new check is one entry in [`margins`].

use crate::checked::Checked;
use crate::evaluate::{Evaluated, Words, cutoff};
use crate::result::{Margin, Place};
use crate::text::number;

/// Most that a margin is shown as: beyond it the limit plays no part.
pub(crate) const LARGEST_MARGIN: f64 = 1e6;

/// What a margin is made of.
pub(crate) struct Check<'a> {
    pub(crate) id: &'a str,
    pub(crate) name: String,
    pub(crate) value: Option<f64>,
    pub(crate) limit: f64,
    pub(crate) unit: &'a str,
    pub(crate) more_is_better: bool,
    pub(crate) place: Place,
    pub(crate) model: String,
    pub(crate) formula: &'a str,
    pub(crate) source: &'a str,
    pub(crate) why_absent: Option<String>,
}

impl Check<'_> {
    /// The margin that it comes to.
    pub(crate) fn margin(self) -> Margin {
        let margin = self.value.map(|value| {
            let ratio = if self.more_is_better { value / self.limit } else { self.limit / value.max(0.0) };
            // A vanishing value gives an endless margin; a negative one where more is better gives none.
            if ratio.is_nan() { 0.0 } else { ratio.clamp(0.0, LARGEST_MARGIN) }
        });
        Margin {
            id: self.id.to_owned(),
            name: self.name,
            passes: margin.is_some_and(|m| m >= 1.0),
            margin,
            why_absent: self.why_absent,
            value: self.value,
            limit: self.limit,
            unit: self.unit.to_owned(),
            more_is_better: self.more_is_better,
            place: self.place,
            model: self.model,
            formula: self.formula.to_owned(),
            source: self.source.to_owned(),
            sensitivities: Vec::new(),
        }
    }
}

const CELL_SOURCE: &str = "exact planar curved beam, derived in the documentation of ogee-mechanics; \
    the energy of the curved bar is that of Winkler and Bach";
const BEND_SOURCE: &str = "bent-slab mode equation (Heiblum and Harris 1975; Hiremath et al. 2005) on an \
    effective-index slab";
const SHAPE_SOURCE: &str = "closed form of the family, documentation of ogee-geometry";

/// All margins of a design, in the order of the checks.
pub(crate) fn margins(checked: &Checked, evaluated: &Evaluated, words: &Words) -> Vec<Margin> {
    let design = checked.design();
    let target = format!("{} %", number(design.duty.target_stretch_percent));
    let strain_model = evaluated.strain_model();
    let strain_source = evaluated.deeper.as_ref().map_or(CELL_SOURCE, |d| d.source);
    let mut list = Vec::new();

    let (used, layer) = evaluated.figures.strain.used;
    let allowable = checked.layers().get(layer).map_or(f64::MAX, |l| l.allowable_strain);
    list.push(
        Check {
            id: "strain-at-target",
            name: format!("Strain at {target}"),
            value: Some(100.0 * used * allowable),
            limit: 100.0 * allowable,
            unit: "%",
            more_is_better: false,
            place: words.tension.clone(),
            model: strain_model.clone(),
            formula: "allowable strain of the layer, less what the process leaves in it ÷ its peak tensile strain at the \
                target stretch (ends included)",
            source: strain_source,
            why_absent: None,
        }
        .margin(),
    );
    if let Some((used, layer)) = evaluated.figures.strain.compressed {
        let allowable = checked.layers().get(layer).and_then(|l| l.allowable_compression).unwrap_or(f64::MAX);
        list.push(
            Check {
                id: "compression-at-target",
                name: format!("Compression at {target}"),
                value: Some(100.0 * used * allowable),
                limit: 100.0 * allowable,
                unit: "%",
                more_is_better: false,
                place: words.compression.clone(),
                model: strain_model.clone(),
                formula: "allowable compressive strain of the layer, less what the process leaves in it ÷ its peak \
                    compressive strain at the target stretch",
                source: strain_source,
                why_absent: None,
            }
            .margin(),
        );
    }
    let reserve_absent = evaluated.allowable_stretch.is_none().then(|| match &evaluated.deeper {
        Some(deeper) => {
            let far = number(100.0 * deeper.searched_to);
            format!("no layer reaches its allowable strain up to the {far} % to which the ribbon was followed")
        }
        None => "no layer reaches its allowable strain within the stretches searched (to twice the contour length)"
            .to_owned(),
    });
    list.push(Margin {
        // Out of reach is better than any number.
        passes: evaluated.allowable_stretch.is_none_or(|s| s >= checked.target_stretch()),
        ..Check {
            id: "stretch-reserve",
            name: "Stretch reserve".to_owned(),
            value: evaluated.allowable_stretch.map(|s| s * 100.0),
            limit: design.duty.target_stretch_percent,
            unit: "%",
            more_is_better: true,
            place: words.allowable.clone(),
            model: strain_model,
            formula: "stretch at which a layer reaches its allowable strain ÷ target stretch",
            source: strain_source,
            why_absent: reserve_absent,
        }
        .margin()
    });
    if let Some(light) = checked.light() {
        let losses = [
            (
                "insertion-loss-at-rest",
                "Insertion loss at rest".to_owned(),
                evaluated.loss_rest(),
                &words.loss_rest,
            ),
            (
                "insertion-loss-stretched",
                format!("Insertion loss at {target}"),
                evaluated.loss_stretched(),
                &words.loss_stretched,
            ),
        ];
        for (id, name, loss, place) in losses {
            list.push(
                Check {
                    id,
                    name,
                    value: loss.map(crate::light::Loss::total_db),
                    limit: light.insertion_loss_limit_db,
                    unit: "dB",
                    more_is_better: false,
                    place: place.clone(),
                    model: evaluated
                        .deeper
                        .as_ref()
                        .and_then(|d| d.loss_model)
                        .unwrap_or("bent mode of the effective-index slab, transitions by overlap (estimate)")
                        .to_owned(),
                    formula: "allowed loss ÷ (bends + curvature jumps + length + ends)",
                    source: BEND_SOURCE,
                    why_absent: evaluated.no_loss.clone(),
                }
                .margin(),
            );
        }
        let (size_over_cutoff, cutoff_words) = cutoff(checked);
        list.push(
            Check {
                id: "single-mode",
                name: "Single-mode".to_owned(),
                value: Some(size_over_cutoff),
                limit: 1.0,
                unit: "",
                more_is_better: false,
                place: Place { words: cutoff_words, ..Place::default() },
                model: "effective-index method".to_owned(),
                formula: "size at which the next mode appears ÷ size of the core, the smaller of width and height",
                source: "slab dispersion relation in its textbook form (Marcuse, Theory of Dielectric Optical \
                    Waveguides)",
                why_absent: None,
            }
            .margin(),
        );
    }
    list.push(
        Check {
            id: "least-radius",
            name: "Least radius".to_owned(),
            value: Some(checked.centreline().least_radius_um()),
            limit: design.limits.least_radius_um,
            unit: "µm",
            more_is_better: true,
            place: words.least_radius.clone(),
            model: "exact geometry".to_owned(),
            formula: "least radius of the centreline ÷ least radius accepted",
            source: SHAPE_SOURCE,
            why_absent: None,
        }
        .margin(),
    );
    list.push(
        Check {
            id: "clearance-at-rest",
            name: "Clearance at rest".to_owned(),
            value: Some(evaluated.gap_rest_um),
            limit: design.limits.clearance_um,
            unit: "µm",
            more_is_better: true,
            place: words.gap_rest.clone(),
            model: "exact geometry".to_owned(),
            formula: "least gap between edges ÷ clearance needed; the gap is twice the centreline's reach minus the \
                width",
            source: SHAPE_SOURCE,
            why_absent: None,
        }
        .margin(),
    );
    list.push(
        Check {
            id: "clearance-stretched",
            name: format!("Clearance at {target}"),
            value: evaluated.figures.gap_stretched_um,
            limit: design.limits.clearance_um,
            unit: "µm",
            more_is_better: true,
            place: words.gap_stretched.clone(),
            model: "planar periodic cell, shape at the target stretch".to_owned(),
            formula: "least gap between edges of the stretched ribbon ÷ clearance needed",
            source: SHAPE_SOURCE,
            why_absent: None,
        }
        .margin(),
    );
    list.push(
        Check {
            id: "fits-the-span",
            name: "Fits the span".to_owned(),
            value: Some(checked.centreline().span_um() / 1000.0),
            limit: design.limits.span_um / 1000.0,
            unit: "mm",
            more_is_better: false,
            place: Place { words: "from island to island".to_owned(), ..Place::default() },
            model: "exact geometry".to_owned(),
            formula: "room between the islands ÷ end-to-end length at rest",
            source: SHAPE_SOURCE,
            why_absent: None,
        }
        .margin(),
    );
    if let Some(height) = design.limits.height_um {
        list.push(
            Check {
                id: "fits-the-height",
                name: "Fits the height".to_owned(),
                value: Some(checked.centreline().height_um() + checked.width_um()),
                limit: height,
                unit: "µm",
                more_is_better: false,
                place: Place { words: "crest to trough, edge to edge".to_owned(), ..Place::default() },
                model: "exact geometry".to_owned(),
                formula: "room across the span ÷ height of the ribbon at rest",
                source: SHAPE_SOURCE,
                why_absent: None,
            }
            .margin(),
        );
    }
    list.extend(room_margins(checked, evaluated));
    list
}

/// Whether the ribbon keeps to the room above and below its plane.
fn room_margins(checked: &Checked, evaluated: &Evaluated) -> Vec<Margin> {
    let limits = &checked.design().limits;
    let target = number(checked.design().duty.target_stretch_percent);
    let rooms = [
        (0, "room-above", "Room above", limits.room_above_um),
        (1, "room-below", "Room below", limits.room_below_um),
    ];
    let room = |(side, id, name, limit): (usize, &'static str, &str, Option<f64>)| {
        let limit = limit?;
        let deeper = evaluated.deeper.as_ref();
        let value = deeper.and_then(|d| d.heights_um).map(|heights| heights[side]);
        let why_absent =
            value.is_none().then(|| "heights come with the full models, for a free ribbon".to_owned());
        Some(Margin {
            // What is not known yet is no failure of the live tier.
            passes: value.is_none_or(|value| value <= limit),
            ..Check {
                id,
                name: format!("{name} at {target} %"),
                value,
                limit,
                unit: "µm",
                more_is_better: false,
                place: Place { words: "where the ribbon is highest or lowest".to_owned(), ..Place::default() },
                model: evaluated.strain_model(),
                formula: "free room ÷ greatest height of the stretched ribbon over or under its plane, faces included",
                source: evaluated.deeper.as_ref().map_or(CELL_SOURCE, |d| d.source),
                why_absent,
            }
            .margin()
        })
    };
    rooms.into_iter().filter_map(room).collect()
}
