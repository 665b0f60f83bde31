//! The lines of notes: each on its day, and nothing of one that is not understood.

use super::day::{self, Calendar};
use super::places::NotePlaces;
use super::read::Note;
use super::signs::{self, NoteLine};
use super::words::Vocabulary;
use super::{Noted, TypedDay, Year, rows, today};
use crate::grove::UnitSystem;
use crate::grove::figures::InFigures;
use crate::grove::reading::FileReading;
use crate::grove::trouble::Trouble;
use crate::source::{SourceId, Span};
use chrono::NaiveDate;

/// Reads all notes of a text. Of a line in which anything is not understood nothing is taken.
pub(super) fn read(
    source: SourceId,
    (places, units): (&NotePlaces, UnitSystem),
    reading: &mut FileReading,
) -> Vec<Noted> {
    let text = reading.sources.get(source).map(|source| source.text.clone()).unwrap_or_default();
    let vocabulary = Vocabulary::new(reading.plan);
    let now = Calendar { today: today(reading.as_of), order: units.into() };
    let mut header = Header::of(now.today);
    let mut noted = Vec::new();
    for line in signs::notes(&text) {
        let before = reading.problems.len();
        let calendar = match sent(&line, now) {
            Ok(calendar) => calendar,
            Err(trouble) => {
                let at = line.words.first().map_or((0, 0), |word| (word.start, word.end));
                reading.problems.push(trouble.at(Span::new(source, at.0, at.1)));
                continue;
            }
        };
        header.on_a_day(calendar.today);
        let mut pieces: Vec<Note> = Vec::new();
        let mut from = 0;
        while from < line.words.len() {
            let rest = line.words.get(from..).unwrap_or_default();
            let mut note = Note::of(source, rest, (places, &vocabulary), (calendar, units));
            note.read(reading);
            from += note.words.len();
            pieces.push(note);
        }
        let only_a_day = pieces.iter().all(Note::is_only_a_day);
        if pieces.iter().any(|note| note.failed) {
            // It may have been a day, which holds for the notes below it.
            header.is_unclear |= only_a_day;
            continue;
        }
        if let ([Note { day: Some(day), .. }], true) = (&pieces[..], only_a_day) {
            header.day = *day;
            header.is_unclear = false;
            continue;
        }
        if header.is_unclear && pieces.iter().all(|note| note.day.is_none()) {
            let at = pieces.first().map(|note| note.span(0, note.words.len()));
            let trouble = Trouble::new("the line above is not understood, and may be the day of this note");
            let trouble = trouble.help("write the day before it: `sat a1-15 full 80`");
            if let Some(at) = at {
                reading.problems.push(trouble.at(at));
            }
            continue;
        }
        let day = rows::day_of_all(&pieces, header.day, reading);
        let made: Vec<Noted> = pieces
            .into_iter()
            .filter_map(|note| Some((note.day.or(day)?, note)))
            .flat_map(|(day, note)| note.finish(day, reading))
            .collect();
        if reading.problems.len() == before {
            noted.extend(made);
        }
    }
    noted
}

/// The day of notes that name none.
struct Header {
    day: TypedDay,
    /// The day on which the lines are sent.
    sent: NaiveDate,
    /// Whether a line that may have named another was not understood.
    is_unclear: bool,
}

impl Header {
    fn of(today: NaiveDate) -> Self {
        Self { day: TypedDay { date: today, year: Year::Said }, sent: today, is_unclear: false }
    }

    /// Comes to a line that was sent on a day: of another than the one before it a day that was written there says nothing.
    fn on_a_day(&mut self, sent: NaiveDate) {
        if sent != self.sent {
            *self = Self::of(sent);
        }
    }
}

/// Returns from where the days of a line are counted.
fn sent(line: &NoteLine, now: Calendar) -> Result<Calendar, Trouble> {
    let Some(text) = &line.sent else { return Ok(now) };
    let day = match (InFigures::of(text), text.parse()) {
        (Some(figures), _) => figures.day(now.order, now.today, text)?,
        (None, Ok(day)) => day,
        (None, Err(_)) => return Ok(now),
    };
    Ok(Calendar { today: day::not_ahead(day, now.today)?, ..now })
}
