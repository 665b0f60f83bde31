//! What a label asks for, and how it was not followed, in the words of a language's catalogue.

use super::Words;
use crate::advice::{LineKept, LineMet};
use crate::grove::next_spray;
use crate::measure::Truth;
use crate::plan::{Gate, LabelLimit, LabelWord, ProductId};
use crate::sprayday::{Barred, barred};
use chrono::NaiveDate;

impl Words<'_> {
    /// Returns what the label line asks for of which a gate is made; nothing where that is not said in days.
    pub fn label_asks(&self, gate: &Gate) -> Option<String> {
        let line = gate.line.as_ref()?;
        self.label_asks_for((line.word, line.product, line.other), &line.limit)
    }

    /// Returns a label line that counts days and was not kept, with what was met; nothing of another line.
    pub fn label_broken(&self, line: &LineKept) -> Option<String> {
        if line.broken != Truth::Yes {
            return None;
        }
        let asks = self.label_asks_for((line.word, line.owner, line.other), &line.limit)?;
        let language = self.language;
        let met = match &line.met {
            LineMet::Together => language.say("label.together", &[]),
            LineMet::Value(_, reading) => {
                let days = crate::units::clean(reading.extent.one_number()? / 24.0);
                let keys = match line.word {
                    LabelWord::BeforeHarvest => ["label.left.none", "label.left.one", "label.left"],
                    _ => ["label.passed.none", "label.passed.one", "label.passed"],
                };
                let [none, one, several] = keys;
                let key = match days {
                    0.0 => none,
                    1.0 => one,
                    _ => several,
                };
                language.say(key, &[("count", &days.to_string())])
            }
            LineMet::Sprays(..) | LineMet::Amount(..) => return None,
        };
        Some(language.say("label.broken", &[("asks", &asks), ("met", &met)]))
    }

    /// Returns which products the label lines keep off the trees of a spray that is done on a day, and until when, each in a
    /// sentence.
    pub fn barred(&self, sprayed: &[ProductId], done: NaiveDate) -> Vec<String> {
        let one = |it: &Barred<'_>| {
            let places = [
                ("product", &*self.product(it.product)),
                ("day", &self.day(next_spray(done, it.days))),
                ("asks", &self.label_asks(it.gate)?),
            ];
            Some(self.say("label.bars", &places))
        };
        barred(self.plan, sprayed).iter().filter_map(one).collect()
    }

    /// Returns what a label line says of its own product alone: `no more than 6 sprays in a season`.
    pub fn label_line(&self, word: LabelWord, limit: &LabelLimit) -> String {
        let key = match word {
            LabelWord::Season => "label.line.season",
            LabelWord::Year => "label.line.year",
            LabelWord::Single => "label.line.single",
            LabelWord::Interval => "label.line.interval",
            LabelWord::BeforeHarvest => "label.line.harvest",
            LabelWord::Apart => "label.line.apart",
        };
        let limit = match limit {
            LabelLimit::Days(days) => self.label_days(*days),
            LabelLimit::Sprays(1.0) => self.say("label.sprays.one", &[]),
            LabelLimit::Sprays(count) => self.say("label.sprays", &[("count", &count.to_string())]),
            LabelLimit::Amount(written, _) => written.to_string(),
        };
        self.say(key, &[("limit", &limit)])
    }

    fn label_days(&self, days: f64) -> String {
        match crate::units::clean(days) {
            1.0 => self.say("label.days.one", &[]),
            days => self.say("label.days", &[("count", &days.to_string())]),
        }
    }

    fn label_asks_for(
        &self,
        (word, owner, other): (LabelWord, ProductId, Option<ProductId>),
        limit: &LabelLimit,
    ) -> Option<String> {
        let LabelLimit::Days(days) = limit else { return None };
        let (language, days) = (self.language, self.label_days(*days));
        let owner = self.product(owner);
        match word {
            LabelWord::Apart => {
                let places = [("owner", &*owner), ("days", &days), ("other", &self.product(other?))];
                Some(language.say("label.asks.apart", &places))
            }
            LabelWord::Interval => {
                Some(language.say("label.asks.interval", &[("owner", &owner), ("days", &days)]))
            }
            LabelWord::BeforeHarvest => {
                Some(language.say("label.asks.harvest", &[("owner", &owner), ("days", &days)]))
            }
            LabelWord::Season | LabelWord::Year | LabelWord::Single => None,
        }
    }
}
