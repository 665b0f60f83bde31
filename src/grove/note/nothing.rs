//! What a note says is not there: `no rain`, `no dead wood`, `no mildew`, `no fruit`.

use super::read::Note;
use super::values;
use super::words::{Understood, WordMeaning};
use super::{NotedRain, NotedValue};
use crate::grove::reading::FileReading;
use crate::grove::trouble::Trouble;
use crate::grove::value::SeenValue;
use crate::phrase::said;
use crate::plan::{Kind, NameId, Plan};

impl Note<'_> {
    /// Reads `no rain`, `no dead wood` and `no mildew in 20`.
    pub fn not(&mut self, reading: &mut FileReading) {
        let rest = self.words.get(self.at + 1..).unwrap_or_default();
        let Some(found) = self.vocabulary.understand(rest) else {
            return self.unknown(reading);
        };
        match &found.meanings[..] {
            [WordMeaning::Rain] => {
                self.rain = Some(NotedRain::none());
                self.at += 1 + found.count;
            }
            meanings if let Some(id) = none_of(meanings, reading.plan) => {
                let behind = rest.get(found.count..).unwrap_or_default();
                let (of, more) = values::looked_at(behind).map_or((None, 0), |(of, more)| (Some(of), more));
                let (value, written) = match (reading.plan[id].kind, of) {
                    (Kind::YesNo, _) => (SeenValue::Word(0), "no".to_string()),
                    (Kind::Share, Some(of)) => (SeenValue::Sample { found: 0, of }, format!("0 of {of}")),
                    (Kind::Share, None) if values::needs_a_sample(id, reading.plan) => {
                        return self.not_counted(&found, reading);
                    }
                    (Kind::Share, None) => (SeenValue::Number(0.0), "0 %".to_string()),
                    _ => (SeenValue::Number(0.0), "0".to_string()),
                };
                let count = 1 + found.count + if reading.plan[id].kind == Kind::Share { more } else { 0 };
                self.put(NotedValue { name: id, value, written }, count, reading);
                self.at += count;
            }
            _ => self.not_counted(&found, reading),
        }
    }

    /// Asks of how many nothing was found.
    fn not_counted(&mut self, found: &Understood, reading: &mut FileReading) {
        let help = "write the number: `mildew 0/20`, or `no mildew in 20`";
        let name = self.vocabulary.said(found.meanings.first().copied().unwrap_or(WordMeaning::Note));
        let message = said!("`no {name}` does not say how many were looked at", name);
        self.wrong(Trouble::new(message).help(help), 1 + found.count, reading);
    }
}

/// Returns of what nothing is there, or none: of several observations that a word may mean, `no fruit`, the one that is counted.
fn none_of(meanings: &[WordMeaning], plan: &Plan) -> Option<NameId> {
    let of_kind = |wanted: &dyn Fn(Kind) -> bool| -> Vec<NameId> {
        let named = meanings.iter().filter_map(|meaning| match meaning {
            WordMeaning::Name(id) => Some(*id),
            _ => None,
        });
        named.filter(|id| wanted(plan[*id].kind)).collect()
    };
    let can_be_none = of_kind(&|kind| matches!(kind, Kind::YesNo | Kind::Count | Kind::Share));
    match (&can_be_none[..], meanings.len(), &of_kind(&|kind| kind == Kind::Count)[..]) {
        ([one], 1, _) | (_, _, [one]) => Some(*one),
        _ => None,
    }
}
