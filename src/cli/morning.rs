//! What the pages of a morning have in common: the grove and its trees, the advice, and what a page says of them.

use super::advise::{Chosen, book_problems, facts, notes, with_scene};
use super::end::Refusal;
use super::groves::{self, Asked, Opened, Unopened};
use crate::advice::{Advice, Advisor};
use crate::measure::Sky;
use crate::report::page::Facts;
use crate::report::{Group, GroveGround, advise_in_groups};
use crate::words::Scene;
use std::path::PathBuf;

/// Which grove, under which rulebook, at which moment, and which trees of it.
#[derive(clap::Args, Debug)]
pub struct Wanted {
    /// The grove: a folder, or its grove.yaml
    #[arg(value_name = "GROVE", default_value = ".")]
    pub grove: PathBuf,
    #[command(flatten)]
    pub asked: Asked,
    #[command(flatten)]
    trees: Chosen,
}

impl Wanted {
    /// Opens the grove.
    pub fn open(&self) -> Result<Opened, Unopened> {
        groves::open(&self.grove, &self.asked)
    }

    /// Returns the chosen trees of it.
    pub fn trees(&self, read: &Opened) -> Result<Vec<usize>, Refusal> {
        self.trees.of(read)
    }
}

/// The advice of a morning, with all that a page says of it.
pub struct Morning<'m> {
    pub sky: &'m Sky<'m>,
    pub advisor: &'m Advisor<'m>,
    pub advice: &'m Advice,
    /// The chosen trees in groups of one decision.
    pub groups: &'m [Group],
    pub scene: &'m Scene<'m>,
    pub facts: &'m Facts<'m>,
    pub ground: &'m GroveGround<'m>,
}

/// Works out the advice of a grove, and gives it to what makes a page of it; `drift` is how far spray reaches, in metres.
pub fn morning<T>(read: &Opened, chosen: &[usize], drift: f64, page: impl FnOnce(&Morning<'_>) -> T) -> T {
    let sky = read.sky();
    let advisor = read.advisor(&sky).looking_ahead();
    let (advice, groups) = advise_in_groups(&advisor, chosen);
    with_scene(read, &sky, &advisor, |scene, ground| {
        let (data, book) = (notes(read, &advisor, chosen), book_problems(read));
        let facts = facts(read, &data, &book, drift);
        page(&Morning {
            sky: &sky,
            advisor: &advisor,
            advice: &advice,
            groups: &groups,
            scene,
            facts: &facts,
            ground,
        })
    })
}
