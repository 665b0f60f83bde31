//! What answers lead to, and from where on a verdict is another.

use super::Words;
use crate::advice::{Answer, AskedOf, FoundValue, PanicleShare, RangeEnd, TippingPoint, ValueRange};
use crate::plan::{Kind, NameId};

impl Words<'_> {
    /// Returns from where on a verdict is another, and which: `heat ahead 90 °F or more: do not spray`.
    pub fn tipping(&self, point: &TippingPoint) -> String {
        let at = self.in_range(point.name, &point.range);
        let at = match point.group {
            Some(PanicleShare { group, share: Some(share) }) => {
                let places =
                    [("at", &*at), ("group", &(group + 1).to_string()), ("share", &self.share(share))];
                self.say("tipping.group.share", &places)
            }
            Some(PanicleShare { group, share: None }) => {
                self.say("tipping.group", &[("at", &at), ("group", &(group + 1).to_string())])
            }
            None => at,
        };
        self.say("leads-to", &[("at", &at), ("then", &self.verdict(&point.then))])
    }

    /// Returns an answer, all that is found out side by side, and the verdict to which it leads; `tree` names a tree.
    pub fn answer<'n>(&self, answer: &Answer, tree: impl Fn(usize) -> &'n str) -> String {
        let found = self.answered(answer, tree);
        self.say("leads-to", &[("at", &found), ("then", &self.verdict(&answer.then))])
    }

    /// Returns what is found out in an answer, side by side; `tree` names a tree.
    pub fn answered<'n>(&self, answer: &Answer, tree: impl Fn(usize) -> &'n str) -> String {
        // An answer that leaves everything open says nothing.
        let told = answer.found.iter().filter(|it| !it.range.is_any());
        let found: Vec<String> = told.map(|found| self.found(found, &tree)).collect();
        self.language.listed("list.and", &found)
    }

    fn found<'n>(&self, found: &FoundValue, tree: &impl Fn(usize) -> &'n str) -> String {
        let of = match found.of {
            AskedOf::Itself => return self.in_range(found.name, &found.range),
            AskedOf::Group(PanicleShare { group, share }) => {
                let group = (group + 1).to_string();
                let of = match share {
                    Some(share) => {
                        self.say("answer.group.share", &[("group", &group), ("share", &self.share(share))])
                    }
                    None => self.say("answer.group", &[("group", &group)]),
                };
                let words = self.in_range(found.name, &found.range);
                return self.say("answer.of", &[("of", &of), ("found", &words)]);
            }
            AskedOf::Tree(number) => tree(number).to_string(),
            AskedOf::OtherTrees => self.say("answer.others", &[]),
        };
        let label = self.label(found.name);
        let end = |end: &Option<RangeEnd>| end.map_or_else(String::new, |end| end.at.to_string());
        let (low, high) = match &found.range {
            ValueRange::Numbers { low, high } => (end(low), end(high)),
            ValueRange::Nothing | ValueRange::Words(_) | ValueRange::Texts(_) => Default::default(),
        };
        let key = if low == high { "answer.so-many" } else { "answer.so-many.span" };
        let words = self.say(key, &[("name", label), ("low", &low), ("high", &high)]);
        self.say("answer.of", &[("of", &of), ("found", &words)])
    }

    /// Returns a name with a part of its range: `heat ahead 90 °F or more`, `stage: full bloom`.
    pub fn in_range(&self, name: NameId, range: &ValueRange) -> String {
        let Some(item) = self.plan.names.get(name.index()) else { return String::new() };
        let end = |end: &Option<RangeEnd>| end.map(|end| (self.number(item, end.at), end.closed));
        let (key, value) = match range {
            ValueRange::Nothing => ("met.is", self.say("value.none", &[])),
            ValueRange::Numbers { low: Some(low), high: Some(high) } if low.at == high.at => {
                ("met.value", self.number(item, low.at))
            }
            ValueRange::Numbers { low, high } => ("met.value", self.ends(item.kind, end(low), end(high))),
            ValueRange::Words(set) => {
                let alone = set.count_ones() == 1 || item.kind == Kind::YesNo;
                (if alone { "met.is" } else { "met.value" }, self.asked_words(item.kind, *set))
            }
            ValueRange::Texts(texts) => {
                let texts: Vec<String> = texts.iter().map(|text| self.text(*text)).collect();
                ("met.is", self.language.listed("list.or", &texts))
            }
        };
        self.say(key, &[("name", &item.label), ("value", &value)])
    }
}
