//! What was understood of a file, while it is read and when it is done.

use super::IntakePlace;
use super::answers::{FormQuestion, Topic};
use super::document::Document;
use super::facts::FormFact;
use super::forms::WeatherForm;
use super::hour_values::{HourBounds, HourSlots};
use super::timeline::{FellOver, Timeline};
use super::unit_words::Scale;
use crate::weather::{Column, HourGrid, possible};
use chrono::{DateTime, NaiveDate, Utc};

/// What was taken in from a file.
#[derive(Clone, PartialEq, Debug)]
pub struct Intake {
    /// The form of the file.
    pub form: WeatherForm,
    /// The hours, in order.
    pub hours: Vec<IntakeHour>,
    /// The days of a file that knows no hours.
    pub days: Vec<IntakeDay>,
    /// Totals over several hours, of which the share of each hour is not known.
    pub totals: Vec<IntakeTotal>,
    /// When a forecast was made; nothing for measurements.
    pub issued: Option<DateTime<Utc>>,
    /// The columns that were read.
    pub columns: Vec<UnderstoodColumn>,
    /// The titles of columns that were not read.
    pub left_out: Vec<String>,
    /// What is still to be answered.
    pub questions: Vec<FormQuestion>,
    /// What was settled or noticed without asking.
    pub facts: Vec<FormFact>,
    /// How many rows, periods or reports it has.
    pub rows: usize,
    /// Minutes from one row to the next, where they are even.
    pub step: Option<i64>,
    /// By what a file of the kind is known again.
    pub kind: Option<String>,
}

impl Intake {
    /// Finds out whether hours lie ahead though the file does not say when it was made: then that is asked, and nothing is
    /// read before. Of a table the hours before that moment are measured.
    pub fn settle_issue(&mut self, place: &IntakePlace<'_>) {
        let ahead = place.as_of + chrono::Duration::hours(1);
        let reaches_ahead = self.hours.iter().any(|hour| hour.begins > ahead && !hour.is_empty());
        if self.issued.is_some() || !self.may_be_forecast() || !reaches_ahead {
            return;
        }
        self.issued = place.answers.get(Topic::Issued).and_then(|text| moment_here(text, place));
        if self.issued.is_none() {
            let about = Vec::new();
            self.questions.push(FormQuestion {
                topic: Topic::Issued,
                is_needed: true,
                proposed: None,
                about,
            });
            self.hours.clear();
        }
    }

    /// Returns whether hours before its issue are measured: a table may hold both, one that tells a chance of rain is all
    /// forecast.
    pub fn has_measured(&self) -> bool {
        const CHANCE: [&str; 6] = ["prob", "chance", "pop", "forecast", "pronost", "vorhersage"];
        let tells_chance = |title: &String| CHANCE.iter().any(|word| title.to_lowercase().contains(word));
        self.issued.is_none() || (self.may_be_forecast() && !self.left_out.iter().any(tells_chance))
    }

    /// Returns whether the form tells neither that it is a forecast nor that it was measured.
    fn may_be_forecast(&self) -> bool {
        matches!(self.form, WeatherForm::Table | WeatherForm::Coverage)
    }

    /// Returns whether something that is needed is still to be answered.
    pub fn is_open(&self) -> bool {
        self.questions.iter().any(|question| question.is_needed)
    }
}

/// Reads a moment of the grove's clock, or with its offset.
pub(super) fn moment_here(text: &str, place: &IntakePlace<'_>) -> Option<DateTime<Utc>> {
    let stamp = crate::tables::read_stamp(text)?;
    stamp.moment().or_else(|| Some(crate::weather::first_instant(place.site.zone(), stamp.local)))
}

/// One hour.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct IntakeHour {
    /// When it begins.
    pub begins: DateTime<Utc>,
    pub(super) values: HourSlots,
}

impl IntakeHour {
    /// Returns what a value of the hour can be, in base units; nothing where it is unknown.
    pub fn value(&self, column: Column) -> Option<HourBounds> {
        self.values.get(column)
    }

    /// Returns whether nothing of it is known.
    pub fn is_empty(&self) -> bool {
        Column::ALL.iter().all(|(column, _)| self.value(*column).is_none())
    }
}

/// One day of a file that knows no hours.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct IntakeDay {
    /// The date.
    pub date: NaiveDate,
    /// Between what the temperature lay all day.
    pub temperature: Option<HourBounds>,
    /// The rain of the day.
    pub rain: Option<HourBounds>,
}

/// A total over several hours.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct IntakeTotal {
    /// The begin.
    pub from: DateTime<Utc>,
    /// The end.
    pub to: DateTime<Utc>,
    /// How much, in base units.
    pub amount: HourBounds,
}

/// A column that was read.
#[derive(Clone, PartialEq, Debug)]
pub struct UnderstoodColumn {
    /// Its title or name in the file.
    pub title: String,
    /// What it is taken as.
    pub column: Column,
    /// The symbol of its unit.
    pub unit: String,
}

/// A file while it is read.
pub(super) struct IntakeDraft<'a> {
    pub(super) document: &'a Document<'a>,
    pub(super) place: &'a IntakePlace<'a>,
    pub(super) timeline: Timeline,
    pub(super) intake: Intake,
    pub(super) impossible: usize,
    pub(super) flagged: usize,
    pub(super) questionable: usize,
    pub(super) traces: usize,
}

impl<'a> IntakeDraft<'a> {
    pub(super) fn new(document: &'a Document<'a>, place: &'a IntakePlace<'a>, form: WeatherForm) -> Self {
        let grid = HourGrid::new(place.site.zone(), place.as_of);
        let intake = Intake {
            form,
            hours: Vec::new(),
            days: Vec::new(),
            totals: Vec::new(),
            issued: None,
            columns: Vec::new(),
            left_out: Vec::new(),
            questions: Vec::new(),
            facts: Vec::new(),
            rows: 0,
            step: None,
            kind: None,
        };
        let timeline = Timeline::new(grid);
        Self { document, place, timeline, intake, impossible: 0, flagged: 0, questionable: 0, traces: 0 }
    }

    /// Returns the answer to a topic.
    pub(super) fn answer(&self, topic: Topic) -> Option<&'a str> {
        self.place.answers.get(topic)
    }

    /// Asks, if it was not answered before.
    pub(super) fn ask(&mut self, question: FormQuestion) {
        if self.answer(question.topic).is_none() {
            self.intake.questions.push(question);
        }
    }

    /// Says that a column was read.
    pub(super) fn understood(&mut self, title: &str, column: Column, unit: &str) {
        if !self.intake.columns.iter().any(|known| known.column == column) {
            let column = UnderstoodColumn { title: title.to_string(), column, unit: unit.to_string() };
            self.intake.columns.push(column);
        }
    }

    /// Returns a number of a column in base units; nothing, and counted, where it cannot be.
    pub(super) fn base(&mut self, column: Column, scale: &Scale, number: f64) -> Option<HourBounds> {
        let value = scale.to_base(number);
        let (low, high) = possible(column);
        let spare = if matches!(column, Column::Humidity | Column::LeafWet) { 0.005 } else { 0.0 };
        // A humidity of nothing is a sensor without power: the driest air that was ever measured has a third of a percent
        // (recalled).
        let is_dead = column == Column::Humidity && value < 0.003;
        if is_dead || !value.is_finite() || value < low - 1e-9 || value > high + spare + 1e-9 {
            self.impossible += 1;
            return None;
        }
        Some(HourBounds::is(value.clamp(low, high)))
    }

    /// Takes totals of several hours and of one.
    pub(super) fn fell(&mut self, stretches: &[FellOver]) {
        self.timeline.fell(Column::Rain, stretches);
        let several = |fell: &&FellOver| (fell.to - fell.from).num_minutes() > 60 && !fell.amount.is_zero();
        let totals = stretches.iter().filter(several);
        let totals = totals.map(|fell| IntakeTotal { from: fell.from, to: fell.to, amount: fell.amount });
        self.intake.totals.extend(totals);
    }

    /// Returns what was taken in; no hours while something that is needed is not answered.
    pub(super) fn finish(mut self) -> Intake {
        let counted = [
            (self.flagged, FormFact::Flagged as fn(usize) -> FormFact),
            (self.questionable, FormFact::Questionable),
            (self.impossible, FormFact::Impossible),
            (self.timeline.contradicted, FormFact::Contradicted),
            (self.traces, FormFact::Traces),
        ];
        let counted = counted.into_iter().filter(|(count, _)| *count > 0);
        self.intake.facts.extend(counted.map(|(count, fact)| fact(count)));
        if self.intake.is_open() {
            return self.intake;
        }
        let grid = self.timeline.grid;
        let hours = self.timeline.hours.iter();
        self.intake.hours =
            hours.map(|(hour, values)| IntakeHour { begins: grid.start(*hour), values: *values }).collect();
        self.intake
    }
}
