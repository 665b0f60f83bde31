//! Short notes of what was seen: `a1-15 full 80 set 0`, `c3-14 full 85 mildew 5/40`, `rain 1.3 in sat`.
//!
//! Comes in: the text of notes, a grove and the names of its rulebook. Goes out: what is understood, as it will stand in
//! the scouting file; or everything that is not. Nothing is guessed: a word that may be several things is an error that
//! names them.

mod day;
mod lines;
mod nothing;
mod numbers;
mod places;
mod read;
mod rows;
mod signs;
mod stamp;
mod values;
mod words;

use super::reading::{FileReading, UnknownNames};
use super::{DateOrder, Grove, NewRow, SeenValue};
use crate::phrase::{Phrase, said};
use crate::plan::{NameId, Plan};
use crate::problems::Problems;
use crate::source::{SourceId, Sources, Span};
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use places::NotePlaces;
use words::{Vocabulary, WordMeaning};

pub use day::{DayDoubt, TypedDay, Year};
pub use places::NotedPlace;

/// What a note says of one place on one day.
#[derive(Clone, PartialEq, Debug)]
pub struct Noted {
    /// When it was seen.
    pub day: NaiveDate,
    /// Where the year of that day comes from.
    pub year: Year,
    /// The time of that day, where it was said.
    pub time: Option<DateTime<Tz>>,
    /// Of what.
    pub place: NotedPlace,
    /// Of which share of the panicles, where it speaks of a group of them.
    pub share: Option<f64>,
    /// What was seen.
    pub values: Vec<NotedValue>,
    /// The rain that the grower's gauge showed.
    pub rain: Option<NotedRain>,
    /// What else, in the grower's own words.
    pub remark: Option<String>,
    /// Where the note stands.
    pub at: Span,
}

/// A value of a note.
#[derive(Clone, PartialEq, Debug)]
pub struct NotedValue {
    /// Of which observation.
    pub name: NameId,
    /// What.
    pub value: SeenValue,
    /// As the scouting file says it.
    pub written: String,
}

/// A day's rain, what fell of it since midnight, or what fell in the night before it.
#[derive(Clone, PartialEq, Debug)]
pub struct NotedRain {
    /// In millimetres.
    pub depth: f64,
    /// As the scouting file says it.
    pub written: String,
    /// From when on it fell; nothing where that is midnight.
    pub from: Option<DateTime<Tz>>,
    /// When the gauge was read, where the day is not over.
    pub read: Option<DateTime<Tz>>,
    /// Whether it was typed with a comma that may be a point.
    pub comma: bool,
}

impl NotedRain {
    /// A gauge that was dry.
    fn none() -> Self {
        Self { depth: 0.0, written: "0 mm".to_string(), from: None, read: None, comma: false }
    }
}

/// The columns of a new scouting file that are no observations, before and after those that are.
const BEFORE: [&str; 4] = ["when", "who", "on", "panicles"];
const AFTER: [&str; 2] = ["rain", "note"];

/// Reads notes; with any problem none of them is to be stored.
pub fn notes(text: SourceId, grove: &Grove, plan: &Plan, sources: &Sources) -> (Vec<Noted>, Problems) {
    let mut reading = FileReading::new(plan, sources, grove.as_of, UnknownNames::Refuse);
    let places = NotePlaces::new(&grove.trees, &grove.blocks);
    let noted = lines::read(text, (&places, grove.units), &mut reading);
    (noted, reading.problems)
}

/// Returns the columns of a new scouting file: all that the rulebook asks to observe.
pub fn scouting_columns(plan: &Plan) -> Vec<&str> {
    let names = plan.observations().filter(|(_, name, _)| !name.hidden).map(|(_, name, _)| &*name.word);
    BEFORE.into_iter().chain(names).chain(AFTER).collect()
}

/// A word that notes may use, and what is short for it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NoteWord {
    /// The observation that it names, or of whose scale it is a word.
    pub of: NameId,
    /// Its place in the scale, where it is a word of one.
    pub place: Option<u16>,
    /// The word as the rulebook writes it.
    pub word: String,
    /// What is short for it.
    pub shorts: Vec<String>,
}

/// Returns the words that notes may use for what is seen, each observation followed by the words of its scale.
pub fn note_words(plan: &Plan) -> Vec<NoteWord> {
    let vocabulary = Vocabulary::new(plan);
    let word = |(meaning, shorts): (WordMeaning, Vec<String>)| {
        let (of, place) = match meaning {
            WordMeaning::Name(of) => (of, None),
            WordMeaning::Scale(of, at) => (of, Some(at)),
            WordMeaning::Rain | WordMeaning::Panicles | WordMeaning::Note => return None,
        };
        (!plan[of].hidden).then(|| NoteWord { of, place, word: vocabulary.said(meaning), shorts })
    };
    vocabulary.short_words().into_iter().filter_map(word).collect()
}

/// Returns a place that was named on the command line, `A01-A15,C03`; or what is wrong with it, and what to write.
pub fn place_of(text: &str, grove: &Grove) -> Result<NotedPlace, (Phrase, Option<Phrase>)> {
    let places = NotePlaces::new(&grove.trees, &grove.blocks);
    places.read_all(text).map_err(super::trouble::Trouble::into_parts)
}

/// Returns a day that was named on the command line, `sat`, `8 feb`, `2027-02-08`; or what is wrong with it, and what to
/// write. None lies ahead.
pub fn day_of(text: &str, today: NaiveDate, order: DateOrder) -> Result<TypedDay, (Phrase, Option<Phrase>)> {
    let words: Vec<signs::Word> = signs::notes(text).into_iter().flat_map(|line| line.words).collect();
    match day::day(&words, day::Calendar { today, order }) {
        Some(Ok((found, count))) if count == words.len() => Ok(found),
        Some(Err(trouble)) => Err(trouble.into_parts()),
        Some(Ok(_)) | None => {
            let help = said!(
                "write `{today}`, `{short}`, `sat` or `yesterday`, or leave it out for today",
                today,
                short = today.format("%-d %b").to_string().to_lowercase()
            );
            Err((said!("`{text}` is not a day", text), Some(help)))
        }
    }
}

/// Returns a day that is still to come, as of a harvest, in any usual form; nothing where it is none.
pub fn day_to_come(text: &str, today: NaiveDate, order: DateOrder) -> Option<NaiveDate> {
    let words: Vec<signs::Word> = signs::notes(text).into_iter().flat_map(|line| line.words).collect();
    day::to_come(&words, day::Calendar { today, order })
}

/// Returns the place that some trees are, in as few words as a log takes.
pub fn place_of_trees(trees: &[usize], grove: &Grove) -> NotedPlace {
    NotePlaces::new(&grove.trees, &grove.blocks).of_trees(trees)
}

impl Noted {
    /// Returns it as a row of the scouting file.
    pub fn row(&self, who: Option<&str>, plan: &Plan) -> NewRow {
        let read = self.rain.as_ref().and_then(|rain| rain.read.as_ref()).or(self.time.as_ref());
        let mut when = read.map_or_else(|| self.day.to_string(), super::moment::iso);
        if let Some(from) = self.rain.as_ref().and_then(|rain| rain.from.as_ref()) {
            when = format!("{} to {when}", super::moment::iso(from));
        }
        let mut row = vec![("when".to_string(), when)];
        row.extend(who.map(|who| ("who".to_string(), who.to_string())));
        row.push(("on".to_string(), self.place.on.clone()));
        row.extend(self.share.map(|share| ("panicles".to_string(), percent(share))));
        row.extend(self.values.iter().map(|it| (plan[it.name].word.to_string(), it.written.clone())));
        row.extend(self.rain.iter().map(|rain| ("rain".to_string(), rain.written.clone())));
        row.extend(self.remark.iter().map(|remark| ("note".to_string(), remark.clone())));
        row
    }
}

/// Returns a share as the scouting file says it.
fn percent(share: f64) -> String {
    format!("{} %", crate::units::clean(share * 100.0))
}

/// Returns the day of an advice.
fn today(as_of: DateTime<Tz>) -> NaiveDate {
    as_of.date_naive()
}
