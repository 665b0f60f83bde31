//! What a label asks for, and whether it was followed, in the words of a language's catalogue.

use super::Words;
use crate::labels::{Barred, BrokenLabel, LineKept, LineMet, barred};
use crate::measure::Truth;
use crate::plan::{Kind, LabelLimit, LabelLine, LabelWord, ProductId, number_in};
use crate::problems::{Finding, Problem, Problems};
use crate::units::{Unit, clean, show};
use chrono::{Duration, NaiveDate};

impl Words<'_> {
    /// Returns a label line with what it met on some trees: `the copper label asks for 7 days between sprays; only 5 have
    /// passed (A01–A15)`.
    pub fn label_kept(&self, line: &LineKept, trees: &str) -> String {
        if let Some(words) = self.label_broken(line) {
            return format!("{words} ({trees})");
        }
        let met = match &line.met {
            LineMet::Value(name, reading) => {
                format!("{} {}", self.label(*name), self.reading(*name, reading))
            }
            LineMet::Sprays(so_far, most) => {
                let (number, most) = (clean(*so_far).to_string(), clean(*most).to_string());
                self.say("logged.sprays", &[("number", &number), ("most", &most)])
            }
            LineMet::Amount(total, most, of) => {
                let of = of.as_ref().map_or_else(String::new, |of| format!(" {}", self.ingredient(of)));
                let most = self.amount_on_label(*most, &line.label.limit);
                match total {
                    Some(total) => {
                        let total = self.amount_on_label(*total, &line.label.limit) + &of;
                        self.say("logged.amount", &[("total", &total), ("most", &most)])
                    }
                    None => self.say("logged.amount.unknown", &[("most", &(most + &of))]),
                }
            }
            LineMet::Together => self.say("label.together", &[]),
        };
        let (product, asked) =
            (self.product(line.label.product), self.label_line(line.label.word, &line.label.limit));
        let places = [("product", &*product), ("line", &asked), ("met", &met), ("trees", trees)];
        self.say("logged.line", &places)
    }

    /// Returns a label line that counts days and was not kept, with what was met; nothing of another line.
    fn label_broken(&self, line: &LineKept) -> Option<String> {
        if line.broken != Truth::Yes {
            return None;
        }
        let asks = self.label_asks(&line.label)?;
        let language = self.language;
        let met = match &line.met {
            LineMet::Together => language.say("label.together", &[]),
            LineMet::Value(_, reading) => {
                let days = clean(reading.extent.one_number()? / 24.0);
                let keys = match line.label.word {
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
                ("day", &self.day(it.until(done))),
                ("asks", &self.label_asks(it.line)?),
            ];
            Some(self.say("label.bars", &places))
        };
        barred(self.plan, sprayed).iter().filter_map(one).collect()
    }

    /// Adds to what was found in the files of a grove the sprays of its log that broke a label, each at its row.
    pub fn with_broken_labels(&self, of_data: &Problems, broken: &[BrokenLabel]) -> Problems {
        let mut all = of_data.clone();
        broken.iter().for_each(|it| all.push(Problem::new(Finding::InputNote, it.at, self.label_note(it))));
        all.sort();
        all
    }

    fn label_note(&self, BrokenLabel { day, line, .. }: &BrokenLabel) -> String {
        let name = |id: ProductId| self.plan.products.get(id.index()).map_or("", |it| &*it.name);
        let LabelLine { product: owner, other, written, word, limit } = &line.label;
        // Of a line that keeps two apart the one that was sprayed before, or with it.
        let beside = ("product", name(other.filter(|other| *other != line.product).unwrap_or(*owner)));
        let why = match &line.met {
            LineMet::Value(_, reading) => {
                let days = clean(reading.extent.one_number().unwrap_or_default() / 24.0);
                let (key, ahead) = match word {
                    LabelWord::BeforeHarvest => ("label.note.harvest", days),
                    _ => ("label.note.since", -days),
                };
                let on = Duration::try_days(ahead as i64).and_then(|days| day.checked_add_signed(days));
                let on = on.unwrap_or(*day).to_string();
                self.say(key, &[beside, ("days", &days.to_string()), ("day", &on)])
            }
            LineMet::Sprays(number, _) => {
                self.say("label.note.sprays", &[("number", &clean(*number).to_string())])
            }
            LineMet::Amount(Some(total), most, _)
                if matches!(word, LabelWord::Single | LabelWord::Strength) =>
            {
                self.say("label.note.times", &[("times", show(total / most, "").trim_end())])
            }
            LineMet::Amount(Some(total), ..) => {
                let amount = number_in(Kind::Number, &self.unit_on_label(limit), *total);
                self.say("label.note.amount", &[("amount", &amount)])
            }
            LineMet::Amount(None, ..) => self.say("label.note.more", &[]),
            LineMet::Together => self.say("label.note.together", &[beside]),
        };
        let places = [("owner", name(*owner)), ("line", written), ("why", &why)];
        self.say("label.note", &[&[("product", name(line.product))], &places[..]].concat())
    }

    fn unit_on_label(&self, limit: &LabelLimit) -> Unit {
        match limit {
            LabelLimit::Amount(_, unit) => self.speech.unit(unit),
            LabelLimit::Days(_) | LabelLimit::Sprays(_) => Unit::none(),
        }
    }

    fn amount_on_label(&self, base: f64, limit: &LabelLimit) -> String {
        let unit = self.unit_on_label(limit);
        show((unit.amount_from_base(base) * 1000.0).round() / 1000.0, &unit.symbol)
    }

    /// Returns what a label line says of its own product alone: `no more than 6 sprays in a season`.
    pub fn label_line(&self, word: LabelWord, limit: &LabelLimit) -> String {
        let key = match word {
            LabelWord::Season => "label.line.season",
            LabelWord::Year => "label.line.year",
            LabelWord::Single => "label.line.single",
            LabelWord::Strength => "label.line.strength",
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
        match clean(days) {
            1.0 => self.say("label.days.one", &[]),
            days => self.say("label.days", &[("count", &days.to_string())]),
        }
    }

    /// Returns what a label line asks for, in days; nothing of a line that counts something else.
    pub fn label_asks(&self, line: &LabelLine) -> Option<String> {
        let LabelLimit::Days(days) = line.limit else { return None };
        let (days, owner) = (self.label_days(days), self.product(line.product));
        let mut places = vec![("owner", owner), ("days", days)];
        let key = match line.word {
            LabelWord::Apart => {
                places.push(("other", self.product(line.other?)));
                "label.asks.apart"
            }
            LabelWord::Interval => "label.asks.interval",
            LabelWord::BeforeHarvest => "label.asks.harvest",
            LabelWord::Season | LabelWord::Year | LabelWord::Single | LabelWord::Strength => return None,
        };
        let places: Vec<(&str, &str)> = places.iter().map(|(key, said)| (*key, &**said)).collect();
        Some(self.say(key, &places))
    }
}
