//! Two guides over one season: what each would have sprayed, and the first morning on which they part.

use super::SeasonPage;
use crate::replay::{SeasonSums, first_difference, season_sums};
use crate::report::page::sentence;
use crate::report::paper::{Paper, Piece};
use crate::report::records::land_unit;
use crate::units::{show, spoken};
use crate::words::Words;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Returns the page of two guides, of which the first is the grove's own or the one that was named in its place.
pub fn two_guides(one: &SeasonPage<'_>, other: &SeasonPage<'_>) -> Paper {
    let mut paper = Paper { title: one.title(), under: Vec::new(), pieces: Vec::new() };
    let names = ["season.guide.one", "season.guide.other"].map(|key| one.say(key, &[]));
    for (name, page) in names.iter().zip([one, other]) {
        paper.field(name, vec![page.guide()]);
    }
    paper.field(&one.say("season.trees", &[]), vec![one.words.language.trees(one.trees.len())]);
    for (label, says) in one.head().into_iter().skip(2) {
        paper.field(&label, vec![says]);
    }
    paper.pieces.push(Piece::Heading(one.say("season.guides", &[])));
    let sums = [one, other].map(|page| season_sums(page.open, page.replay, page.trees));
    let head = [vec![one.say("season.guides.what", &[])], names.to_vec()].concat();
    paper.pieces.push(Piece::Table(head, rows(one, other, &sums)));
    paper.pieces.push(Piece::Heading(one.say("season.guides.part", &[])));
    let plans = (&one.open.plan, &other.open.plan);
    match first_difference((one.replay, other.replay), plans, one.trees) {
        None => paper.pieces.push(Piece::Text(one.say("season.guides.same", &[]))),
        Some((at, trees)) => {
            let date = one.replay.days.get(at).map(|day| one.words.day(day.date())).unwrap_or_default();
            let on = format!("{date}: {}", one.trees_words(&trees));
            paper.field(&one.say("season.guides.on", &[]), vec![on]);
            for (name, page) in names.iter().zip([one, other]) {
                paper.field(name, page.said_of(at, trees.first().copied()));
            }
        }
    }
    paper
}

/// Returns the rows of the table: what each guide comes to.
fn rows(one: &SeasonPage<'_>, other: &SeasonPage<'_>, sums: &[SeasonSums; 2]) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    let mut products: BTreeMap<Arc<str>, [usize; 2]> = BTreeMap::new();
    let mut land: BTreeMap<Arc<str>, [Option<f64>; 2]> = BTreeMap::new();
    for (at, of) in sums.iter().enumerate() {
        for (word, advised) in &of.advised {
            products.entry(word.clone()).or_default()[at] = *advised;
        }
        for (word, amount) in &of.on_land {
            land.entry(word.clone()).or_insert([Some(0.0); 2])[at] = *amount;
        }
    }
    let label = |word: &str| {
        let of = |words: &Words<'_>| words.plan.product(word).map(|id| words.product(id));
        of(&one.words).or_else(|| of(&other.words)).unwrap_or_else(|| word.to_owned())
    };
    for (word, advised) in products {
        let what = one.say("season.guides.sprays", &[("product", &label(&word))]);
        rows.push([vec![what], advised.map(|count| count.to_string()).to_vec()].concat());
    }
    let symbol = land_unit(one.open.grove.units);
    let amount = |base: Option<f64>| {
        let unit = spoken::unit(symbol).ok();
        let known = base.zip(unit).map(|(base, unit)| show(unit.amount_from_base(base), symbol));
        known.unwrap_or_else(|| one.say("season.picture.not-known", &[]))
    };
    for (word, amounts) in land {
        let what = one.say("season.guides.land", &[("ingredient", &label(&word))]);
        rows.push([vec![what], amounts.map(amount).to_vec()].concat());
    }
    let mut counted = |key: &str, of: fn(&SeasonSums) -> usize| {
        let cells = sums.each_ref().map(|sums| of(sums).to_string()).to_vec();
        rows.push([vec![one.say(key, &[])], cells].concat());
    };
    counted("season.guides.wanted", |sums| sums.wanted);
    counted("season.guides.shut", |sums| sums.shut);
    counted("season.guides.looks", |sums| sums.looks);
    let hours = |sums: &SeasonSums| sums.hours_left.map_or_else(|| "–".to_owned(), |hours| show(hours, "h"));
    rows.push([vec![one.say("season.guides.hours", &[])], sums.each_ref().map(hours).to_vec()].concat());
    rows
}

impl SeasonPage<'_> {
    /// Returns what the guide says of a tree on a morning, and what its author says of that.
    fn said_of(&self, at: usize, tree: Option<usize>) -> Vec<String> {
        let day = self.replay.days.get(at);
        let Some(group) = day.zip(tree).and_then(|(day, tree)| day.decision(tree)) else { return Vec::new() };
        let because =
            group.choices.iter().filter_map(|choice| self.open.plan[*choice].why.because.as_deref());
        std::iter::once(self.words.verdict(&group.verdict))
            .chain(because.map(str::to_owned))
            .map(|it| sentence(&it))
            .collect()
    }
}
