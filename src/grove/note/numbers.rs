//! Numbers of a note that stand without a name before them: `full 80`, `spreading 5 in`, `10 set`, `60 %`, `615`.

use super::read::Note;
use super::values::{self, is_number};
use super::words::WordMeaning;
use super::{NotedValue, day};
use crate::grove::reading::FileReading;
use crate::grove::trouble::Trouble;
use crate::phrase::{Phrase, said};
use crate::plan::{Kind, NameId};

fn is_whole(text: &str) -> bool {
    text.parse::<u32>().is_ok_and(|number| number <= 100)
}

/// Words between a share and what it is of: `3 of 25 panicles with mildew`.
const BETWEEN: [&str; 12] = [
    "with",
    "have",
    "has",
    "show",
    "showing",
    "panicles",
    "panicle",
    "con",
    "tienen",
    "panículas",
    "paniculas",
    "flowers",
];

impl Note<'_> {
    /// A number behind a word of a scale is the share that is seen of the same thing, where there is just one.
    pub fn beside(&mut self, scale: NameId, word_of_scale: Option<u16>, reading: &mut FileReading) {
        let Some(word) = self.rest().first().filter(|word| is_number(word)) else { return };
        if day::day(self.rest(), self.calendar).is_some() {
            return;
        }
        if self.counts_behind(reading).is_some() {
            return;
        }
        if let Some(count) = self.may_be_counted_behind(reading) {
            let count = &reading.plan[count].word;
            let message = said!(
                "`{word}` may be of the {label} or `{count}`",
                count,
                word = word.text,
                label = &reading.plan[scale].label
            );
            let help = said!("write the name before the number: `{count} {word}`", count, word = word.text);
            return self.wrong(Trouble::new(message).help(help), 1, reading);
        }
        if let Some(id) =
            word_of_scale.and_then(|at| values::measured_beside(self.rest(), (scale, at), reading.plan))
        {
            return self.value_of(id, reading);
        }
        let scope = reading.plan[scale].scope;
        let shares: Vec<NameId> = reading
            .plan
            .observations()
            .filter(|(_, name, _)| name.kind == Kind::Share && name.scope == scope && !name.hidden)
            .map(|(id, _, _)| id)
            .collect();
        match &shares[..] {
            [one] => {
                self.value_of(*one, reading);
                self.pass_name_of(*one);
            }
            [] => {
                let message = said!("`{word}` does not say what it counts", word = word.text);
                self.wrong(
                    Trouble::new(message).help("write the name of what was seen before the number"),
                    1,
                    reading,
                );
            }
            several => {
                let names: Vec<String> =
                    several.iter().map(|id| format!("`{}`", reading.plan[*id].word)).collect();
                let message = said!(
                    "`{word}` does not say what it counts: {names}",
                    word = word.text,
                    names = Phrase::any_of(names)
                );
                self.wrong(Trouble::new(message).help("write the name before the number"), 1, reading);
            }
        }
    }

    /// Passes over the name of what was read where it stands behind its number, `full, 85 open`.
    fn pass_name_of(&mut self, id: NameId) {
        let named =
            self.vocabulary.understand(self.rest()).filter(|it| it.meanings == [WordMeaning::Name(id)]);
        let count = named.map_or(0, |found| found.count);
        if !self.rest().get(count).is_some_and(is_number) {
            self.at += count;
        }
    }

    /// Returns what is counted where its name stands behind the number, `10 set`, and how many words that takes.
    fn counts_behind(&self, reading: &FileReading) -> Option<(NameId, usize)> {
        let rest = self.rest();
        rest.first().filter(|word| word.text.bytes().all(|sign| sign.is_ascii_digit()))?;
        let found = self.vocabulary.understand(rest.get(1..)?)?;
        let [WordMeaning::Name(id)] = found.meanings[..] else { return None };
        let has_its_own = rest.get(1 + found.count).is_some_and(is_number);
        (reading.plan[id].kind == Kind::Count && !has_its_own).then_some((id, 1 + found.count))
    }

    /// Reads a share before its name, `3/25 mildew`, `80% open`, `3 of 25 with black spots`; false where none stands there.
    pub fn share_before_name(&mut self, reading: &mut FileReading) -> bool {
        let rest = self.rest();
        let is_number = |at: usize| rest.get(at).is_some_and(is_number);
        let small = |at: usize| rest.get(at).map_or("", |word| word.small.as_str());
        let of_two = matches!(small(1), "of" | "de" | "out") && (is_number(2) || is_number(3));
        let of_value = match small(1) {
            "%" => 2,
            _ if of_two => {
                if is_number(2) {
                    3
                } else {
                    4
                }
            }
            _ if small(0).ends_with('%') || small(0).contains('/') || is_whole(small(0)) => 1,
            _ => return false,
        };
        let fillers =
            |at: usize| rest.iter().skip(at).take_while(|word| BETWEEN.contains(&&*word.small)).count();
        let name_at = of_value + fillers(of_value);
        let Some(found) = self.vocabulary.understand(rest.get(name_at..).unwrap_or_default()) else {
            return false;
        };
        let [WordMeaning::Name(id)] = found.meanings[..] else { return false };
        let count = name_at + found.count;
        if reading.plan[id].kind != Kind::Share || rest.get(count).is_some_and(super::values::is_number) {
            return false;
        }
        match values::value(rest.get(..of_value).unwrap_or_default(), id, reading.plan, self.vocabulary) {
            Ok((value, written, taken)) if taken == of_value => {
                self.put(NotedValue { name: id, value, written }, count, reading);
                self.at += count;
                true
            }
            _ => false,
        }
    }

    /// Returns what may be counted where a plural behind the number may name it or something else, `12 fruits 3 mm`.
    fn may_be_counted_behind(&self, reading: &FileReading) -> Option<NameId> {
        let rest = self.rest();
        rest.first().filter(|word| word.text.bytes().all(|sign| sign.is_ascii_digit()))?;
        rest.get(1).filter(|word| word.small.ends_with('s'))?;
        let found = self.vocabulary.understand(rest.get(1..)?)?;
        let counted = |meaning: &WordMeaning| match meaning {
            WordMeaning::Name(id) if reading.plan[*id].kind == Kind::Count => Some(*id),
            _ => None,
        };
        (found.meanings.len() > 1).then(|| found.meanings.iter().find_map(counted)).flatten()
    }

    /// Reads a share of panicles, or a standard code; anything else is not understood.
    pub fn without_a_name(&mut self, reading: &mut FileReading) {
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
        if self.rest().first().is_some_and(is_number) && self.share_before_name(reading) {
            return;
        }
        let rest = self.rest();
        let Some(first) = rest.first().filter(|word| is_number(word)) else { return self.unknown(reading) };
        if let Some((id, count)) = self.counts_behind(reading) {
            let written = first.text.clone();
            match crate::grove::value::read(&written, &reading.plan[id], reading.plan) {
                Ok(Some(value)) => self.put(NotedValue { name: id, value, written }, count, reading),
                Ok(None) => {}
                Err(trouble) => return self.wrong(trouble, count, reading),
            }
            self.at += count;
            return;
        }
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
                self.beside(*one, None, reading);
            }
            _ => {
                let message = said!("`{first}` does not say what it counts", first = first.text);
                self.wrong(
                    Trouble::new(message).help("write the name of what was seen before the number"),
                    1,
                    reading,
                );
            }
        }
    }
}
