//! What the pages of a morning have in common: the grove and its trees, the advice, and what a page says of them.

use super::advise::{Chosen, book_problems, facts, notes, with_scene};
use super::end::Refusal;
use super::groves::{self, Asked, Opened, Unopened};
use crate::advice::{Advice, Advisor};
use crate::report::page::Facts;
use crate::report::{GroveGround, TreeGroup, advise_in_groups, day_of_groups};
use crate::sprayday::Day;
use crate::words::{Language, Scene};
use std::path::PathBuf;

/// Which grove, under which rulebook, at which moment, and which trees of it.
#[derive(clap::Args, Debug)]
pub struct MorningAsked {
    /// The grove: a folder, or its grove.yaml
    #[arg(value_name = "GROVE", default_value = ".")]
    pub grove: PathBuf,
    #[command(flatten)]
    pub asked: Asked,
    #[command(flatten)]
    trees: Chosen,
}

impl MorningAsked {
    /// Opens the grove, with the rulebook's texts in a language.
    pub fn open(&self, language: Language) -> Result<Opened, Unopened> {
        groves::open(&self.grove, &self.asked).map(|read| read.in_language(language.code()))
    }

    /// Returns the chosen trees of it.
    pub fn trees(&self, read: &Opened) -> Result<Vec<usize>, Refusal> {
        self.trees.of(read)
    }
}

/// The advice of a morning, with all that a page says of it.
pub struct Morning<'m> {
    pub advisor: &'m Advisor<'m>,
    pub advice: &'m Advice,
    /// The chosen trees in groups of one decision.
    pub groups: &'m [TreeGroup],
    pub scene: &'m Scene<'m>,
    pub facts: &'m Facts<'m>,
    pub ground: &'m GroveGround<'m>,
    /// The rounds of the chosen trees.
    pub day: Day<'m>,
}

/// Works out the advice of a grove, and gives it to what makes a page of it in a language; `drift` is how far spray
/// reaches, in metres.
pub fn morning<T>(
    read: &Opened,
    (chosen, language): (&[usize], Language),
    drift: f64,
    page: impl FnOnce(&Morning<'_>) -> T,
) -> T {
    let weather_measures = read.weather_measures();
    let advisor = read.advisor(&weather_measures).looking_ahead();
    let (advice, groups) = advise_in_groups(&advisor, chosen);
    with_scene(read, (&weather_measures, &advisor), language, |scene, ground| {
        let (data, book) = (notes(read, &advisor, chosen, language), book_problems(read));
        let facts = facts(read, &data, &book, drift);
        let day = day_of_groups(ground, advice.as_of, &groups, |number| advice.cases.get(number));
        page(&Morning {
            day,
            advisor: &advisor,
            advice: &advice,
            groups: &groups,
            scene,
            facts: &facts,
            ground,
        })
    })
}
