//! What was understood of a weather file, and what became of its hours in the grove's own file.

use super::Lines;
use crate::intake::{FormFact, FormQuestion, HourBounds, Intake, IntakeDay, IntakeTotal, Topic};
use crate::plan::Kind;
use crate::units::{Dimension, plain};
use crate::weather::{AddedWeather, Column};
use crate::words::{Speech, Words};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;

/// So many titles that were not read, totals and days are listed.
const LISTED: usize = 8;

/// A file that was taken in.
#[derive(Clone, Copy, Debug)]
pub struct TakenFile<'t> {
    /// Its name.
    pub name: &'t str,
    /// What was understood of it.
    pub intake: &'t Intake,
}

/// In which words and by which clock a page of weather speaks.
#[derive(Clone, Copy, Debug)]
pub struct TakenWords<'w> {
    /// The words.
    pub words: Words<'w>,
    /// The clock of the grove.
    pub zone: Tz,
    /// The grove as it was named.
    pub grove: &'w str,
}

impl TakenWords<'_> {
    /// Writes what was understood of a file.
    pub fn file(&self, lines: &mut Lines, file: TakenFile<'_>) {
        let say = |key: &str, places: &[(&str, &str)]| self.words.say(key, places);
        let TakenFile { name, intake } = file;
        let form = say(&format!("form.{}", intake.form.word()), &[]);
        lines.text(0, &say("taken.file", &[("file", name), ("form", &form)]));
        if let Some(issued) = intake.issued {
            lines.field(&say("taken.issued", &[]), &self.moment(issued));
        }
        let (count, step) = (intake.rows.to_string(), intake.step.unwrap_or(0).to_string());
        let key = if intake.step.is_some() { "taken.rows.step" } else { "taken.rows.words" };
        lines.field(&say("taken.rows", &[]), &say(key, &[("count", &count), ("step", &step)]));
        let read = intake.columns.iter().map(|column| {
            let what = self.column(column.column);
            if column.title.is_empty() {
                return format!("{what} [{}]", column.unit);
            }
            say("taken.read.words", &[("title", &column.title), ("what", &what), ("unit", &column.unit)])
        });
        let read: Vec<String> = read.collect();
        lines.fields(&say("taken.read", &[]), read.iter().map(String::as_str));
        self.left_out(lines, &intake.left_out);
        let facts: Vec<String> = intake.facts.iter().map(|fact| self.fact(fact)).collect();
        lines.fields(&say("taken.said", &[]), facts.iter().map(String::as_str));
        if !intake.hours.is_empty() {
            self.hours(lines, intake);
        }
        self.totals(lines, &intake.totals);
        self.days(lines, intake);
    }

    fn left_out(&self, lines: &mut Lines, titles: &[String]) {
        if titles.is_empty() {
            return;
        }
        let mut shown: Vec<String> = titles.iter().take(LISTED).cloned().collect();
        if titles.len() > LISTED {
            let count = (titles.len() - LISTED).to_string();
            shown.push(self.words.say("taken.left-out.more", &[("count", &count)]));
        }
        lines.field(&self.words.say("taken.left-out", &[]), &shown.join(", "));
    }

    fn hours(&self, lines: &mut Lines, intake: &Intake) {
        let say = |key: &str, places: &[(&str, &str)]| self.words.say(key, places);
        let (Some(first), Some(last)) = (intake.hours.first(), intake.hours.last()) else { return };
        let end = last.begins + chrono::Duration::hours(1);
        let whole = (end - first.begins).num_hours();
        let count = intake.hours.iter().filter(|hour| !hour.is_empty()).count().to_string();
        let span = self.span(first.begins, end);
        lines.field(
            &say("taken.hours", &[]),
            &say("taken.hours.words", &[("count", &count), ("span", &span)]),
        );
        let mut gaps = Vec::new();
        for column in intake.columns.iter().map(|column| column.column) {
            let known = intake.hours.iter().filter_map(|hour| hour.value(column));
            // Rain that is told without an amount can be any.
            let known = known.filter(|value| value.from > 0.0 || value.to.is_finite());
            let (exact, loose): (Vec<HourBounds>, Vec<HourBounds>) =
                known.partition(|value| value.one().is_some());
            let (unknown, loose) = (whole - (exact.len() + loose.len()) as i64, loose.len());
            let what = self.column(column);
            if unknown > 0 {
                let (count, hours) = (unknown.to_string(), whole.to_string());
                gaps.push(say("taken.gaps.words", &[("what", &what), ("count", &count), ("hours", &hours)]));
            }
            if loose > 0 {
                gaps.push(say("taken.gaps.range", &[("what", &what), ("count", &loose.to_string())]));
            }
        }
        if gaps.is_empty() {
            gaps.push(say("taken.gaps.none", &[]));
        }
        lines.fields(&say("taken.gaps", &[]), gaps.iter().map(String::as_str));
    }

    fn totals(&self, lines: &mut Lines, totals: &[IntakeTotal]) {
        let one = |total: &IntakeTotal| {
            let (amount, span) = (self.value(Column::Rain, total.amount), self.span(total.from, total.to));
            self.words.say("taken.totals.words", &[("amount", &amount), ("span", &span)])
        };
        let shown: Vec<String> = totals.iter().take(LISTED).map(one).collect();
        lines.fields(&self.words.say("taken.totals", &[]), shown.iter().map(String::as_str));
    }

    fn days(&self, lines: &mut Lines, intake: &Intake) {
        let say = |key: &str, places: &[(&str, &str)]| self.words.say(key, places);
        if intake.days.is_empty() {
            return;
        }
        let value = |column: Column, value: Option<HourBounds>| {
            value.map_or_else(|| say("taken.days.none", &[]), |value| self.value(column, value))
        };
        let shown: Vec<String> = intake
            .days
            .iter()
            .rev()
            .take(LISTED)
            .map(|day| {
                let (temperature, rain) =
                    (value(Column::Temperature, day.temperature), value(Column::Rain, day.rain));
                let date = self.words.day_ahead(day.date);
                say("taken.days.words", &[("day", &date), ("temperature", &temperature), ("rain", &rain)])
            })
            .collect();
        lines.fields(&say("taken.days", &[]), shown.iter().map(String::as_str));
        let exact = |day: &&IntakeDay| day.rain.is_some_and(|rain| rain.one().is_some());
        if let Some(day) = intake.days.iter().rev().find(exact).filter(|_| intake.hours.is_empty()) {
            let rain = value(Column::Rain, day.rain);
            let date = day.date.to_string();
            let places = [("grove", self.grove), ("rain", &rain), ("date", &date)];
            lines.text(2, &say("taken.days.then", &places));
        }
    }

    /// Returns what was settled without asking, as a sentence.
    fn fact(&self, fact: &FormFact) -> String {
        let (word, values) = fact.parts();
        let said = |value: &String| match fact {
            FormFact::Dates(..) | FormFact::Stamps(..) | FormFact::Clock(..) => {
                let key = format!("fact.word.{value}");
                let words = self.words.say(&key, &[]);
                if words == key { value.clone() } else { words }
            }
            _ => value.clone(),
        };
        let values: Vec<String> = values.iter().map(said).collect();
        let place = |at: usize| values.get(at).map_or("", String::as_str);
        let (key, places) = (format!("fact.{word}"), [("one", place(0)), ("two", place(1))]);
        match place(0).parse() {
            Ok(count) => self.words.language.counted(&key, count, &places),
            Err(_) => self.words.say(&key, &places),
        }
    }

    /// Returns a question as a sentence.
    pub fn question(&self, question: &FormQuestion) -> String {
        let about = question.about.join(", ");
        self.words.say(&format!("ask.{}", question.topic.word()), &[("about", &about)])
    }

    /// Writes questions with the words that answer them.
    pub fn questions(&self, lines: &mut Lines, file: TakenFile<'_>) {
        let say = |key: &str, places: &[(&str, &str)]| self.words.say(key, places);
        let questions = &file.intake.questions;
        if questions.is_empty() {
            return;
        }
        lines.blank();
        if file.intake.is_open() {
            lines.text(0, &say("form.ask", &[]));
            lines.text(0, &say("form.ask.none", &[("file", file.name)]));
        } else {
            lines.text(0, &say("form.ask.open", &[]));
        }
        for question in questions {
            let flags = self.words.language.listed("list.or", &flags(question.topic));
            let mut text =
                format!("{} {}", self.question(question), say("form.ask.flag", &[("flags", &flags)]));
            if let Some(answer) = question.proposed.filter(|_| question.is_needed) {
                text = format!("{text} {}", say("form.ask.proposed", &[("answer", answer)]));
            }
            lines.text(2, &text);
        }
        if questions.iter().any(|question| question.is_needed && question.topic.is_kept()) {
            lines.text(0, &say("form.ask.kept", &[]));
        }
    }

    /// Writes what became of the hours; `reach` is up to when the file is measured, and up to when it is forecast.
    pub fn added(
        &self,
        lines: &mut Lines,
        file: &str,
        added: &AddedWeather,
        reach: (Option<DateTime<Utc>>, Option<DateTime<Utc>>),
    ) {
        let say = |key: &str, places: &[(&str, &str)]| self.words.say(key, places);
        lines.blank();
        lines.text(0, &say("into.title", &[("file", file)]));
        let counted = |list: &[(&str, usize)]| -> Vec<String> {
            let there = list.iter().filter(|(_, count)| *count > 0);
            there.map(|(key, count)| self.words.language.counted(key, *count as i64, &[])).collect()
        };
        let mut measured = counted(&[
            ("into.new", added.measured),
            ("into.completed", added.completed),
            ("into.same", added.same),
        ]);
        let mut forecast = counted(&[
            ("into.new", added.forecast),
            ("into.completed", added.forecast_completed),
            ("into.same", added.forecast_same),
            ("into.replaced", added.replaced),
            ("into.never", added.never_measured),
            ("into.passed", added.passed),
        ]);
        if added.is_older {
            forecast.push(say("into.older", &[]));
        }
        if measured.is_empty() && forecast.is_empty() {
            measured.push(say("into.none", &[]));
        }
        lines.fields(&say("into.measured", &[]), measured.iter().map(String::as_str));
        lines.fields(&say("into.forecast", &[]), forecast.iter().map(String::as_str));
        let ahead = reach.1.zip(added.issued).map(|(to, issued)| {
            say("into.to.forecast", &[("forecast", &self.moment(to)), ("issued", &self.moment(issued))])
        });
        let measured = reach.0.map(|to| say("into.to", &[("measured", &self.moment(to))]));
        let reach: Vec<String> = measured.into_iter().chain(ahead).collect();
        lines.fields(&say("into.reach", &[]), reach.iter().map(String::as_str));
    }

    /// Writes which measured values differ from those that are there.
    pub fn clashes(&self, lines: &mut Lines, added: &AddedWeather, key: &str) {
        if added.contradicted.is_empty() {
            return;
        }
        let mut shown = vec![self.words.language.counted(key, added.contradicted.len() as i64, &[])];
        shown.extend(added.contradicted.iter().take(LISTED).map(|(begins, column, old, new)| {
            let (when, what) = (self.moment(*begins), self.column(*column));
            let places = [("when", &*when), ("what", &*what), ("old", old), ("new", new)];
            self.words.say("into.clash.one", &places)
        }));
        lines.fields(&self.words.say("into.clash", &[]), shown.iter().map(String::as_str));
    }

    /// Returns what a column is called.
    pub fn column(&self, column: Column) -> String {
        self.words.say(&format!("series.{}", column.word()), &[])
    }

    fn moment(&self, at: DateTime<Utc>) -> String {
        self.words.moment(at.with_timezone(&self.zone))
    }

    fn span(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> String {
        self.words.span(from.with_timezone(&self.zone), to.with_timezone(&self.zone))
    }

    /// Returns a value in the units in which the grower speaks.
    fn value(&self, column: Column, value: HourBounds) -> String {
        let (kind, symbol) = match (column, self.words.speech) {
            (Column::Temperature | Column::DewPoint, Speech::Us) => (Kind::Temperature, "°F"),
            (Column::Temperature | Column::DewPoint, _) => (Kind::Temperature, "°C"),
            (Column::Rain, Speech::Us) => (Kind::Quantity(Dimension::LENGTH), "in"),
            (Column::Rain, _) => (Kind::Quantity(Dimension::LENGTH), "mm"),
            (Column::Wind | Column::Gust, Speech::Us) => (Kind::Quantity(Dimension::SPEED), "mph"),
            (Column::Wind | Column::Gust, _) => (Kind::Quantity(Dimension::SPEED), "km/h"),
            (Column::Humidity | Column::LeafWet, _) => (Kind::Share, "%"),
        };
        let Some(unit) = plain(symbol) else { return String::new() };
        let number = |base: f64| {
            let (number, _) = self.words.speech.parts(kind, &unit, base);
            let digits = if symbol == "in" { 100.0 } else { 10.0 };
            crate::units::clean((number * digits).round() / digits).to_string()
        };
        let shown = match value.one() {
            Some(one) => number(one),
            None if value.to.is_infinite() => {
                self.words.say("taken.at-least", &[("from", &format!("{} {symbol}", number(value.from)))])
            }
            None => {
                self.words.say("taken.between", &[("from", &number(value.from)), ("to", &number(value.to))])
            }
        };
        if shown.ends_with(symbol) || value.to.is_infinite() { shown } else { format!("{shown} {symbol}") }
    }
}

/// Returns the flags that answer a question.
pub fn flags(topic: Topic) -> Vec<String> {
    let word = topic.word();
    let given = |answer: &str| format!("`--{word} {answer}`");
    match topic {
        Topic::TypicalYear => vec![format!("`--{word}`")],
        Topic::Issued => vec![given("2027-02-10T18:00")],
        Topic::Take => vec![given("TITLE")],
        Topic::Station => vec![given("NAME")],
        Topic::WindOtherwise => vec![given("\"5-10 mph\"")],
        _ => topic.choices().iter().map(|choice| given(choice)).collect(),
    }
}
