//! The page of the morning: one screen of what is done, how much and when; then what to look at first, each mix, what is
//! left alone, other work, and what to take care of. Reasons and sources stand on the long page and in `why`.

mod head;
pub(super) mod json;
mod mixes;
mod others;
mod plan;

use super::page::{Page, sentence};
use super::paper::{Paper, Piece};
use super::{Crew, TreeGroup};
use crate::advice::Spray;
use crate::trace::Verdict;
use chrono::DateTime;
use chrono_tz::Tz;

/// So many runs of trees are named where only work that can wait is told of them.
const RUNS: usize = 3;

/// Returns the page for the trees of `chosen`, which are those of the groups in the grove's order; `data` tells whether what
/// is wrong in the grower's files is told line by line.
pub fn morning_paper(crew: &Crew<'_>, groups: &[TreeGroup], chosen: &[usize], data: bool) -> Paper {
    let morning = MorningFacts { crew, page: crew.page(), groups, chosen };
    let mut paper = Paper { title: crew.facts.grove.to_string(), under: morning.under(), pieces: Vec::new() };
    head::write(&mut paper, &morning);
    others::look_first(&mut paper, &morning);
    others::work(&mut paper, &morning);
    mixes::write(&mut paper, &morning);
    others::leave_alone(&mut paper, &morning);
    others::cautions(&mut paper, &morning);
    others::foot(&mut paper, &morning, data);
    paper
}

/// All that the parts of the page are made from.
struct MorningFacts<'a> {
    crew: &'a Crew<'a>,
    page: Page<'a>,
    groups: &'a [TreeGroup],
    chosen: &'a [usize],
}

impl MorningFacts<'_> {
    fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        self.crew.say(key, places)
    }

    /// Returns a moment of the days after the advice by its weekday.
    fn soon(&self, moment: DateTime<Tz>) -> String {
        self.page.words().moment_soon(moment, self.page.advice.as_of)
    }

    /// Returns a span of the days after the advice by its weekdays.
    fn span_soon(&self, from: DateTime<Tz>, to: DateTime<Tz>) -> String {
        self.page.words().span_soon((from, to), self.page.advice.as_of)
    }

    /// Returns a moment of the last day: by its time alone where it is of the day of the advice.
    fn clock(&self, moment: DateTime<Tz>) -> String {
        let words = self.page.words();
        let is_today = moment.date_naive() == self.page.advice.as_of.date_naive();
        if is_today { words.clock(moment.time()) } else { words.moment_ahead(moment) }
    }

    /// Returns a verdict, a spray that is one of the mixes by its number.
    fn leads_to(&self, verdict: &Verdict) -> String {
        let sorted = |spray: &Spray| {
            let mut doses = spray.clone();
            doses.sort_unstable();
            doses
        };
        let is_mix =
            |spray: &Spray| self.crew.day.rounds.iter().position(|it| sorted(&it.spray) == sorted(spray));
        match verdict {
            Verdict::Spray(spray) => is_mix(spray).map(|at| head::mixes_named(self, &[at])),
            _ => None,
        }
        .unwrap_or_else(|| self.page.words().verdict(verdict))
    }

    /// Returns trees, only counted where more runs of them would have to be named than anybody reads.
    fn named(&self, trees: &[usize]) -> String {
        let named = self.page.ranges(trees);
        if named.matches(", ").count() < RUNS { named } else { self.crew.scene.language.trees(trees.len()) }
    }

    /// Returns the groups with a verdict.
    fn with(&self, is: fn(&Verdict) -> bool) -> impl Iterator<Item = &TreeGroup> {
        self.groups.iter().filter(move |group| self.verdict(group).is_some_and(is))
    }

    fn verdict(&self, group: &TreeGroup) -> Option<&Verdict> {
        Some(&self.page.case(*group.cases.first()?)?.decision.verdict)
    }

    /// Returns the moment, and what nobody may overlook: that it is no advice for today, that the guide is broken or not in
    /// force.
    fn under(&self) -> Vec<String> {
        let (words, as_of, now) = (self.page.words(), self.page.advice.as_of, self.page.facts.now);
        let mut under = vec![words.moment(as_of)];
        let away = (now - as_of).num_minutes().abs();
        if now.date_naive() != as_of.date_naive() || away > 60 {
            let (as_of, now) = (words.moment(as_of), words.moment(now));
            under.push(self.say("page.not-today", &[("as-of", &as_of), ("now", &now)]));
        }
        let errors = self.page.facts.rulebook_problems.iter();
        under.extend(errors.map(|problem| self.say("page.rulebook-errors", &[("problem", problem)])));
        let today = as_of.date_naive();
        let head = &self.page.scene.plan.head;
        if head.in_force.is_none_or(|(from, to)| today < from || today > to) {
            under.push(sentence(&super::page::guide_words(&self.page)));
        }
        under
    }

    /// Adds a heading with items under it, if there are any.
    fn section(&self, paper: &mut Paper, key: &str, items: Vec<Piece>) {
        if !items.is_empty() {
            paper.pieces.push(Piece::Heading(self.say(key, &[])));
            paper.pieces.extend(items);
        }
    }
}

/// Returns an item of which all is said at once.
fn item(title: String, says: Vec<String>) -> Piece {
    Piece::Item { title, says, unfold: String::new(), more: Vec::new() }
}
