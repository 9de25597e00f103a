//! Which lines stand first, and the families of the others.

use ogee_design::Margin;

/// Up to this many lines stand in one list.
const ONE_LIST: usize = 12;
/// Where there are more, at least this many stand first.
const FIRST: usize = 5;

/// What a check is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Family {
    Stretch,
    Light,
    Fit,
    Wrap,
    Heat,
    Life,
    Islands,
    Trace,
}

impl Family {
    /// In the order in which they are listed.
    const ALL: [Self; 8] = [
        Self::Stretch,
        Self::Light,
        Self::Fit,
        Self::Wrap,
        Self::Heat,
        Self::Life,
        Self::Islands,
        Self::Trace,
    ];

    /// Its caption.
    pub(super) fn label(self) -> &'static str {
        match self {
            Self::Stretch => "Stretch",
            Self::Light => "Light",
            Self::Fit => "Fit",
            Self::Wrap => "Wrap",
            Self::Heat => "Heat",
            Self::Life => "Life",
            Self::Islands => "Islands",
            Self::Trace => "Trace",
        }
    }

    /// The family of a check, by what its `id` speaks of.
    pub(super) fn of(id: &str) -> Self {
        /// Words of an `id`, the telling ones first: `residual-strain` is about heat.
        const WORDS: [(&str, Family); 27] = [
            ("wrap", Family::Wrap),
            ("survival", Family::Life),
            ("slow", Family::Life),
            ("cycled", Family::Life),
            ("cycles", Family::Life),
            ("life", Family::Life),
            ("island", Family::Islands),
            ("islands", Family::Islands),
            ("drift", Family::Islands),
            ("ribbon", Family::Islands),
            ("sheet", Family::Islands),
            ("resistance", Family::Trace),
            ("voltage", Family::Trace),
            ("rise", Family::Trace),
            ("trace", Family::Trace),
            ("residual", Family::Heat),
            ("cracking", Family::Heat),
            ("cracks", Family::Heat),
            ("bow", Family::Heat),
            ("parting", Family::Heat),
            ("curl", Family::Heat),
            ("wrinkles", Family::Heat),
            ("loss", Family::Light),
            ("mode", Family::Light),
            ("strain", Family::Stretch),
            ("compression", Family::Stretch),
            ("stretch", Family::Stretch),
        ];
        let word = |word: &str| id.split('-').any(|part| part == word);
        WORDS.iter().find(|(w, _)| word(w)).map_or(Self::Fit, |(_, family)| *family)
    }
}

/// The lines of the panel.
#[derive(Debug)]
pub(super) struct Grouped<'a> {
    /// What fails and what is smallest, in the order given.
    pub(super) first: Vec<&'a Margin>,
    /// The others by family, each in the order given.
    pub(super) rest: Vec<(Family, Vec<&'a Margin>)>,
}

/// Splits a list in which the smallest come first.
pub(super) fn grouped<'a>(margins: &[&'a Margin]) -> Grouped<'a> {
    if margins.len() <= ONE_LIST {
        return Grouped { first: margins.to_vec(), rest: Vec::new() };
    }
    let failing = margins.iter().filter(|m| !m.passes).count();
    let mut passing_first = FIRST.saturating_sub(failing);
    let mut rest: Vec<&Margin> = Vec::new();
    let mut first = Vec::new();
    for margin in margins {
        if !margin.passes {
            first.push(*margin);
        } else if passing_first > 0 {
            passing_first -= 1;
            first.push(*margin);
        } else {
            rest.push(margin);
        }
    }
    let of = |family| rest.iter().copied().filter(|m| Family::of(&m.id) == family).collect::<Vec<_>>();
    let rest = Family::ALL.into_iter().map(|f| (f, of(f))).filter(|(_, list)| !list.is_empty()).collect();
    Grouped { first, rest }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ogee_design::Place;

    fn margin(id: &str, margin: f64) -> Margin {
        Margin {
            id: id.to_owned(),
            name: id.to_owned(),
            margin: Some(margin),
            why_absent: None,
            passes: margin >= 1.0,
            value: Some(1.0),
            limit: margin,
            unit: "%".to_owned(),
            more_is_better: false,
            place: Place::default(),
            model: String::new(),
            formula: String::new(),
            source: String::new(),
            sensitivities: Vec::new(),
        }
    }

    #[test]
    fn families_follow_the_telling_word() {
        for (id, family) in [
            ("strain-at-target", Family::Stretch),
            ("stretch-reserve", Family::Stretch),
            ("insertion-loss-at-rest", Family::Light),
            ("single-mode", Family::Light),
            ("least-radius", Family::Fit),
            ("fits-the-span", Family::Fit),
            ("clearance-stretched", Family::Fit),
            ("wrap", Family::Wrap),
            ("wrap-stretched", Family::Wrap),
            ("residual-strain", Family::Heat),
            ("cracking", Family::Heat),
            ("wafer-bow", Family::Heat),
            ("parting", Family::Heat),
            ("survival", Family::Life),
            ("slow-cracks", Family::Life),
            ("cycled-polymer", Family::Life),
            ("cycles", Family::Life),
            ("ribbon-stretch", Family::Islands),
            ("island-strain", Family::Islands),
            ("grating-drift", Family::Islands),
            ("resistance", Family::Trace),
            ("voltage-drop", Family::Trace),
            ("temperature-rise", Family::Trace),
        ] {
            assert_eq!(Family::of(id), family, "{id}");
        }
    }

    #[test]
    fn few_stay_one_list_and_many_keep_the_failing_in_front() {
        let ids = ["wrap-strain", "single-mode", "least-radius", "cracks", "voltage-drop"];
        let all: Vec<Margin> = (0..25).map(|i| margin(ids[i % 5], 0.8 + 0.1 * i as f64)).collect();
        let few: Vec<&Margin> = all.iter().take(12).collect();
        assert_eq!(grouped(&few).first.len(), 12);
        let many: Vec<&Margin> = all.iter().collect();
        let split = grouped(&many);
        assert_eq!(split.first.len(), 5);
        assert!(split.first[0].margin < split.first[4].margin);
        let counted: usize = split.rest.iter().map(|(_, list)| list.len()).sum();
        assert_eq!(split.first.len() + counted, 25, "no line is lost");
        assert_eq!(split.rest.len(), 5);
        let bad: Vec<Margin> = (0..20).map(|i| margin("cracks", 0.3 + 0.1 * f64::from(i))).collect();
        let split = grouped(&bad.iter().collect::<Vec<_>>());
        assert_eq!(split.first.len(), bad.iter().filter(|m| !m.passes).count());
    }
}
