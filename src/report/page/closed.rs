//! Rows that people may not go into now, after a spray that was done: which trees, and until when.

use super::Page;
use crate::report::ranges;
use chrono::DateTime;
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// Returns the trees of these that people are kept out of now, by the time until which they are.
fn closed(page: &Page<'_>, trees: &[usize]) -> BTreeMap<DateTime<Tz>, Vec<usize>> {
    let mut by_time: BTreeMap<DateTime<Tz>, Vec<usize>> = BTreeMap::new();
    for tree in trees {
        if let Some(until) = page.advice.trees.get(*tree).and_then(|advice| advice.closed_until) {
            by_time.entry(until).or_default().push(*tree);
        }
    }
    by_time
}

/// Returns whether people may go into one of these trees before a moment, as far as earlier sprays say.
pub fn opens_before(page: &Page<'_>, trees: &[usize], moment: DateTime<Tz>) -> bool {
    let until = |tree: &usize| page.advice.trees.get(*tree).and_then(|advice| advice.closed_until);
    trees.iter().any(|tree| until(tree).is_none_or(|until| until < moment))
}

/// Returns a sentence for each time until which people are kept out of some of these trees now.
pub fn closed_words(page: &Page<'_>, trees: &[usize]) -> Vec<String> {
    let words = page.words();
    let say = |(until, closed): (DateTime<Tz>, Vec<usize>)| {
        let until = words.moment(until);
        if closed.len() == trees.len() {
            return words.say("page.closed", &[("until", &until)]);
        }
        words.say("page.closed.of", &[("until", &until), ("trees", &ranges(page.ground, &closed))])
    };
    closed(page, trees).into_iter().map(say).collect()
}

/// Returns what is said beside work that is to be done by hand: which of its trees are closed, and until when.
pub fn not_now(page: &Page<'_>, trees: &[usize]) -> String {
    let words = page.words();
    let say = |(until, closed): (DateTime<Tz>, Vec<usize>)| {
        let until = words.moment(until);
        if trees.len() == 1 {
            return words.say("page.not-now", &[("until", &until)]);
        }
        words.say("page.not-now.in", &[("until", &until), ("trees", &ranges(page.ground, &closed))])
    };
    closed(page, trees).into_iter().map(|one| format!(" {}", say(one))).collect()
}
