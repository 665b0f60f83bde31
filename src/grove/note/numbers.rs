//! Numbers of a note that stand without a name before them: `full 80`, `spreading 5 in`, `10 set`, `60 %`, `615`.

use super::read::Note;
use super::values::{self, is_number};
use super::words::WordMeaning;
use super::{NotedValue, day, today};
use crate::grove::reading::FileReading;
use crate::grove::trouble::Trouble;
use crate::phrase::{Phrase, said};
use crate::plan::{Kind, NameId};

impl Note<'_> {
    /// A number behind a word of a scale is the share that is seen of the same thing, where there is just one.
    pub fn beside(&mut self, scale: NameId, word_of_scale: Option<u16>, reading: &mut FileReading) {
        let Some(word) = self.rest().first().filter(|word| is_number(word)) else { return };
        if day::day(self.rest(), today(reading.as_of)).is_some() {
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
            [one] => self.value_of(*one, reading),
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

    /// Returns what is counted where its name stands behind the number, `10 set`, and how many words that takes.
    fn counts_behind(&self, reading: &FileReading) -> Option<(NameId, usize)> {
        let rest = self.rest();
        rest.first().filter(|word| word.text.bytes().all(|sign| sign.is_ascii_digit()))?;
        let found = self.vocabulary.understand(rest.get(1..)?)?;
        let [WordMeaning::Name(id)] = found.meanings[..] else { return None };
        let has_its_own = rest.get(1 + found.count).is_some_and(is_number);
        (reading.plan[id].kind == Kind::Count && !has_its_own).then_some((id, 1 + found.count))
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
