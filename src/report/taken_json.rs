//! What was taken in of weather, for programs.

use super::taken::{TakenFile, flags};
use crate::intake::{FormQuestion, IntakeDay, IntakeTotal};
use crate::units::clean;
use crate::weather::AddedWeather;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use serde_json::{Value, json};

/// What becomes of weather that was taken in.
#[derive(Clone, Debug)]
pub struct TakenIn<'t> {
    /// The files.
    pub files: &'t [TakenFile<'t>],
    /// What became of their hours, where all was answered.
    pub added: Option<&'t AddedWeather>,
    /// The file into which they were stored.
    pub stored: Option<&'t str>,
    /// The series of the weather that the guide reads and has, and those that it lacks; nothing where it cannot be opened.
    pub guide: Option<(&'t [&'t str], &'t [&'t str])>,
    /// The clock of the grove.
    pub zone: Tz,
}

/// Writes the JSON form.
pub fn taken_json(taken: &TakenIn<'_>) -> String {
    let moment = |at: DateTime<Utc>| at.with_timezone(&taken.zone).format("%Y-%m-%dT%H:%M:%S%:z").to_string();
    let file = |file: &TakenFile<'_>| {
        let intake = file.intake;
        let (first, last) = (intake.hours.first(), intake.hours.last());
        let end = last.map(|hour| moment(hour.begins + chrono::Duration::hours(1)));
        let facts = intake.facts.iter().map(|fact| {
            let (word, values) = fact.parts();
            json!({ "fact": word, "values": values })
        });
        let columns = intake.columns.iter().map(
            |column| json!({ "title": column.title, "column": column.column.word(), "unit": column.unit }),
        );
        json!({
            "name": file.name,
            "form": intake.form.word(),
            "issued": intake.issued.map(moment),
            "rows": intake.rows,
            "step_minutes": intake.step,
            "columns": columns.collect::<Vec<_>>(),
            "left_out": intake.left_out,
            "facts": facts.collect::<Vec<_>>(),
            "questions": intake.questions.iter().map(question).collect::<Vec<_>>(),
            "hours": { "count": intake.hours.len(), "from": first.map(|hour| moment(hour.begins)), "to": end },
            "totals": intake.totals.iter().map(|total| total_json(total, &moment)).collect::<Vec<_>>(),
            "days": intake.days.iter().map(day).collect::<Vec<_>>(),
        })
    };
    let clash = |(begins, column, old, new): &(DateTime<Utc>, crate::weather::Column, String, String)| json!({ "hour": moment(*begins), "column": column.word(), "old": old, "new": new });
    let added = taken.added.map(|added| {
        json!({
            "measured": added.measured,
            "forecast": added.forecast,
            "completed": added.completed,
            "same": added.same,
            "forecast_completed": added.forecast_completed,
            "forecast_same": added.forecast_same,
            "contradicted": added.contradicted.iter().map(clash).collect::<Vec<_>>(),
            "replaced": added.replaced,
            "never_measured": added.never_measured,
            "passed": added.passed,
            "forecast_is_older": added.is_older,
            "forecast_issued": added.issued.map(moment),
            "measured_to": added.measured_to.map(moment),
        })
    });
    let whole = json!({
        "format": "bloomward.weather/1",
        "stored": taken.stored.is_some(),
        "file": taken.stored,
        "files": taken.files.iter().map(file).collect::<Vec<_>>(),
        "added": added,
        "guide": taken.guide.map(|(uses, lacks)| json!({ "uses": uses, "lacks": lacks })),
    });
    whole.to_string() + "\n"
}

fn question(question: &FormQuestion) -> Value {
    json!({
        "topic": question.topic.word(),
        "needed": question.is_needed,
        "proposed": question.proposed,
        "about": question.about,
        "choices": question.topic.choices(),
        "flags": flags(question.topic).iter().map(|flag| flag.trim_matches('`')).collect::<Vec<_>>(),
    })
}

fn total_json(total: &IntakeTotal, moment: &impl Fn(DateTime<Utc>) -> String) -> Value {
    json!({ "from": moment(total.from), "to": moment(total.to), "rain_mm": ends(total.amount.from, total.amount.to) })
}

fn day(day: &IntakeDay) -> Value {
    json!({
        "date": day.date.to_string(),
        "temperature_c": day.temperature.map(|it| ends(it.from, it.to)),
        "rain_mm": day.rain.map(|it| ends(it.from, it.to)),
    })
}

/// The least and the most; what has no end is null.
fn ends(from: f64, to: f64) -> Value {
    json!([clean(from), to.is_finite().then(|| clean(to))])
}
