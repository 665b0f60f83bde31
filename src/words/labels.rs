//! What a label asks for, and how it was not followed, in the words of a language's catalogue.

use super::Words;
use crate::advice::{LineKept, LineMet};
use crate::measure::Truth;
use crate::plan::{Gate, LabelWord, ProductId};

impl Words<'_> {
    /// Returns what the label line asks for of which a gate is made; nothing where that is not said in days.
    pub fn label_asks(&self, gate: &Gate) -> Option<String> {
        let line = gate.line.as_ref()?;
        self.label_asks_for((line.word, line.product, line.other), gate.label_days(self.plan)?)
    }

    /// Returns a label line that counts days and was not kept, with what was met; nothing of another line.
    pub fn label_broken(&self, line: &LineKept) -> Option<String> {
        if line.broken != Truth::Yes {
            return None;
        }
        let asks = self.label_asks_for((line.word, line.owner, line.other), line.days?)?;
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

    /// Returns a label line in words, `no more than 6 sprays in a season`; one of another form as it is written.
    pub fn label_line(&self, written: &str) -> String {
        const FORMS: [(&str, &str); 5] = [
            ("season at most ", "label.line.season"),
            ("year at most ", "label.line.year"),
            ("single at most ", "label.line.single"),
            ("interval at least ", "label.line.interval"),
            ("before-harvest at least ", "label.line.harvest"),
        ];
        let found = FORMS.iter().find_map(|(lead, key)| Some((written.strip_prefix(lead)?, key)));
        let Some((limit, key)) = found else { return written.to_string() };
        let limit = match limit.strip_suffix(" sprays").map(|count| (count, count == "1")) {
            Some((_, true)) => self.say("label.sprays.one", &[]),
            Some((count, false)) => self.say("label.sprays", &[("count", count)]),
            None => limit.to_string(),
        };
        self.say(key, &[("limit", &limit)])
    }

    fn label_asks_for(
        &self,
        (word, owner, other): (LabelWord, ProductId, Option<ProductId>),
        days: f64,
    ) -> Option<String> {
        let language = self.language;
        let days = crate::units::clean(days);
        let days = match days {
            1.0 => language.say("label.days.one", &[]),
            days => language.say("label.days", &[("count", &days.to_string())]),
        };
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
