//! What a table says and cannot be: temperatures that no place with fruit trees has, rain beyond what an hour brings, a row of
//! another time. Such a table is asked about, or the row is left out and told.

use super::rain::RainCount;
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::draft::IntakeDraft;
use crate::intake::facts::FormFact;
use crate::intake::hour_values::HourBounds;
use crate::intake::unit_words::Scale;
use crate::weather::Site;
use chrono::{DateTime, Duration, Utc};

/// Common practice: the middle of the temperatures of a file near the sea within 20° of the equator is above this, in °C. The
/// coldest night ever of Puerto Rico, in its mountains, was 4.4 °C (records of the US National Weather Service, recalled).
const COOLEST: f64 = 8.0;
/// By so much it is cooler a kilometre higher: the standard atmosphere (ICAO Doc 7488), in °C.
const PER_KILOMETRE: f64 = 6.5;
/// By so much it may be cooler a degree farther from the equator: common practice, in °C.
const PER_DEGREE: f64 = 1.0;
/// No middle of a file is hotter: the hottest air ever measured was 56.7 °C (World Meteorological Organization, Archive of
/// Weather and Climate Extremes, recalled).
const HOTTEST: f64 = 42.0;
/// Rain of an hour above this, 5 in, is asked about; the most ever was 305 mm in 42 minutes at Holt, Missouri, in 1947 (same
/// archive, recalled).
const MOST_RAIN: f64 = 127.0;
/// Rows so far from the middle of the others are of another time.
const ANOTHER_TIME: Duration = Duration::days(2 * 366);

/// Returns the unit that temperatures are more likely in, where they cannot be in theirs. The numbers are sorted.
pub(super) fn other_degrees(numbers: &[f64], scale: &Scale, site: &Site) -> Option<&'static str> {
    let middle = scale.to_base(*numbers.get(numbers.len() / 2)?);
    let away = (site.latitude().abs() - 20.0).max(0.0);
    let coolest = COOLEST - PER_KILOMETRE * site.elevation() / 1000.0 - PER_DEGREE * away;
    match (&*scale.unit.symbol, middle < coolest, middle > HOTTEST) {
        ("°F", true, _) => Some("C"),
        ("°C", _, true) => Some("F"),
        _ => None,
    }
}

/// Asks in which unit rain is that no hour brings.
pub(super) fn rain(
    title: &str,
    scale: Option<&Scale>,
    amounts: impl Iterator<Item = HourBounds>,
    count: Option<RainCount>,
    draft: &mut IntakeDraft<'_>,
) {
    let most = amounts.map(|amount| amount.from).fold(0.0, f64::max);
    if most <= MOST_RAIN || count != Some(RainCount::OfTheRow) || draft.answer(Topic::Rain).is_some() {
        return;
    }
    let is_inches = scale.is_some_and(|scale| &*scale.unit.symbol == "in");
    let shown =
        |unit: &str, amount: f64| format!("{} {unit}", crate::units::clean((amount * 100.0).round() / 100.0));
    let most = if is_inches { shown("in", most / 25.4) } else { shown("mm", most) };
    let about = vec![title.to_string(), most];
    let proposed = is_inches.then_some("mm");
    draft.intake.questions.push(FormQuestion { topic: Topic::Rain, is_needed: true, proposed, about });
}

/// Leaves out rows that lie years from the others.
pub(super) fn another_time(rows: &mut [Option<DateTime<Utc>>], draft: &mut IntakeDraft<'_>) {
    let mut times: Vec<DateTime<Utc>> = rows.iter().flatten().copied().collect();
    times.sort_unstable();
    let Some(middle) = times.get(times.len() / 2).copied() else { return };
    let strays = |at: &DateTime<Utc>| (*at - middle).abs() > ANOTHER_TIME;
    let count = times.iter().filter(|at| strays(at)).count();
    let Some(first) = times.iter().find(|at| strays(at)).filter(|_| count * 10 <= times.len()) else {
        return;
    };
    let zone = draft.place.site.zone();
    draft.intake.facts.push(FormFact::AnotherTime(count, first.with_timezone(&zone).date_naive()));
    for row in rows.iter_mut() {
        *row = row.filter(|at| !strays(at));
    }
}
