//! What a crew takes along: the page of the day, and a sheet for each round, in any language of the catalogue.

mod json;
mod loads;
mod overview;
mod sheet;

pub use json::crew_json;
pub use overview::day_paper;
pub use sheet::sheet_paper;

use super::language::Language;
use super::page::{Facts, Page};
use super::{GroveGround, label_words, ranges};
use crate::advice::{Advice, Spray};
use crate::explain::Scene;
use crate::plan::GateId;
use crate::sprayday::{Day, Round};

/// All that sheets are made from.
#[derive(Clone, Copy)]
pub struct Crew<'a> {
    /// What statements are made from.
    pub scene: &'a Scene<'a>,
    /// What is said beside the advice.
    pub facts: &'a Facts<'a>,
    /// The grove.
    pub ground: &'a GroveGround<'a>,
    /// The advice.
    pub advice: &'a Advice,
    /// The rounds.
    pub day: &'a Day<'a>,
    /// The number of each round's sheet; none where they are only shown.
    pub numbers: &'a [u64],
    /// In which language.
    pub language: Language,
}

impl Crew<'_> {
    fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        self.language.say(key, places)
    }

    fn page(&self) -> Page<'_> {
        Page { scene: self.scene, facts: self.facts, ground: self.ground, advice: self.advice }
    }

    fn ranges(&self, trees: &[usize]) -> String {
        ranges(self.ground, trees)
    }

    fn loads(&self, count: u64) -> String {
        if count == 1 {
            self.say("sheet.load", &[])
        } else {
            self.say("sheet.loads", &[("count", &count.to_string())])
        }
    }

    /// Returns `mancozeb, label rate with sulfur, reduced`.
    fn mix(&self, spray: &Spray) -> String {
        let plan = self.scene.plan;
        let dose = |(product, strength): &(crate::plan::ProductId, u8)| {
            let product = plan.products.get(product.index())?;
            let strength = product.strengths.get(usize::from(*strength))?;
            Some(format!("{} ({})", product.label, strength.shown))
        };
        let doses: Vec<String> = spray.iter().filter_map(dose).collect();
        self.joined("with", &doses)
    }

    fn diseases(&self, round: &Round<'_>) -> String {
        let diseases = round.aims.iter().filter_map(|id| self.scene.plan.diseases.get(id.index()));
        let names: Vec<String> = diseases.map(|disease| disease.label.to_string()).collect();
        self.joined("and", &names)
    }

    fn joined(&self, key: &str, words: &[String]) -> String {
        let mut words = words.iter();
        let Some(first) = words.next() else { return String::new() };
        words.fold(first.clone(), |one, other| self.say(key, &[("one", &one), ("other", other)]))
    }

    fn gates(&self, gates: &[GateId]) -> String {
        let plan = self.scene.plan;
        let say = |id: &GateId| {
            let label =
                plan.gates.get(id.index()).and_then(|gate| label_words::asks(plan, gate, self.language));
            label.unwrap_or_else(|| crate::explain::gate_words(plan, *id))
        };
        let words: Vec<String> = gates.iter().map(say).collect();
        words.join(", ")
    }
}
