//! A comparison with the value it met, in one phrase: `open flowers 80 % (rule: 20 % or more)`.

use super::Words;
use super::comparisons::Measured;
use crate::explain::{Compared, PanicleValues};
use crate::measure::{Extent, Reading, Truth, compare};
use crate::plan::spaced;
use crate::plan::{Compare, Condition, ExprNode, Kind, Name, NameId, Quantifier, Subject, Test};
use crate::trace::Sense;
use crate::units::Unit;

impl Words<'_> {
    /// Returns a comparison with the value it met. Where no value is to be shown, only what is asked for is said.
    pub fn compared(&self, met: &Compared) -> String {
        let Subject::Name(id) = met.test.subject else { return self.test(&met.test, met.sense) };
        let Some(item) = self.plan.names.get(id.index()) else { return met.test.written.to_string() };
        if item.kind == Kind::YesNo {
            return self.yes_or_no(id, item, met);
        }
        if met.readings.is_empty() {
            return self.test(&met.test, met.sense);
        }
        let (digits, asked) =
            self.asked(item.into(), &met.test.compare, met.sense, lone_number(&met.readings));
        let shown = digits.unwrap_or_else(|| self.several(id, &met.readings)) + &self.marks(&met.readings);
        if shown == asked {
            return self.say("met.is", &[("name", &item.label), ("value", &shown)]);
        }
        let key = if self.is_unknown(met) { "met.rule.unknown" } else { "met.rule" };
        self.say(key, &[("name", &item.label), ("value", &shown), ("rule", &asked)])
    }

    /// Returns only the value that a comparison met, with its name: `open flowers 80 %`; the comparison where none was.
    pub fn met(&self, met: &Compared) -> String {
        let item = match met.test.subject {
            Subject::Name(id) => self.plan.names.get(id.index()).map(|item| (id, item)),
            _ => None,
        };
        let Some((id, item)) = item.filter(|(_, item)| item.kind != Kind::YesNo && !met.readings.is_empty())
        else {
            return self.compared(met);
        };
        let shown = self.several(id, &met.readings) + &self.marks(&met.readings);
        self.say("met.is", &[("name", &item.label), ("value", &shown)])
    }

    /// Returns whether what was compared is not known at all.
    pub fn is_unknown(&self, met: &Compared) -> bool {
        let unknown = |id: &NameId, readings: &[Reading]| {
            readings.iter().any(|reading| {
                let extent = reading.extent;
                let anything =
                    self.plan.names.get(id.index()).is_some_and(|it| extent.is_anything(it, self.plan));
                !extent.is_empty() && (extent.may_be_empty || anything)
            })
        };
        let Subject::Name(id) = met.test.subject else { return false };
        let of_panicles = met.panicles.iter().flat_map(|group| &group.values);
        unknown(&id, &met.readings) || of_panicles.into_iter().any(|(id, readings)| unknown(id, readings))
    }

    /// Returns a condition without values; a part that is joined otherwise than the whole stands in parentheses.
    pub fn condition(&self, condition: &Condition, sense: Sense) -> String {
        self.joined(condition, sense, None)
    }

    fn joined(&self, condition: &Condition, sense: Sense, within: Option<&str>) -> String {
        let (key, parts) = match (condition, sense) {
            (Condition::Test(test), sense) => return self.test(test, sense),
            (Condition::Not(inner), sense) => return self.joined(inner, sense.turned(), within),
            (Condition::All(parts), Sense::Asked) | (Condition::Any(parts), Sense::Refused) => {
                ("list.and", parts)
            }
            (Condition::Any(parts), Sense::Asked) | (Condition::All(parts), Sense::Refused) => {
                ("list.or", parts)
            }
        };
        let words: Vec<String> = parts.iter().map(|part| self.joined(part, sense, Some(key))).collect();
        let said = self.language.listed(key, &words);
        let nested = words.len() > 1 && within.is_some_and(|within| within != key);
        if nested { format!("({said})") } else { said }
    }

    /// Returns a comparison without a value.
    fn test(&self, test: &Test, sense: Sense) -> String {
        let (label, kind, unit): (String, Kind, &Unit) = match test.subject {
            Subject::Name(id) => match self.plan.names.get(id.index()) {
                Some(item) => match self.of_panicles(item, asks_yes(&test.compare, sense)) {
                    Some(words) => return words,
                    None => (item.label.to_string(), item.kind, &item.unit),
                },
                None => return test.written.to_string(),
            },
            Subject::Series(series) => {
                let label = self.say(&format!("series.{}", series.word()), &[]);
                let kind = series.kind();
                if kind == Kind::YesNo {
                    return self.statement(&label, asks_yes(&test.compare, sense));
                }
                match written_unit(&test.compare) {
                    Some(unit) => (label, kind, unit),
                    None => return test.written.to_string(),
                }
            }
            Subject::Hourly(id) => match self.plan.hourlies.get(id.index()) {
                Some(item) => (spaced(&item.label), item.kind, &item.unit),
                None => return test.written.to_string(),
            },
            Subject::Daily(id) => match self.plan.dailies.get(id.index()) {
                Some(item) => (spaced(&item.label), item.kind, &item.unit),
                None => return test.written.to_string(),
            },
        };
        if kind == Kind::YesNo {
            return self.statement(&label, asks_yes(&test.compare, sense));
        }
        let measured = Measured { kind, unit, of_spray: false };
        let (_, asked) = self.asked(measured, &test.compare, sense, None);
        let key = if needs_is(kind, &test.compare) { "met.is" } else { "met.value" };
        self.say(key, &[("name", &label), ("value", &asked)])
    }

    /// Returns a question about panicles that has no name of its own, as it holds or not; nothing of another name.
    fn of_panicles(&self, item: &Name, holds: bool) -> Option<String> {
        match item.node()? {
            ExprNode::Panicles(quantifier, condition) if item.hidden => {
                Some(self.quantified(*quantifier, condition, holds))
            }
            _ => None,
        }
    }

    fn quantified(&self, quantifier: Quantifier, condition: &Condition, holds: bool) -> String {
        let key = match (quantifier, holds) {
            (Quantifier::Some, true) => "condition.some-panicles",
            (Quantifier::All, true) => "condition.all-panicles",
            (Quantifier::Some, false) => "condition.no-panicles",
            (Quantifier::All, false) => "condition.not-all-panicles",
        };
        self.say(key, &[("condition", &self.condition(condition, Sense::Asked))])
    }

    /// Returns what a name stands for where it asks about panicles or trees: `some panicles with stage full bloom`.
    pub fn stands_for(&self, name: &Name) -> Option<String> {
        let asked = |key: &str, condition: &Condition| {
            Some(self.say(key, &[("condition", &self.condition(condition, Sense::Asked))]))
        };
        match name.node()? {
            ExprNode::Panicles(quantifier, condition) => Some(self.quantified(*quantifier, condition, true)),
            ExprNode::ShareOfPanicles(condition) => asked("condition.share-of-panicles", condition),
            ExprNode::ShareOfTrees(_, condition) => asked("condition.share-of-trees", condition),
            _ => None,
        }
    }

    fn yes_or_no(&self, id: NameId, item: &Name, met: &Compared) -> String {
        let readings = &met.readings;
        if readings.is_empty() {
            return self.statement(&item.label, asks_yes(&met.test.compare, met.sense));
        }
        let panicles = self.panicles(&met.panicles);
        let beside = if panicles.is_empty() { panicles } else { format!(" ({panicles})") };
        let beside = self.assumed(readings) + &beside;
        let truths: Vec<Truth> = readings.iter().map(|reading| Truth::of_extent(reading.extent)).collect();
        if truths.iter().all(|truth| *truth == Truth::Yes) {
            return self.statement(&item.label, true) + &beside;
        }
        let empty = readings.iter().any(|reading| reading.extent.is_empty());
        if truths.iter().all(|truth| *truth == Truth::No) && !empty {
            return self.statement(&item.label, false) + &beside;
        }
        let value = self.several(id, readings);
        self.say("met.is", &[("name", &item.label), ("value", &value)]) + &beside
    }

    /// Returns a yes-no name as a statement that it holds, or that it does not.
    fn statement(&self, label: &str, holds: bool) -> String {
        if holds { label.to_string() } else { self.say("met.no", &[("name", label)]) }
    }

    /// Returns what was seen on panicles: `stage full bloom, open flowers 80 %`; of a tree with several groups each
    /// with its share.
    fn panicles(&self, groups: &[PanicleValues]) -> String {
        let value = |(name, readings): &(NameId, Vec<Reading>)| {
            let places = [("name", self.label(*name)), ("value", &*self.several(*name, readings))];
            self.say("met.value", &places) + &self.assumed(readings)
        };
        let group = |group: &PanicleValues| {
            let values = group.values.iter().map(value).collect::<Vec<_>>().join(", ");
            match group.share {
                None => values,
                Some(Some(share)) => {
                    self.say("value.of-panicles", &[("share", &self.share(share)), ("values", &values)])
                }
                Some(None) => self.say("value.of-some-panicles", &[("values", &values)]),
            }
        };
        groups.iter().map(group).collect::<Vec<_>>().join("; ")
    }
}

/// Returns the unit in which the author wrote a threshold.
fn written_unit(compare: &Compare) -> Option<&Unit> {
    match compare {
        Compare::Numbers { low, high } => low.as_ref().or(high.as_ref()).map(|bound| &bound.unit),
        Compare::NumberIsOneOf(bounds) => bounds.first().map(|bound| &bound.unit),
        Compare::Not(inner) => written_unit(inner),
        Compare::Words(_) | Compare::Texts(_) | Compare::DaysOfYear(..) | Compare::Name(..) => None,
    }
}

fn asks_yes(asked: &Compare, sense: Sense) -> bool {
    let yes = compare(Extent::YES, asked) == Truth::Yes;
    if sense == Sense::Asked { yes } else { !yes }
}

fn lone_number(readings: &[Reading]) -> Option<f64> {
    match readings {
        [one] => one.extent.one_number(),
        _ => None,
    }
}

/// Returns whether a comparison without its value needs an `is` to be read: `mildew weather: severe`.
fn needs_is(kind: Kind, compare: &Compare) -> bool {
    match compare {
        Compare::Words(set) => set.count_ones() == 1 || !matches!(kind, Kind::Words(_)),
        Compare::Texts(_) | Compare::NumberIsOneOf(_) | Compare::DaysOfYear(..) => true,
        Compare::Not(inner) => needs_is(kind, inner),
        Compare::Numbers { .. } | Compare::Name(..) => false,
    }
}
