//! Worked examples with hours of their own: what the weather of their file measures is taken for granted in them.
//!
//! A rulebook has no place. The hours are read in the offset of the example's moment, and the sun stands as on the equator
//! at that offset's longitude, so that nights run from about 18:00 to 6:00.

use super::books::Book;
use crate::advice::Advisor;
use crate::grove::{self, Texts, UnknownNames};
use crate::measure::{Extent, Possible, Sky, speaks_of_weather};
use crate::plan::{Datum, ExprNode, NameId, Origin, Plan, Take, TakenValue, Window};
use crate::problems::{Finding, Problem, Problems};
use crate::source::{Sources, Span};
use crate::weather::{self, Site};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;
use std::path::Path;

/// Reads the hours of worked examples, and takes in each of them what its weather measures. Of one whose hours cannot be read
/// it is told why, and it stays one that is not run.
pub fn taken(plan: &mut Plan, book: &Book, sources: &mut Sources) -> Problems {
    let mut problems = Problems::default();
    for at in 0..plan.worked.len() {
        let Some((file, span)) = plan.worked[at].hours_from.clone() else { continue };
        match measured(plan, at, &file, span, book, sources) {
            Ok(takes) => {
                let worked = &mut plan.worked[at];
                let own: Vec<NameId> = worked.takes.iter().map(|take| take.name).collect();
                worked.takes.extend(takes.into_iter().filter(|take| !own.contains(&take.name)));
                worked.hours_from = None;
            }
            Err(found) => problems.extend(found),
        }
    }
    problems
}

fn measured(
    plan: &Plan,
    at: usize,
    file: &str,
    span: Span,
    book: &Book,
    sources: &mut Sources,
) -> Result<Vec<Take>, Problems> {
    let wrong = |message: String, help: &str| {
        let mut problems = Problems::default();
        problems.push(Problem::new(Finding::WorkedFailed, span, message).help(help));
        problems
    };
    let Some((moment, _)) = &plan.worked[at].as_of else {
        return Err(wrong(
            format!("the hours of `{file}` have no moment"),
            "say from when they are looked at: `as-of 2027-02-11T05:30`",
        ));
    };
    let of = sources.get(span.source).map(|source| source.name.to_string()).unwrap_or_default();
    let folder = Path::new(&of).parent().unwrap_or(Path::new(""));
    let path = folder.join(file).to_string_lossy().into_owned();
    let inside =
        !Path::new(file).is_absolute() && !Path::new(file).components().any(|it| it.as_os_str() == "..");
    let text = match book.read(&path) {
        Ok(text) if inside => text,
        Ok(_) => return Err(wrong(format!("`{file}` does not lie beside the rulebook"), "put it there")),
        Err(refusal) => {
            return Err(wrong(
                format!("the hours of a worked example cannot be read: {}", refusal.message),
                "the file is looked for beside the rulebook that has the example",
            ));
        }
    };
    let source = sources.add(path, text.as_str());
    let hours = offset_of(moment);
    let zone = if hours == 0 { "Etc/UTC".to_owned() } else { format!("Etc/GMT{:+}", -hours) };
    let day = moment.get(..10).unwrap_or_default();
    let yaml = format!(
        "grove: a worked example\nrulebook: its own\nsprays: none yet\nas-of: {moment}\n\
         place: {{ latitude: 0, longitude: {}, elevation: 0 m, timezone: {zone} }}\n\
         blocks:\n  - {{ block: b }}\ntrees:\n  - {{ tree: T1, block: b, seen: {day} }}\n",
        15 * hours
    );
    let made = sources.add("the grove of a worked example", yaml.as_str());
    let (outline, mut problems) = grove::outline(made, sources);
    let Some((outline, as_of)) = outline.and_then(|outline| outline.as_of.map(|as_of| (outline, as_of)))
    else {
        return Err(problems);
    };
    let texts = Texts { trees: None, scouting: None, sprays: None };
    let (grove, found) = grove::read(&outline, texts, plan, as_of, UnknownNames::LeaveOut, sources);
    problems.extend(found);
    let (weather, found) = weather::read(&weather::WeatherFile {
        text: &text,
        source,
        columns: &BTreeMap::new(),
        zone: outline.place.zone,
        as_of: as_of.with_timezone(&Utc),
        forecast_issued: Some(as_of.with_timezone(&Utc)),
        gauge: &BTreeMap::new(),
    });
    problems.extend(found);
    let Some(grove) = grove.filter(|_| !problems.any_error()) else { return Err(problems) };
    let site = Site::new(0.0, f64::from(15 * hours), 0.0, outline.place.zone);
    let sky = Sky::new(plan, Some(&weather), &site, as_of.with_timezone(&Utc));
    let gauged = Advisor::new(plan, &grove, &sky, as_of).gauge(0);
    let take = |(name, reading): (usize, &crate::measure::Reading)| {
        let name = NameId(name as u32);
        let value = of_weather(plan, name).then(|| value(reading.extent))??;
        Some(Take { name, value, span })
    };
    Ok(gauged.names.iter().enumerate().filter_map(take).collect())
}

/// Returns whether a name is measured from the weather alone.
fn of_weather(plan: &Plan, name: NameId) -> bool {
    let Origin::Measure(measure) = &plan[name].origin else { return false };
    let since_a_spray = matches!(&*measure.expr.node, ExprNode::Aggregate(_, Window::SinceLast(_)));
    speaks_of_weather(&measure.expr).is_some() && !since_a_spray && measure.valid_if.is_none()
}

/// Returns what is taken of a reading; nothing of one that is left open.
fn value(extent: Extent) -> Option<TakenValue> {
    match extent.can_be {
        Possible::Nothing if extent.may_be_empty => Some(TakenValue::Empty),
        _ if extent.may_be_empty => None,
        Possible::Numbers(low, high) if low == high => Some(TakenValue::One(Datum::Number(low))),
        Possible::Numbers(low, high) if low.is_finite() && high.is_finite() => {
            Some(TakenValue::FromTo(Datum::Number(low), Datum::Number(high)))
        }
        Possible::Words(set) if set.is_power_of_two() => {
            Some(TakenValue::One(Datum::Word(set.trailing_zeros() as u16)))
        }
        Possible::Nothing
        | Possible::Numbers(..)
        | Possible::Words(_)
        | Possible::Text(_)
        | Possible::AnyText => None,
    }
}

/// Returns the whole hours of a moment's offset; of a local one none.
fn offset_of(moment: &str) -> i32 {
    let forms = ["%Y-%m-%dT%H:%M%:z", "%Y-%m-%dT%H:%M:%S%:z"];
    let read = forms.iter().find_map(|form| DateTime::parse_from_str(moment, form).ok());
    read.map_or(0, |at| at.offset().local_minus_utc() / 3600)
}
