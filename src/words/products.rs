//! Products, strengths, tanks, alternatives of a choice, gates.

use super::Words;
use crate::advice::Spray;
use crate::plan::{Citation, GateId, ProductId, Way};
use crate::trace::{Verdict, in_author_order};

impl Words<'_> {
    /// Returns what a product is called.
    pub fn product(&self, product: ProductId) -> String {
        let product = self.plan.products.get(product.index());
        product.map_or_else(String::new, |product| product.label.to_string())
    }

    /// Returns what an ingredient is called: as its product, where the rulebook has one of that name.
    pub fn ingredient(&self, word: &str) -> String {
        self.plan.product(word).map_or_else(|| word.to_owned(), |product| self.product(product))
    }

    /// Returns what a strength of a product is called: `full rate`.
    pub fn strength(&self, product: ProductId, strength: u8) -> String {
        let product = self.plan.products.get(product.index());
        let strength = product.and_then(|product| product.strengths.get(usize::from(strength)));
        strength.map_or_else(String::new, |strength| self.rate(&strength.shown))
    }

    /// Returns the names of products in one tank: `copper + oil`.
    pub fn tank(&self, products: &[ProductId]) -> String {
        let names: Vec<String> = products.iter().map(|product| self.product(*product)).collect();
        self.language.joined("with", &names)
    }

    /// Returns doses in one tank: `copper (reduced rate) + sulfur (low)`.
    pub fn doses(&self, doses: &Spray) -> String {
        let one = |(product, strength): &(ProductId, u8)| self.dose(*product, *strength);
        self.language.joined("with", &doses.iter().map(one).collect::<Vec<_>>())
    }

    /// Returns a strength: `full rate`, where its own word does not say so already.
    fn rate(&self, shown: &str) -> String {
        if shown.ends_with("rate") { shown.to_owned() } else { self.say("strength", &[("strength", shown)]) }
    }

    /// Returns one dose: `copper (full rate)`.
    pub fn dose(&self, product: ProductId, strength: u8) -> String {
        let places = [("product", &*self.product(product)), ("strength", &self.strength(product, strength))];
        self.say("dose", &places)
    }

    /// Returns an alternative of a choice.
    pub fn way(&self, way: &Way) -> String {
        match way {
            Way::Hold => self.say("dose.hold", &[]),
            Way::Spray(doses) => self.doses(doses),
        }
    }

    /// Returns a verdict as it stands within a sentence: `spray copper (full rate)`, `do not spray`.
    pub fn verdict(&self, verdict: &Verdict) -> String {
        let key = match verdict {
            Verdict::Spray(doses) => {
                let doses = self.doses(&in_author_order(self.plan, doses));
                return self.say("verdict.spray", &[("doses", &doses)]);
            }
            Verdict::Hold => "verdict.hold",
            Verdict::Look => "verdict.look",
            Verdict::AllShut => "verdict.all-shut",
            Verdict::Undecided => "verdict.undecided",
            Verdict::Uncovered => "verdict.uncovered",
        };
        self.say(key, &[])
    }

    /// Returns alternatives of a choice, the first choice first.
    pub fn ways(&self, ways: &[Way]) -> String {
        self.language.joined("dose.else", &ways.iter().map(|way| self.way(way)).collect::<Vec<_>>())
    }

    /// Returns a gate; of a label line whose label it is, and what that asks for.
    pub fn gate(&self, gate: GateId) -> String {
        let Some(gate) = self.plan.gates.get(gate.index()) else { return String::new() };
        let Some(line) = &gate.line else { return gate.label.to_string() };
        self.label_asks(line).unwrap_or_else(|| {
            self.say("label.line", &[("owner", &self.product(line.product)), ("line", &line.written)])
        })
    }

    /// Returns against what a spray was: the diseases of the rulebook by their names, other words as they are.
    pub fn targets(&self, written: &str) -> String {
        let name = |word: &str| {
            let disease = self.plan.diseases.iter().find(|disease| &*disease.name == word);
            disease.map_or_else(|| self.plan.shown(word), |disease| disease.label.to_string())
        };
        written.split(',').map(|word| name(word.trim())).collect::<Vec<_>>().join(", ")
    }

    /// Returns gates, one after the other.
    pub fn gates(&self, gates: &[GateId]) -> String {
        gates.iter().map(|id| self.gate(*id)).collect::<Vec<_>>().join(", ")
    }

    /// Returns a citation: the source, the place in it, and whether it was written down from memory.
    pub fn cited(&self, citation: &Citation) -> String {
        let place = citation.locator.as_ref().map_or_else(String::new, |place| format!(", {place}"));
        let source = match &*citation.key {
            "common-practice" => self.say("source.common-practice", &[]),
            "to-be-sourced" => self.say("source.to-be-sourced", &[]),
            key => match self.plan.sources.iter().find(|source| &*source.key == key) {
                Some(source) if source.recalled => {
                    return self
                        .say("source.recalled", &[("source", &format!("{}{place}", source.citation))]);
                }
                Some(source) => source.citation.to_string(),
                None => key.to_string(),
            },
        };
        source + &place
    }
}
