//! `ogee check`: every margin of one or more designs.

use super::args::CheckArgs;
use super::failure::{Failure, FailureJson, Kind, file_name};
use super::table::{aligned, wrapped};
use super::{DONE, MARGIN_BELOW_ONE, input, output};
use ogee_design::{Assessment, Caches, Margin, Severity, Tier, number_text};
use serde::Serialize;
use std::collections::HashSet;
use std::path::Path;

/// One of several designs, with its result or what is wrong with it.
#[derive(Serialize)]
struct Entry<'a> {
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    result: Option<&'a Assessment>,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<FailureJson<'a>>,
}

pub(super) fn run(args: &CheckArgs) -> Result<u8, Failure> {
    let common = &args.common;
    let mut caches = Caches::default();
    let tier = Tier::from(args.tier);
    let mut outcome = |file: &Path| assessed(file, &common.set, tier, &mut caches);
    if let [file] = args.files.as_slice() {
        let (assessment, title) = outcome(file)?;
        if common.json {
            output::print_json(&assessment)?;
        } else if !common.quiet {
            output::print(&words(&title, &assessment))?;
        }
        return verdict(file, &assessment);
    }
    let outcomes: Vec<_> = args.files.iter().map(|file| (file, outcome(file))).collect();
    if common.json {
        let entries: Vec<Entry<'_>> = outcomes
            .iter()
            .map(|(file, outcome)| Entry {
                file: file_name(file),
                result: outcome.as_ref().ok().map(|(assessment, _)| assessment),
                error: outcome.as_ref().err().map(Failure::json),
            })
            .collect();
        output::print_json(&entries)?;
    } else if !common.quiet {
        let texts: Vec<String> =
            outcomes.iter().filter_map(|(_, o)| o.as_ref().ok()).map(|(a, title)| words(title, a)).collect();
        output::print(&texts.join("\n"))?;
    }
    // Every design is told; the gravest outcome decides the exit code: bad input, no solution, a margin below 1.
    let mut codes = Vec::new();
    for (file, outcome) in outcomes {
        match outcome.and_then(|(assessment, _)| verdict(file, &assessment)) {
            Ok(code) => codes.push(code),
            Err(failure) => {
                codes.push(failure.kind().exit());
                // With JSON the list on standard output has it already; standard error has it either way.
                failure.report(common.json);
            }
        }
    }
    let gravest = [Kind::InvalidDesign.exit(), Kind::NoSolution.exit(), MARGIN_BELOW_ONE];
    Ok(gravest.into_iter().find(|code| codes.contains(code)).unwrap_or(DONE))
}

fn assessed(
    file: &Path,
    set: &[(String, String)],
    tier: Tier,
    caches: &mut Caches,
) -> Result<(Assessment, String), Failure> {
    let checked = input::read_checked(file, set)?;
    let unsolved = |why: String| Failure::of_file(Kind::NoSolution, file, why);
    let assessment = ogee_design::assess(&checked, tier, caches, &|| true)
        .map_err(unsolved)?
        .ok_or_else(|| unsolved("the assessment was not finished".to_owned()))?;
    Ok((assessment, input::title(checked.design(), file)))
}

/// The exit code of an assessed design.
fn verdict(file: &Path, assessment: &Assessment) -> Result<u8, Failure> {
    let below = assessment.margins.iter().any(|m| m.margin.is_some() && !m.passes);
    let unsolved = assessment.margins.iter().find(|m| m.margin.is_none() && !m.passes);
    match unsolved {
        Some(margin) if !below => {
            let why = margin.why_absent.as_deref().unwrap_or("no solution was found");
            Err(Failure::of_file(Kind::NoSolution, file, format!("{}: {why}", margin.name)))
        }
        _ if assessment.passes => Ok(DONE),
        _ => Ok(MARGIN_BELOW_ONE),
    }
}

/// The assessment as a table with its notes.
fn words(title: &str, assessment: &Assessment) -> String {
    let smallest =
        assessment.smallest_margin.as_ref().and_then(|id| assessment.margins.iter().find(|m| m.id == *id));
    let verdict = if assessment.passes {
        "passes".to_owned()
    } else if assessment.margins.iter().any(|m| m.margin.is_some() && !m.passes) {
        "FAILS".to_owned()
    } else {
        let unsolved = assessment.margins.iter().filter(|m| !m.passes).count();
        format!("NOT JUDGED in full ({unsolved} of {} checks)", assessment.margins.len())
    };
    let headline = match smallest.and_then(|m| Some((m, m.margin?))) {
        Some((m, margin)) => {
            let place = if m.place.words.is_empty() { String::new() } else { format!(", {}", m.place.words) };
            format!(
                "{title}: {verdict}, smallest margin {} ({}{place})",
                margin_text(margin),
                m.name.to_lowercase()
            )
        }
        None => format!("{title}: {verdict}"),
    };
    let mut models: Vec<&str> = assessment.margins.iter().map(|m| m.model.as_str()).collect();
    let mut seen = HashSet::new();
    models.retain(|model| seen.insert(*model));
    let mut rows = vec![["margin", "", "check", "value", "limit", "model", "place"].map(str::to_owned)];
    rows.extend(assessment.margins.iter().map(|margin| row(margin, &models)));
    let mut text = format!("{headline}\n{}", aligned(&rows, &[0, 3]));
    text.push_str(&super::models::side_by_side(assessment));
    for (i, model) in models.iter().enumerate() {
        text.push_str(&wrapped(&format!("model {}: {model}", letter(i)), "  ", 110));
    }
    for margin in &assessment.margins {
        if let Some(why) = &margin.why_absent {
            text.push_str(&wrapped(&format!("{}: {why}", margin.name), "  ", 110));
        }
    }
    for note in &assessment.notes {
        let weight = match note.severity {
            Severity::Info => "note",
            Severity::Caution => "caution",
            Severity::Warning => "warning",
        };
        text.push_str(&wrapped(&format!("{weight}: {}", note.message), "  ", 110));
    }
    text
}

/// The letter by which the table names a model.
fn letter(index: usize) -> char {
    char::from(b'a' + (index % 26) as u8)
}

fn row(margin: &Margin, models: &[&str]) -> [String; 7] {
    let model = models.iter().position(|m| *m == margin.model).map(letter);
    let with_unit = |value: f64| {
        let gap = if margin.unit.is_empty() { "" } else { " " };
        format!("{}{gap}{}", number_text(value), margin.unit)
    };
    [
        margin.margin.map_or_else(|| "–".to_owned(), margin_text),
        match margin.margin {
            _ if margin.passes => "",
            Some(_) => "FAILS",
            None => "NONE",
        }
        .to_owned(),
        margin.name.clone(),
        margin.value.map_or_else(|| "–".to_owned(), with_unit),
        format!("{} {}", if margin.more_is_better { "≥" } else { "≤" }, with_unit(margin.limit)),
        model.map(String::from).unwrap_or_default(),
        margin.place.words.clone(),
    ]
}

/// Two decimals, rounded down, so that a margin just below 1 never reads as 1.00.
fn margin_text(margin: f64) -> String {
    if margin >= 100.0 {
        "> 100".to_owned()
    } else {
        format!("{:.2}", (margin * 100.0 + 1e-9).floor() / 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_margin_below_one_never_reads_as_one() {
        assert_eq!(margin_text(0.999), "0.99");
        assert_eq!(margin_text(1.0), "1.00");
        assert_eq!(margin_text(1.1), "1.10");
        assert_eq!(margin_text(1e6), "> 100");
    }
}
