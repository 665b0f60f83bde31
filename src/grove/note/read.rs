//! Reads notes word by word.

use super::places::{NotePlaces, NotedPlace};
use super::signs::{self, Word};
use super::values::{self, ambiguous, is_number};
use super::words::{Likeness, Meaning, Vocabulary};
use super::{Noted, NotedRain, NotedValue, TypedDay, Year, day, today};
use crate::grove::reading::Reading;
use crate::grove::target::Target;
use crate::grove::trouble::Trouble;
use crate::plan::{Kind, NameId, Place};
use crate::source::{SourceId, Span};

/// Reads all notes of a text.
pub(super) fn read(source: SourceId, places: &NotePlaces, reading: &mut Reading) -> Vec<Noted> {
    let text = reading.sources.get(source).map(|source| source.text.clone()).unwrap_or_default();
    let vocabulary = Vocabulary::new(reading.plan);
    let mut usual = TypedDay { date: today(reading.as_of), year: Year::Said };
    let mut noted = Vec::new();
    for words in signs::notes(&text) {
        let mut note = Note {
            source,
            words: &words,
            at: 0,
            places,
            vocabulary: &vocabulary,
            day: None,
            place: None,
            groups: vec![Group::default()],
            rain: None,
            remark: None,
            failed: false,
        };
        note.read(reading);
        if note.failed {
            continue;
        }
        match (note.day, note.is_only_a_day()) {
            // It holds for the notes below it.
            (Some(day), true) => usual = day,
            (day, _) => noted.extend(note.finish(day.unwrap_or(usual), reading)),
        }
    }
    noted
}

/// What is said of one group of panicles, or of the tree.
#[derive(Default)]
struct Group {
    share: Option<f64>,
    values: Vec<NotedValue>,
}

struct Note<'n> {
    source: SourceId,
    words: &'n [Word],
    at: usize,
    places: &'n NotePlaces<'n>,
    vocabulary: &'n Vocabulary<'n>,
    day: Option<TypedDay>,
    place: Option<NotedPlace>,
    groups: Vec<Group>,
    rain: Option<NotedRain>,
    remark: Option<String>,
    failed: bool,
}

impl Note<'_> {
    fn rest(&self) -> &[Word] {
        self.words.get(self.at..).unwrap_or_default()
    }

    fn span(&self, from: usize, to: usize) -> Span {
        let first = self.words.get(from).or(self.words.last());
        let last = self.words.get(to.max(from + 1) - 1).or(self.words.last());
        Span::new(self.source, first.map_or(0, |word| word.start), last.map_or(0, |word| word.end))
    }

    /// Reports what is wrong at the word that is read, and goes on behind some words.
    fn wrong(&mut self, trouble: Trouble, count: usize, reading: &mut Reading) {
        reading.problems.push(trouble.at(self.span(self.at, self.at + count)));
        self.failed = true;
        self.at += count;
    }

    fn read(&mut self, reading: &mut Reading) {
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

    fn read_day(&mut self, reading: &mut Reading) -> bool {
        match day::day(self.rest(), today(reading.as_of)) {
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
    fn item(&mut self, reading: &mut Reading) {
        let Some(word) = self.rest().first() else { return };
        match word.small.as_str() {
            "," | "+" | "&" | "and" | "y" => match values::at_least(self.words, self.at) {
                Some(trouble) => self.wrong(trouble, 1, reading),
                None => self.at += 1,
            },
            "no" | "sin" => self.not(reading),
            _ => {
                let understood = self.vocabulary.understand(self.rest());
                let certain = understood.as_ref().is_some_and(|it| it.likeness == Likeness::Whole);
                let may_be_day = !certain && day::day(self.rest(), today(reading.as_of)).is_some();
                match understood {
                    // `mar 6` may be a day, and may be marble.
                    Some(found) if may_be_day && day::month(&word.small).is_some() => {
                        let words: Vec<String> = found
                            .meanings
                            .iter()
                            .map(|it| format!("`{}`", self.vocabulary.said(*it)))
                            .collect();
                        let message = format!("`{}` may be a month or {}", word.text, words.join(" or "));
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

    fn meaning(&mut self, meanings: &[Meaning], count: usize, reading: &mut Reading) {
        match meanings {
            [Meaning::Name(id)] => {
                self.at += count;
                self.value_of(*id, reading);
            }
            [Meaning::Scale(id, _)] => {
                self.value_of(*id, reading);
                self.beside(*id, reading);
            }
            [Meaning::Rain] => {
                self.at += 1;
                match values::rain(self.rest()) {
                    Ok((depth, written, count)) => {
                        self.rain = Some(NotedRain { depth, written });
                        self.at += count;
                    }
                    Err(trouble) => self.wrong(trouble, values::of_value(self.rest()).max(1), reading),
                }
            }
            [Meaning::Panicles] => {
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
            [Meaning::Note] => {
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
                self.wrong(ambiguous(&typed.join(" "), behind, several, with), count, reading);
                // Its value is no error of its own.
                let values = self.rest().iter().take_while(|word| is_number(word)).count();
                self.at += values;
            }
        }
    }

    fn begin_group(&mut self, share: f64) {
        let group = Group { share: Some(share), values: Vec::new() };
        match self.groups.last_mut() {
            Some(last) if last.share.is_none() && last.values.is_empty() => *last = group,
            Some(_) | None => self.groups.push(group),
        }
    }

    /// Reads the value of an observation.
    fn value_of(&mut self, id: NameId, reading: &mut Reading) {
        match values::value(self.rest(), id, reading.plan, self.vocabulary) {
            Ok((value, written, count)) => {
                self.put(NotedValue { name: id, value, written }, count, reading);
                self.at += count;
            }
            Err(trouble) => {
                let count = values::of_value(self.rest());
                self.at = self.at.min(self.words.len().saturating_sub(1));
                self.wrong(trouble, count.max(1), reading);
            }
        }
    }

    fn put(&mut self, value: NotedValue, count: usize, reading: &mut Reading) {
        let at = self.span(self.at, self.at + count);
        let of_panicles = reading.plan[value.name].scope == Place::Panicles;
        // What is seen of the whole tree is not seen of one group.
        let group = if of_panicles { self.groups.last_mut() } else { self.groups.first_mut() };
        let word = &reading.plan[value.name].word;
        let known = group.as_ref().is_some_and(|group| group.values.iter().any(|it| it.name == value.name));
        if known {
            let message = format!("`{word}` is given twice in one note");
            let help =
                "write one note for each; for panicles of different age write `60 % full, 40 % spreading`";
            reading.problems.push(Trouble::new(message).help(help).at(at));
            self.failed = true;
        } else if let Some(group) = group {
            group.values.push(value);
        }
    }

    /// A number behind a word of a scale is the share that is seen of the same thing, where there is just one.
    fn beside(&mut self, scale: NameId, reading: &mut Reading) {
        let Some(word) = self.rest().first().filter(|word| is_number(word)) else { return };
        if day::day(self.rest(), today(reading.as_of)).is_some() {
            return;
        }
        let scope = reading.plan[scale].scope;
        let shares: Vec<NameId> = reading
            .plan
            .observations()
            .filter(|(_, name, _)| name.kind == Kind::Share && name.scope == scope && !name.hidden)
            .map(|(id, _, _)| id)
            .collect();
        match &shares[..] {
            [one] => self.value_of(*one, reading),
            [] => {
                let message = format!("`{}` does not say what it counts", word.text);
                self.wrong(
                    Trouble::new(message).help("write the name of what was seen before the number"),
                    1,
                    reading,
                );
            }
            several => {
                let names: Vec<String> =
                    several.iter().map(|id| format!("`{}`", reading.plan[*id].word)).collect();
                let message = format!("`{}` does not say what it counts: {}", word.text, names.join(" or "));
                self.wrong(Trouble::new(message).help("write the name before the number"), 1, reading);
            }
        }
    }

    /// Reads `no rain` and `no dead wood`.
    fn not(&mut self, reading: &mut Reading) {
        let rest = self.words.get(self.at + 1..).unwrap_or_default();
        let Some(found) = self.vocabulary.understand(rest) else {
            return self.unknown(reading);
        };
        match &found.meanings[..] {
            [Meaning::Rain] => {
                self.rain = Some(NotedRain { depth: 0.0, written: "0 mm".to_string() });
                self.at += 1 + found.count;
            }
            [Meaning::Name(id)] if matches!(reading.plan[*id].kind, Kind::YesNo | Kind::Count) => {
                let (value, written) = match reading.plan[*id].kind {
                    Kind::Count => (crate::grove::SeenValue::Number(0.0), "0"),
                    _ => (crate::grove::SeenValue::Word(0), "no"),
                };
                let value = NotedValue { name: *id, value, written: written.to_string() };
                self.put(value, 1 + found.count, reading);
                self.at += 1 + found.count;
            }
            _ => {
                let help = "write the number: `mildew 0/20`; `no` stands before what is seen or not seen";
                let message = format!(
                    "`no {}` does not say how many were looked at",
                    self.vocabulary.said(found.meanings.first().copied().unwrap_or(Meaning::Note))
                );
                self.wrong(Trouble::new(message).help(help), 1 + found.count, reading);
            }
        }
    }

    /// Reads a share of panicles, or a standard code; anything else is not understood.
    fn without_a_name(&mut self, reading: &mut Reading) {
        if self.place.is_none() {
            match self.places.read(self.rest()) {
                Some(Ok((place, count))) => {
                    self.place = Some(place);
                    self.at += count;
                    return;
                }
                Some(Err(trouble)) => return self.wrong(trouble, 1, reading),
                None => {}
            }
        }
        let rest = self.rest();
        let Some(first) = rest.first().filter(|word| is_number(word)) else { return self.unknown(reading) };
        let percent = first.text.ends_with('%') || rest.get(1).is_some_and(|word| word.text == "%");
        if percent {
            let number = format!("{} %", first.text.trim_end_matches('%'));
            let count = if first.text.ends_with('%') { 1 } else { 2 };
            match crate::grove::tree_list::share(&number) {
                Ok(share) => {
                    self.at += count;
                    self.begin_group(share);
                }
                Err(trouble) => self.wrong(trouble, count, reading),
            }
            return;
        }
        let code = first.text.parse::<u32>().ok();
        let of_code = reading.plan.observations().filter(|(_, name, _)| match name.kind {
            Kind::Words(list) => reading.plan[list].words.iter().any(|word| {
                word.codes.zip(code).is_some_and(|((first, last), code)| (first..=last).contains(&code))
            }),
            _ => false,
        });
        let scales: Vec<NameId> = of_code.map(|(id, _, _)| id).collect();
        match &scales[..] {
            [one] => {
                self.value_of(*one, reading);
                self.beside(*one, reading);
            }
            _ => {
                let message = format!("`{}` does not say what it counts", first.text);
                self.wrong(
                    Trouble::new(message).help("write the name of what was seen before the number"),
                    1,
                    reading,
                );
            }
        }
    }

    fn unknown(&mut self, reading: &mut Reading) {
        let Some(word) = self.rest().first() else { return };
        let named: Vec<String> = reading
            .plan
            .observations()
            .filter(|(_, name, _)| !name.hidden)
            .map(|(_, name, _)| format!("`{}`", name.word))
            .collect();
        let before_all = self.place.is_none() && self.groups.iter().all(|group| group.values.is_empty());
        let like_a_tree = word.small.contains(|sign: char| sign.is_ascii_digit());
        let trouble = if before_all && like_a_tree {
            self.places.unknown(&word.text)
        } else if before_all && self.rain.is_none() {
            let message = format!("`{}` is neither a tree, a block, a day nor anything to see", word.text);
            let near = self.vocabulary.near(&word.small).map(|near| format!("did you mean `{near}`?"));
            let help = "begin with the trees, then write what was seen: `a1-15 full 80 set 0`";
            Trouble::new(message).help(near.unwrap_or_else(|| help.to_string()))
        } else {
            let help = match self.vocabulary.near(&word.small) {
                Some(near) => format!("did you mean `{near}`? Own words go behind `note`"),
                None => format!("write one of {}, or a stage; own words go behind `note`", named.join(", ")),
            };
            Trouble::new(format!("`{}` is not understood", word.text)).help(help)
        };
        self.wrong(trouble, 1, reading);
        // Its value is no error of its own.
        let values = self.rest().iter().take_while(|word| is_number(word)).count();
        self.at += values;
    }

    fn is_only_a_day(&self) -> bool {
        let says = self.groups.iter().any(|group| !group.values.is_empty() || group.share.is_some());
        !says && self.rain.is_none() && self.remark.is_none() && self.place.is_none()
    }

    /// Makes rows of a note that was read.
    fn finish(mut self, day: TypedDay, reading: &mut Reading) -> Vec<Noted> {
        let whole = self.span(0, self.words.len());
        let scope = |value: &NotedValue| reading.plan[value.name].scope;
        let values = || self.groups.iter().flat_map(|group| &group.values);
        let of_grove = values().all(|value| scope(value) == Place::Grove);
        let is_grove = |place: &NotedPlace| place.targets == [Target::Grove];
        if values().next().is_none() && self.rain.is_none() && self.remark.is_none() {
            let help = "write what was seen behind it: `a1-15 full 80 set 0`";
            reading.problems.push(Trouble::new("the note says nothing of these trees").help(help).at(whole));
            return Vec::new();
        }
        let place = match self.place.take() {
            Some(place) => place,
            None if of_grove => match self.places.read_all("grove") {
                Ok(place) => place,
                Err(trouble) => {
                    reading.problems.push(trouble.at(whole));
                    return Vec::new();
                }
            },
            None => {
                let help = "begin with the trees: `a1-15`, a block, `terrace/kent` or `grove`";
                reading.problems.push(Trouble::new("the note does not say which trees").help(help).at(whole));
                return Vec::new();
            }
        };
        if self.rain.is_some() && !is_grove(&place) {
            let help = "write it on a line of its own: `rain 1.3 in sat`";
            reading
                .problems
                .push(Trouble::new("the rain gauge speaks of the whole grove").help(help).at(whole));
            return Vec::new();
        }
        let misplaced = values()
            .find_map(|value| place.targets.iter().find_map(|target| reading.misplaced(value.name, *target)));
        if let Some(trouble) = misplaced {
            let help = "write it in a note of its own that begins with `grove`, or with the block";
            reading.problems.push(trouble.help(help).at(whole));
            return Vec::new();
        }
        let shares: Vec<f64> = self.groups.iter().filter_map(|group| group.share).collect();
        let sum: f64 = shares.iter().sum();
        if !shares.is_empty() && (sum - 1.0).abs() > 1e-6 {
            let sum = crate::units::show(crate::units::clean(sum * 100.0), "%");
            let help = "write every group of panicles with its share: `60 % full 70, 40 % spreading`";
            reading.problems.push(
                Trouble::new(format!("the shares of the panicles add up to {sum}")).help(help).at(whole),
            );
            return Vec::new();
        }
        self.rows(day, &place, whole, reading)
    }

    /// What is seen of a group is a row of its own; what is seen of the tree stands on the first that has no share.
    fn rows(self, day: TypedDay, place: &NotedPlace, at: Span, reading: &Reading) -> Vec<Noted> {
        let mut rows: Vec<Noted> = Vec::new();
        let mut of_tree = Noted {
            day: day.date,
            year: day.year,
            place: place.clone(),
            share: None,
            values: Vec::new(),
            rain: self.rain,
            remark: self.remark,
            at,
        };
        for group in self.groups {
            let of_panicles = |value: &NotedValue| reading.plan[value.name].scope == Place::Panicles;
            let (own, other): (Vec<_>, Vec<_>) =
                group.values.into_iter().partition(|value| group.share.is_some() && of_panicles(value));
            of_tree.values.extend(other);
            if group.share.is_some() {
                rows.push(Noted {
                    day: day.date,
                    year: day.year,
                    place: place.clone(),
                    share: group.share,
                    values: own,
                    rain: None,
                    remark: None,
                    at,
                });
            }
        }
        if !of_tree.values.is_empty() || of_tree.rain.is_some() || of_tree.remark.is_some() {
            rows.push(of_tree);
        }
        rows
    }
}
