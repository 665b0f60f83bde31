//! Reads notes word by word.

use super::day::Calendar;
use super::places::{NotePlaces, NotedPlace};
use super::signs::Word;
use super::values::{self, ambiguous};
use super::words::{Likeness, Vocabulary, WordMeaning};
use super::{NotedRain, NotedValue, TypedDay, day};
use crate::grove::figures::InFigures;
use crate::grove::reading::FileReading;
use crate::grove::trouble::Trouble;
use crate::grove::value::SeenValue;
use crate::grove::{UnitSystem, time_of_day};
use crate::phrase::{Phrase, said};
use crate::plan::{Kind, NameId, Place};
use crate::source::{SourceId, Span};
use chrono::NaiveTime;

/// What a sample is counted of.
pub(super) const PANICLES: [&str; 6] = ["panicles", "panicle", "panículas", "paniculas", "shoots", "brotes"];

/// Reads a time of a day at the beginning of some words, and how many words it takes: `noon`, `at 6:30 am`, `a las 7pm`.
fn time(words: &[Word]) -> Option<(NaiveTime, usize)> {
    let small = |at: usize| words.get(at).map_or("", |word| word.small.as_str());
    let before = match (small(0), small(1)) {
        ("at" | "al", _) => 1,
        ("a", "las" | "la") => 2,
        _ => 0,
    };
    let both = [small(before), small(before + 1)].concat();
    let is_half = matches!(small(before + 1), "am" | "pm" | "a.m" | "p.m");
    let both = time_of_day(&both).filter(|_| is_half).map(|time| (time, before + 2));
    let is_time = |text: &str| text.contains(':') || !text.bytes().all(|sign| sign.is_ascii_digit());
    both.or_else(|| {
        time_of_day(small(before)).filter(|_| is_time(small(before))).map(|time| (time, before + 1))
    })
}

/// What is said of one group of panicles, or of the tree.
#[derive(Default)]
pub(super) struct GroupNote {
    pub share: Option<f64>,
    pub values: Vec<NotedValue>,
}

pub(super) struct Note<'n> {
    pub source: SourceId,
    pub words: &'n [Word],
    pub at: usize,
    pub places: &'n NotePlaces<'n>,
    pub vocabulary: &'n Vocabulary<'n>,
    pub calendar: Calendar,
    pub units: UnitSystem,
    pub day: Option<TypedDay>,
    /// The time of the day at which it was seen.
    pub time: Option<NaiveTime>,
    pub place: Option<NotedPlace>,
    pub groups: Vec<GroupNote>,
    pub rain: Option<NotedRain>,
    pub remark: Option<String>,
    /// Whether the rain is that of the night that is over.
    pub last_night: bool,
    pub failed: bool,
}

impl<'n> Note<'n> {
    pub fn of(
        source: SourceId,
        words: &'n [Word],
        (places, vocabulary): (&'n NotePlaces<'n>, &'n Vocabulary<'n>),
        (calendar, units): (Calendar, UnitSystem),
    ) -> Self {
        Note {
            source,
            words,
            at: 0,
            places,
            vocabulary,
            calendar,
            units,
            day: None,
            time: None,
            place: None,
            groups: vec![GroupNote::default()],
            rain: None,
            remark: None,
            last_night: false,
            failed: false,
        }
    }

    pub fn rest(&self) -> &[Word] {
        self.words.get(self.at..).unwrap_or_default()
    }

    pub fn span(&self, from: usize, to: usize) -> Span {
        let first = self.words.get(from).or(self.words.last());
        let last = self.words.get(to.max(from + 1) - 1).or(self.words.last());
        Span::new(self.source, first.map_or(0, |word| word.start), last.map_or(0, |word| word.end))
    }

    /// Reports what is wrong at the word that is read, and goes on behind some words.
    pub fn wrong(&mut self, trouble: Trouble, count: usize, reading: &mut FileReading) {
        reading.problems.push(trouble.at(self.span(self.at, self.at + count)));
        self.failed = true;
        self.at += count;
    }

    pub fn read(&mut self, reading: &mut FileReading) {
        self.read_day(reading);
        match self.places.read(self.rest()) {
            Some(Ok((place, count))) => {
                self.place = Some(place);
                self.at += count;
            }
            Some(Err(trouble)) => self.wrong(trouble, 1, reading),
            None => {}
        }
        while self.at < self.words.len() {
            let before = self.at;
            self.item(reading);
            // Every item takes a word at least.
            self.at = self.at.max(before + 1);
        }
    }

    fn read_day(&mut self, reading: &mut FileReading) -> bool {
        match day::day(self.rest(), self.calendar) {
            None => false,
            Some(Err(trouble)) => {
                self.wrong(trouble, 1, reading);
                true
            }
            Some(Ok((day, count))) => {
                if self.day.is_some_and(|before| before.date != day.date) {
                    let help = "write one note for each day";
                    self.wrong(Trouble::new("the note speaks of two days").help(help), count, reading);
                } else {
                    self.day = Some(day);
                    self.at += count;
                }
                true
            }
        }
    }

    /// Reads one thing that was seen.
    fn item(&mut self, reading: &mut FileReading) {
        let Some(word) = self.rest().first().cloned() else { return };
        match word.small.as_str() {
            "," | "+" | "&" | "and" | "y" => match values::at_least(self.words, self.at) {
                Some(trouble) => self.wrong(trouble, 1, reading),
                None if self.says_something()
                    && self.places.begins(self.rest().get(1..).unwrap_or_default()) =>
                {
                    // What follows is of other trees: a note of its own.
                    self.at += 1;
                    self.words = self.words.get(..self.at).unwrap_or_default();
                }
                None => self.at += 1,
            },
            "no" | "sin" => self.not(reading),
            "not" | "never" if !self.is_a_whole_name() => {
                let message = said!("`{word}` turns round what is written behind it", word = word.text);
                let help = "write what is so: `no dead-wood`, `mildew 0/20`, the stage that was seen; own words go behind `note`";
                self.wrong(Trouble::new(message).help(help), 1, reading);
            }
            "some" | "many" | "several" if self.names_what_is_or_is_not(reading) => self.at += 1,
            "anoche" => {
                self.last_night = true;
                self.at += 1;
            }
            "last" if self.rest().get(1).is_some_and(|next| next.small == "night") => {
                self.last_night = true;
                self.at += 2;
            }
            _ if let Some((time, count)) = time(self.rest()) => {
                self.time = Some(time);
                self.at += count;
            }
            _ => {
                let understood = self.vocabulary.understand(self.rest());
                let certain = understood.as_ref().is_some_and(|it| it.likeness == Likeness::Whole);
                if word.small.contains('/') && self.share_before_name(reading) {
                    return;
                }
                // Figures without a year are a day at the beginning of a note or at its end; between they may be a sample.
                let in_figures = InFigures::of(&word.small).is_some_and(|figures| !figures.has_year());
                let last = self.at + 1 == self.words.len();
                let may_be_day =
                    !certain && (!in_figures || last) && day::day(self.rest(), self.calendar).is_some();
                match understood {
                    // `mar 6` may be a day, and may be marble.
                    Some(found) if may_be_day && day::month(&word.small).is_some() => {
                        let words: Vec<String> = found
                            .meanings
                            .iter()
                            .map(|it| format!("`{}`", self.vocabulary.said(*it)))
                            .collect();
                        let message = said!(
                            "`{word}` may be a month or {words}",
                            word = word.text,
                            words = Phrase::any_of(words)
                        );
                        let help = "write the day as `2027-02-08`, or the whole word";
                        self.wrong(Trouble::new(message).help(help), 1, reading);
                    }
                    _ if may_be_day => {
                        self.read_day(reading);
                    }
                    Some(found) => self.meaning(&found.meanings, found.count, reading),
                    None => self.without_a_name(reading),
                }
            }
        }
    }

    /// Returns whether anything was read of the trees that the note names.
    fn says_something(&self) -> bool {
        self.place.is_some() && self.groups.iter().any(|group| !group.values.is_empty())
    }

    fn is_a_whole_name(&self) -> bool {
        self.vocabulary.understand(self.rest()).is_some_and(|it| it.likeness == Likeness::Whole)
    }

    /// Returns whether the word behind the one that is read names what is there or is not.
    fn names_what_is_or_is_not(&self, reading: &FileReading) -> bool {
        let found = self.vocabulary.understand(self.rest().get(1..).unwrap_or_default());
        let of = |meaning: &WordMeaning| matches!(meaning, WordMeaning::Name(id) if reading.plan[*id].kind == Kind::YesNo);
        found.is_some_and(|found| found.meanings.iter().all(of))
    }

    fn meaning(&mut self, meanings: &[WordMeaning], count: usize, reading: &mut FileReading) {
        match meanings {
            [WordMeaning::Name(id)] => {
                self.at += count;
                self.value_of(*id, reading);
                let is_there = ["about", "around", "there", "seen"];
                let next = self.rest().first();
                if reading.plan[*id].kind == Kind::YesNo
                    && next.is_some_and(|next| is_there.contains(&next.small.as_str()))
                {
                    self.at += 1;
                }
            }
            [WordMeaning::Scale(id, at)] => {
                self.value_of(*id, reading);
                self.beside(*id, Some(*at), reading);
            }
            [WordMeaning::Rain] => {
                self.at += count;
                // `rain yesterday .5`, but not `rain 1/2 inch`.
                let with_unit = values::rain(self.rest(), self.units).is_ok_and(|(_, count)| count > 1);
                if !with_unit && day::day(self.rest(), self.calendar).is_some() {
                    self.read_day(reading);
                }
                match values::rain(self.rest(), self.units) {
                    Ok((rain, count)) => {
                        self.rain = Some(rain);
                        self.at += count;
                    }
                    Err(trouble) => self.wrong(trouble, values::of_value(self.rest()).max(1), reading),
                }
            }
            [WordMeaning::Panicles] => {
                self.at += 1;
                let word = self.rest().first().map(|word| word.text.clone()).unwrap_or_default();
                let given = if word.ends_with('%') { word } else { format!("{word} %") };
                match crate::grove::tree_list::share(&given) {
                    Ok(share) => {
                        self.at += 1;
                        self.begin_group(share);
                        if self.rest().first().is_some_and(|word| word.text == "%") {
                            self.at += 1;
                        }
                    }
                    Err(trouble) => self.wrong(trouble, 1, reading),
                }
            }
            [WordMeaning::Note] => {
                let start = self.words.get(self.at + 1).map(|word| word.start);
                let text =
                    reading.sources.get(self.source).map(|source| source.text.clone()).unwrap_or_default();
                let end = self.words.last().map_or(0, |word| word.end);
                let said = start.and_then(|start| text.get(start..end)).unwrap_or_default();
                self.remark =
                    Some(said.trim_matches(['"', '“', '”', ' ']).to_string()).filter(|it| !it.is_empty());
                self.at = self.words.len();
            }
            several => {
                let typed: Vec<&str> =
                    self.rest().iter().take(count).map(|word| word.text.as_str()).collect();
                let behind = self.rest().get(count..).unwrap_or_default();
                let with = (reading.plan, self.vocabulary);
                if let Some(id) = values::only_one(behind, several, with) {
                    self.at += count;
                    return self.value_of(id, reading);
                }
                self.wrong(ambiguous(&typed.join(" "), behind, several, with), count, reading);
                // Its value is no error of its own.
                self.at += values::of_value(self.rest());
            }
        }
    }

    pub fn begin_group(&mut self, share: f64) {
        let group = GroupNote { share: Some(share), values: Vec::new() };
        match self.groups.last_mut() {
            Some(last) if last.share.is_none() && last.values.is_empty() => *last = group,
            Some(_) | None => self.groups.push(group),
        }
    }

    /// Reads the value of an observation.
    pub fn value_of(&mut self, id: NameId, reading: &mut FileReading) {
        match values::value(self.rest(), id, reading.plan, self.vocabulary) {
            Ok((value, written, count)) => {
                let sample = matches!(value, SeenValue::Sample { .. });
                self.put(NotedValue { name: id, value, written }, count, reading);
                self.at += count;
                // `black on 3 of 25 panicles`
                let counted = self.rest().first().is_some_and(|word| PANICLES.contains(&&*word.small));
                if sample && counted && !self.rest().get(1).is_some_and(values::is_number) {
                    self.at += 1;
                }
            }
            Err(trouble) => {
                let count = values::of_value(self.rest());
                self.at = self.at.min(self.words.len().saturating_sub(1));
                self.wrong(trouble, count.max(1), reading);
            }
        }
    }

    pub fn put(&mut self, value: NotedValue, count: usize, reading: &mut FileReading) {
        let at = self.span(self.at, self.at + count);
        let of_panicles = reading.plan[value.name].scope == Place::Panicles;
        // What is seen of the whole tree is not seen of one group.
        let group = if of_panicles { self.groups.last_mut() } else { self.groups.first_mut() };
        let word = &reading.plan[value.name].word;
        let known = group.as_ref().is_some_and(|group| group.values.iter().any(|it| it.name == value.name));
        if known {
            let message = said!("`{word}` is given twice in one note", word);
            let help =
                "write one note for each; for panicles of different age write `60 % full, 40 % spreading`";
            reading.problems.push(Trouble::new(message).help(help).at(at));
            self.failed = true;
        } else if let Some(group) = group {
            group.values.push(value);
        }
    }

    pub fn unknown(&mut self, reading: &mut FileReading) {
        let Some(word) = self.rest().first() else { return };
        let named: Vec<String> = reading
            .plan
            .observations()
            .filter(|(_, name, _)| !name.hidden)
            .map(|(_, name, _)| format!("`{}`", name.word))
            .collect();
        let nothing_yet = self.groups.iter().all(|group| group.values.is_empty() && group.share.is_none());
        let before_all = self.place.is_none() && nothing_yet;
        let like_a_tree = word.small.contains(|sign: char| sign.is_ascii_digit());
        let trouble = if nothing_yet && self.rain.is_none() && like_a_tree {
            self.places.unknown(&word.text)
        } else if before_all && self.rain.is_none() {
            let message =
                said!("`{word}` is neither a tree, a block, a day nor anything to see", word = word.text);
            let near = self.vocabulary.near(&word.small).map(|near| said!("did you mean `{near}`?", near));
            let help = "begin with the trees, then write what was seen: `a1-15 full 80 set 0`";
            Trouble::new(message).help(near.unwrap_or_else(|| help.into()))
        } else {
            let help = match self.vocabulary.near(&word.small) {
                Some(near) => said!("did you mean `{near}`? Own words go behind `note`", near),
                None => said!(
                    "write one of {named}, or a stage; own words go behind `note`",
                    named = named.join(", ")
                ),
            };
            Trouble::new(said!("`{word}` is not understood", word = word.text)).help(help)
        };
        self.wrong(trouble, 1, reading);
        // Its value is no error of its own.
        self.at += values::of_value(self.rest());
    }
}
