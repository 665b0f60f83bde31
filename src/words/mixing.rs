//! Why nothing can be mixed, and why no amounts are known.

use super::{Language, Words};
use crate::sprayday::{MixTrouble, NoAmounts};
use crate::units::spoken::Unspoken;

/// Words that name a spoon or a cup, not a scale.
const SPOONS: [&str; 4] = ["tsp", "tbsp", "cup", "spoon"];

impl Language {
    /// Returns why nothing can be mixed.
    pub fn mix_trouble(self, trouble: &MixTrouble) -> String {
        let of = |key: &str, text: &str| self.say(key, &[("text", text)]);
        match trouble {
            MixTrouble::Unreadable(text, Unspoken::NoNumber) => of("mix.trouble.no-number", text),
            MixTrouble::Unreadable(text, Unspoken::Number(write)) => {
                self.say("mix.trouble.number", &[("text", text), ("write", write)])
            }
            MixTrouble::Unreadable(_, Unspoken::Unit(unit, Some(near))) => {
                self.say("mix.trouble.unit.near", &[("unit", unit), ("near", near)])
            }
            MixTrouble::Unreadable(_, Unspoken::Unit(unit, None)) => {
                self.say("mix.trouble.unit", &[("unit", unit)])
            }
            MixTrouble::NoStrength(text) => of("mix.trouble.strength", text),
            MixTrouble::WeightOfLiquid(text) => of("mix.trouble.weight", text),
            MixTrouble::VolumeOfPowder(text) => {
                let small = text.to_lowercase();
                let spoon = SPOONS.iter().any(|word| small.contains(word));
                of(if spoon { "mix.trouble.spoon" } else { "mix.trouble.volume" }, text)
            }
            MixTrouble::NoWeight(text) => of("mix.trouble.density", text),
            MixTrouble::NoContent(ingredient) => {
                let write = format!("contains: {{ {ingredient}: 50 % }}");
                self.say("mix.trouble.content", &[("ingredient", ingredient), ("write", &write)])
            }
            MixTrouble::NoArea(text) => of("mix.trouble.area", text),
            MixTrouble::NoTree(text) => of("mix.trouble.tree", text),
            MixTrouble::NoVolume => self.say("mix.trouble.no-spray", &[]),
            MixTrouble::MoreThanSpray(text) => of("mix.trouble.more", text),
            MixTrouble::TooLittle(text, least) => {
                self.say("mix.trouble.little", &[("text", text), ("least", least)])
            }
            MixTrouble::TooMuchSpray => self.say("mix.trouble.much", &[]),
        }
    }
}

impl Words<'_> {
    /// Returns why no amounts are known.
    pub fn no_amounts(&self, why: &NoAmounts) -> String {
        let why = match why {
            NoAmounts::NoSprayer => self.say("mix.none.sprayer", &[]),
            NoAmounts::OfBlock(block) => self.say("mix.none.block", &[("block", block)]),
        };
        self.say("sheet.amounts.none", &[("why", &why)])
    }
}
