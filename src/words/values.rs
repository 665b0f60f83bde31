//! Values: numbers with their units, words of scales, what is not known and why.

use super::Words;
use super::comparisons::Measured;
use super::days::{day_of, time_of};
use crate::measure::{Possible, Reading};
use crate::plan::{Datum, Expr, ExprNode, Kind, Name, NameId, Origin, TextId};
use crate::units::{Dimension, Unit, clean, show};

impl Words<'_> {
    /// Returns what a value is: `61 °F`, `between 40 % and 60 %`, `full bloom`, `not known (nobody looked)`.
    pub fn reading(&self, name: NameId, reading: &Reading) -> String {
        let Some(item) = self.plan.names.get(name.index()) else { return String::new() };
        let extent = reading.extent;
        let because = |key: &str| {
            let value = self.say(key, &[]);
            match &reading.cause {
                Some(cause) => self.say("value.because", &[("value", &value), ("cause", &self.cause(cause))]),
                None => value,
            }
        };
        if extent.is_empty() {
            return because("value.none");
        }
        if extent.may_be_empty || extent.is_anything(item, self.plan) {
            return because("value.unknown");
        }
        match extent.can_be {
            Possible::Numbers(low, high) if low == high => self.number(item, low),
            Possible::Numbers(low, high) => self.between(item, low, high),
            Possible::Words(set) => self.words_of(item.kind, set),
            Possible::Text(text) => self.text(text),
            Possible::Nothing | Possible::AnyText => because("value.unknown"),
        }
    }

    /// Returns readings of a name, of several trees from the lowest to the highest.
    pub fn several(&self, name: NameId, readings: &[Reading]) -> String {
        let one = |reading: &Reading| self.reading(name, reading);
        let [first, _, ..] = readings else { return readings.first().map_or_else(String::new, one) };
        let numbers: Option<Vec<f64>> = readings.iter().map(|reading| reading.extent.one_number()).collect();
        if let (Some(numbers), Some(item)) = (numbers, self.plan.names.get(name.index())) {
            let low = numbers.iter().copied().fold(f64::INFINITY, f64::min);
            let high = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let (low, high) = (self.number(item, low), self.number(item, high));
            return if low == high { low } else { self.say("value.span", &[("low", &low), ("high", &high)]) };
        }
        // Words are said together, each once: `moderate or high`, not `moderate or high or high`.
        let of_words = |reading: &&Reading| {
            let extent = reading.extent;
            let whole = extent.is_anything(&self.plan[name], self.plan);
            extent.word_set() != 0 && !extent.may_be_empty && !whole
        };
        let set = readings.iter().filter(of_words).fold(0, |set, reading| set | reading.extent.word_set());
        let mut all: Vec<String> = Vec::new();
        if set != 0 {
            all.push(self.words_of(self.plan[name].kind, set));
        }
        for reading in readings.iter().filter(|reading| !of_words(reading)) {
            let words = one(reading);
            if !all.contains(&words) {
                all.push(words);
            }
        }
        if all.len() > 4 {
            self.say("value.others", &[("value", &one(first))])
        } else {
            self.language.listed("list.or", &all)
        }
    }

    /// Returns a number of a name.
    pub fn number(&self, item: &Name, base: f64) -> String {
        self.number_of(item.into(), base)
    }

    /// Returns a number.
    pub(super) fn number_of(&self, item: Measured<'_>, base: f64) -> String {
        if base.is_infinite() {
            let key = match (item.kind == Kind::Quantity(Dimension::TIME), base > 0.0) {
                (true, true) if item.of_spray => "value.endless.spray",
                (true, true) => "value.endless.time",
                (_, true) => "value.endless",
                (_, false) => "value.beginningless",
            };
            return self.say(key, &[]);
        }
        let of_calendar = match item.kind {
            Kind::Date => day_of(base).map(|day| self.day(day)),
            Kind::Clock => time_of(base).map(|time| self.clock(time)),
            _ => None,
        };
        of_calendar.unwrap_or_else(|| {
            let (number, symbol) = self.speech.parts(item.kind, item.unit, base);
            show(number, &symbol)
        })
    }

    /// Returns a depth of rain, or between which it is, in millimeters: `0.32 in`.
    pub fn depth(&self, least: f64, most: f64) -> String {
        let symbol = if self.speech == super::Speech::Us { "in" } else { "mm" };
        let shown = |base: f64| {
            let unit = crate::units::plain(symbol);
            show(clean(unit.map_or(base, |unit| unit.amount_from_base(base))), symbol)
        };
        if shown(least) == shown(most) {
            return shown(least);
        }
        self.say("value.span", &[("low", &shown(least)), ("high", &shown(most))])
    }

    /// Returns a share of one: `80 %`.
    pub fn share(&self, share: f64) -> String {
        show(crate::units::clean(share * 100.0), "%")
    }

    fn between(&self, item: &Name, low: f64, high: f64) -> String {
        let number = |end: f64| self.number(item, end);
        match (low.is_finite(), high.is_finite()) {
            (true, true) => self.say("value.between", &[("low", &number(low)), ("high", &number(high))]),
            (true, false) => self.say("value.at-least", &[("value", &number(low))]),
            (false, true) => self.say("value.at-most", &[("value", &number(high))]),
            (false, false) => self.say("value.any", &[]),
        }
    }

    /// Returns the words of a set: `full bloom`, `pinhead to marble`, `quiet or severe`.
    pub fn words_of(&self, kind: Kind, set: u64) -> String {
        let places: Vec<u16> = (0..64).filter(|place| set >> place & 1 == 1).collect();
        let words: Vec<String> = places.iter().map(|place| self.word(kind, *place)).collect();
        match (&words[..], &places[..]) {
            ([first, .., last], [low, .., high])
                if self.plan.orders(kind)
                    && words.len() > 2
                    && usize::from(high - low) + 1 == words.len() =>
            {
                self.say("value.span", &[("low", first), ("high", last)])
            }
            _ => self.language.listed("list.or", &words),
        }
    }

    /// Returns the word at a place of a kind's list.
    pub fn word(&self, kind: Kind, place: u16) -> String {
        if kind == Kind::YesNo {
            return self.say(if place == 1 { "value.yes" } else { "value.no" }, &[]);
        }
        let word = kind.list().and_then(|list| self.plan[list].words.get(usize::from(place)));
        word.map_or_else(String::new, |word| word.shown.to_string())
    }

    /// Returns a value of a kind, numbers in a unit.
    pub fn datum(&self, kind: Kind, unit: &Unit, datum: Datum) -> String {
        match datum {
            Datum::Number(base) => {
                let shown = self.number_of(Measured { kind, unit, of_spray: false }, base);
                if matches!(kind, Kind::Date | Kind::Clock) {
                    return shown;
                }
                self.in_other_system(kind, unit, base, shown)
            }
            Datum::Word(place) => self.word(kind, place),
            Datum::Text(text) => self.text(text),
        }
    }

    /// Returns a text of the rulebook; another than those it names has no words here.
    pub fn text(&self, text: TextId) -> String {
        let known = self.plan.texts.get(text.0 as usize);
        known.map_or_else(|| self.say("value.text.other", &[]), |text| text.to_string())
    }

    /// Returns what is to be known of readings, each after a comma: that they are assumed, or rest on a forecast.
    pub fn marks(&self, readings: &[Reading]) -> String {
        let (assumed, forecast) =
            (readings.iter().any(|it| it.assumed), readings.iter().any(|it| it.forecast));
        let marks = [("value.assumed", assumed), ("value.forecast", forecast)];
        let said =
            marks.into_iter().filter(|(_, is)| *is).map(|(key, _)| format!(", {}", self.say(key, &[])));
        said.collect()
    }

    /// Returns the mark of readings that are assumed, after a comma.
    pub fn assumed(&self, readings: &[Reading]) -> String {
        let assumed = readings.iter().any(|it| it.assumed);
        if assumed { format!(", {}", self.say("value.assumed", &[])) } else { String::new() }
    }
}

/// Returns whether a name says how long ago something was sprayed.
pub(super) fn since_spray(item: &Name) -> bool {
    fn part(expr: &Expr) -> bool {
        let mut found = matches!(&*expr.node, ExprNode::DaysSinceLast(_));
        expr.each_part(&mut |child| found |= part(child));
        found
    }
    matches!(&item.origin, Origin::Measure(measure) if part(&measure.expr))
}
