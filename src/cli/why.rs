//! `why`: one tree's verdict, why, and what would change it; or everything about it.

use super::advise::{book_problems, facts, json, notes, of_data, tree_of, with_scene};
use super::end::{CommandOutcome, End, Refusal, sentence};
use super::groves::{self, Asked, Opened};
use super::papers::PageLanguage;
use super::pasted::word_of;
use super::terminal::{Format, Printing, Stream};
use crate::grove::Sprays;
use crate::phrase::said;
use crate::plan::ProductId;
use crate::problems::{Problem, nearest};
use crate::report::{Lines, schemas, why_page};
use crate::words::Language;
use std::path::{Path, PathBuf};

/// Prints one tree's verdict, why, and what would change it; `--all` tells everything about it
#[derive(clap::Args, Debug)]
#[command(override_usage = "bloomward why [OPTIONS] [GROVE] TREE")]
pub struct Why {
    /// The grove (a folder, or its grove.yaml; the current folder if left out), and the tree
    #[arg(value_name = "GROVE TREE", num_args = 1..=2, required_unless_present = "schema")]
    grove_and_tree: Vec<String>,
    /// Says why this product is not advised
    #[arg(long, value_name = "PRODUCT")]
    not: Option<String>,
    /// Tells every rule and every value, used or not
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    asked: Asked,
    /// Prints the JSON Schema of the JSON form
    #[arg(long)]
    schema: bool,
    #[command(flatten)]
    pub(super) printing: Printing,
    #[command(flatten)]
    pub(super) language: PageLanguage,
}

impl Why {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.schema {
            return Stream::Results.print(schemas::ADVICE).map(|()| End::Done);
        }
        let (grove, tree) = match &self.grove_and_tree[..] {
            [grove, tree] => (PathBuf::from(grove), tree),
            [tree] => (PathBuf::from("."), tree),
            _ => return Err(Refusal::new("a tree is missing").help("write `bloomward why GROVE TREE`")),
        };
        let language = self.language.chosen_for(self.printing.format)?;
        let read = match groves::open(&grove, &self.asked) {
            Ok(read) => read.in_language(language.code()),
            Err(unopened) => return unopened.end(self.printing.lines.width),
        };
        let tree = tree_of(&read, tree)?;
        let not = self.not.as_deref().map(|word| product_of(&read.plan, word)).transpose()?;
        let weather_measures = read.weather_measures();
        let advisor = read.advisor(&weather_measures).looking_ahead();
        if self.printing.format == Format::Json {
            return json(&read, &weather_measures, &advisor, &[tree], Some(tree));
        }
        let advice = advisor.advise();
        let width = Stream::Results.width(self.printing.lines.width);
        let (data, book) = (notes(&read, &advisor, &[tree], language), book_problems(&read));
        let facts = facts(&read, &data, &book, 0.0);
        let text = with_scene(&read, (&weather_measures, &advisor), language, |scene, ground| match not {
            Some(product) => why_page::not_page(scene, &facts, ground, &advice, (tree, product), width),
            None if self.all => why_page::page(scene, &facts, ground, &advice, tree, width),
            None => why_page::short_page(scene, &facts, ground, &advice, tree, width),
        });
        let mut of_log = Lines::new(width);
        let notes = noted_of_log(&read, language);
        notes.iter().for_each(|note| of_log.text(0, note));
        let head = if notes.is_empty() { String::new() } else { of_log.finish() + "\n" };
        Stream::Results.print(&(head + &text)).map(|()| End::Done)
    }
}

/// Returns what is to be said of rows of the spray log, before all that hangs on them.
fn noted_of_log(read: &Opened, language: Language) -> Vec<String> {
    let Sprays::File(file) = &read.outline.sprays else { return Vec::new() };
    let is_log = |note: &&Problem| {
        read.sources.get(note.at.source).is_some_and(|source| Path::new(&*source.name).ends_with(&*file.path))
    };
    let said = |note: &Problem| {
        format!("{}: {}", read.sources.locate(note.at), sentence(&language.phrase(&note.message)))
    };
    of_data(read, language).iter().filter(is_log).map(said).collect()
}

fn product_of(plan: &crate::plan::Plan, word: &str) -> Result<ProductId, Refusal> {
    let words = || plan.products.iter().map(|product| &*product.name);
    plan.product(word_of(plan, word, words())?).ok_or_else(|| {
        let refusal = Refusal::new(said!("`{word}` is not a product of this rulebook", word));
        match nearest(word, words()) {
            Some(near) => refusal.help(said!("did you mean `{near}`?", near)),
            None => refusal.help(said!("there are {words}", words = words().collect::<Vec<_>>().join(", "))),
        }
    })
}
