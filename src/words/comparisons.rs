//! Comparisons: what a rule asks of a value.

use super::{Speech, Words};
use crate::measure::Extent;
use crate::plan::{Bound, Compare, Kind, Name, Order};
use crate::trace::Sense;
use crate::units::{Unit, show_beside};

/// What numbers are of: their kind, the unit in which they are printed, and whether they are the age of a spray.
#[derive(Clone, Copy, Debug)]
pub struct Measured<'p> {
    /// The kind.
    pub kind: Kind,
    /// The unit.
    pub unit: &'p Unit,
    /// Whether they say how long ago something was sprayed.
    pub of_spray: bool,
}

impl<'p> From<&'p Name> for Measured<'p> {
    fn from(item: &'p Name) -> Self {
        Self { kind: item.kind, unit: &item.unit, of_spray: super::values::since_spray(item) }
    }
}

impl Words<'_> {
    /// Returns a comparison, `20 % or more`. A threshold that would print like the number beside it is printed with
    /// that number: the first of the two.
    pub fn asked(
        &self,
        item: Measured<'_>,
        compare: &Compare,
        sense: Sense,
        beside: Option<f64>,
    ) -> (Option<String>, String) {
        let shown = |bound: &Bound| self.threshold(item, bound, beside);
        match (compare, sense) {
            (Compare::Not(inner), sense) => self.asked(item, inner, sense.turned(), beside),
            (Compare::Numbers { low, high }, sense) => {
                let mut number = None;
                let mut end = |bound: &Option<Bound>| {
                    let bound = bound.as_ref()?;
                    let (beside, at) = shown(bound);
                    number = number.take().or(beside);
                    Some((at, bound.closed))
                };
                let words = match (end(low), end(high), sense) {
                    (Some((at, on)), None, Sense::Refused) => self.ends(item.kind, None, Some((at, !on))),
                    (None, Some((at, on)), Sense::Refused) => self.ends(item.kind, Some((at, !on)), None),
                    (low, high, sense) => self.refused(sense, self.ends(item.kind, low, high)),
                };
                (number, words)
            }
            (Compare::NumberIsOneOf(bounds), sense) => {
                let list: Vec<String> = bounds.iter().map(|bound| shown(bound).1).collect();
                (None, self.refused(sense, self.language.listed("list.or", &list)))
            }
            (Compare::Words(set), Sense::Asked) => (None, self.asked_words(item.kind, *set)),
            (Compare::Words(set), Sense::Refused) => {
                (None, self.asked_words(item.kind, self.all_words(item.kind) & !set))
            }
            (Compare::Texts(texts), sense) => {
                let list: Vec<String> = texts.iter().map(|text| self.text(*text)).collect();
                (None, self.refused(sense, self.language.listed("list.or", &list)))
            }
            (Compare::DaysOfYear(from, to), sense) => {
                let places = [("low", &*self.day_of_year(*from)), ("high", &self.day_of_year(*to))];
                (None, self.refused(sense, self.say("value.from", &places)))
            }
            (Compare::Name(order, other), sense) => {
                let other = self.plan.names.get(other.index()).map_or("", |name| &name.label);
                let key = match order {
                    Order::AtLeast => "value.at-least",
                    Order::AtMost => "value.at-most",
                    Order::Above => "value.above",
                    Order::Below => "value.below",
                    Order::Is => "value.as",
                    Order::IsNot => return (None, self.refused(sense.turned(), self.of("value.as", other))),
                };
                (None, self.refused(sense, self.of(key, other)))
            }
        }
    }

    /// Returns what lies between two ends, each in words and whether it counts itself.
    pub fn ends(&self, kind: Kind, low: Option<(String, bool)>, high: Option<(String, bool)>) -> String {
        let on_time = matches!(kind, Kind::Date | Kind::Clock);
        let one = |key: &str, time: &str, at: &str| self.of(if on_time { time } else { key }, at);
        let (low, high) = match (low, high) {
            (None, None) => return self.say("value.any", &[]),
            (Some((at, true)), None) => return one("value.at-least", "value.at-least.time", &at),
            (Some((at, false)), None) => return one("value.above", "value.above.time", &at),
            (None, Some((at, true))) => return one("value.at-most", "value.at-most.time", &at),
            (None, Some((at, false))) => return one("value.below", "value.below.time", &at),
            (Some(low), Some(high)) => (low, high),
        };
        let key = match (low.1, high.1) {
            (true, true) => "value.from",
            (true, false) => "value.from-below",
            (false, true) => "value.above-to",
            (false, false) => "value.above-below",
        };
        self.say(key, &[("low", &low.0), ("high", &high.0)])
    }

    fn of(&self, key: &str, value: &str) -> String {
        self.say(key, &[("value", value)])
    }

    fn refused(&self, sense: Sense, words: String) -> String {
        match sense {
            Sense::Asked => words,
            Sense::Refused => self.of("value.not", &words),
        }
    }

    /// Returns the threshold, and the number beside it where that must be said with more digits.
    fn threshold(&self, item: Measured<'_>, bound: &Bound, beside: Option<f64>) -> (Option<String>, String) {
        if matches!(item.kind, Kind::Date | Kind::Clock) || bound.value().is_infinite() {
            return (None, self.number_of(item, bound.value()));
        }
        let unit: &Unit = if bound.unit.dimension == item.unit.dimension { &bound.unit } else { item.unit };
        let (value, symbol) = self.speech.parts(item.kind, unit, bound.value());
        match beside.filter(|number| number.is_finite()) {
            Some(number) => {
                let (number, _) = self.speech.parts(item.kind, unit, number);
                let (number, value) = show_beside(number, value, &symbol);
                (Some(number), value)
            }
            None => (
                None,
                self.in_other_system(item.kind, unit, bound.value(), crate::units::show(value, &symbol)),
            ),
        }
    }

    /// Returns a number as it is shown, where both systems are spoken with that of the other behind it.
    pub fn in_other_system(&self, kind: Kind, unit: &Unit, base: f64, shown: String) -> String {
        // Nothing at all is nothing in every unit, but for a point on a scale.
        if self.speech != Speech::Both || base == 0.0 && kind != Kind::Temperature {
            return shown;
        }
        let said = |speech: Speech| {
            let (value, symbol) = speech.parts(kind, unit, base);
            crate::units::show(value, &symbol)
        };
        let other = [Speech::Metric, Speech::Us].map(said).into_iter().find(|it| *it != shown);
        match other {
            Some(other) => self.say("value.other-system", &[("written", &shown), ("other", &other)]),
            None => shown,
        }
    }

    fn all_words(&self, kind: Kind) -> u64 {
        Extent::anything(kind, self.plan).word_set()
    }

    /// Returns a set of words as a condition asks for them: `building or higher`, `full bloom`, `pinhead to marble`.
    pub(super) fn asked_words(&self, kind: Kind, set: u64) -> String {
        let all = self.all_words(kind);
        if !self.plan.orders(kind) || set.count_ones() < 2 {
            return self.words_of(kind, set);
        }
        let (lowest, highest) = (set.trailing_zeros(), 63 - set.leading_zeros());
        let contiguous = highest - lowest + 1 == set.count_ones();
        let top = highest == 63 - all.leading_zeros();
        match (contiguous, lowest == 0, top) {
            (true, false, true) => self.of("value.at-least.word", &self.word(kind, lowest as u16)),
            (true, true, false) => self.of("value.at-most.word", &self.word(kind, highest as u16)),
            _ => self.words_of(kind, set),
        }
    }
}
