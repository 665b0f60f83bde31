//! What a crew takes along: the page of the day, and a sheet for each round, in any language of the catalogue.

mod json;
mod loads;
mod overview;
mod sheet;

#[cfg(test)]
pub(super) use json::CrewForm;
pub use json::crew_json;
pub use overview::day_paper;
pub use sheet::sheet_paper;
pub(crate) use sheet::when;

use super::page::{Facts, Page};
use super::{GroveGround, ranges_in};
use crate::advice::{Advice, Spray};
use crate::plan::GateId;
use crate::sprayday::{Day, Round};
use crate::words::{Scene, Words};

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
}

impl Crew<'_> {
    pub(crate) fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        self.scene.language.say(key, places)
    }

    pub(crate) fn page(&self) -> Page<'_> {
        Page { scene: self.scene, facts: self.facts, ground: self.ground, advice: self.advice }
    }

    fn ranges(&self, trees: &[usize]) -> String {
        ranges_in(self.scene.language, self.ground, trees)
    }

    fn loads(&self, count: u64) -> String {
        if count == 1 {
            self.say("sheet.load", &[])
        } else {
            self.say("sheet.loads", &[("count", &count.to_string())])
        }
    }

    /// Returns the words in which facts are said.
    fn words(&self) -> Words<'_> {
        self.scene.words()
    }

    /// Returns `mancozeb (label rate) + sulfur (reduced rate)`.
    fn mix(&self, spray: &Spray) -> String {
        self.words().doses(spray)
    }

    fn diseases(&self, round: &Round<'_>) -> String {
        let diseases = round.aims.iter().filter_map(|id| self.scene.plan.diseases.get(id.index()));
        let names: Vec<String> = diseases.map(|disease| disease.label.to_string()).collect();
        self.scene.language.joined("and", &names)
    }

    fn gates(&self, gates: &[GateId]) -> String {
        self.words().gates(gates)
    }
}
