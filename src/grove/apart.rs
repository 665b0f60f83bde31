//! What is seen of the flowers that are open, said in several ways that do not go together: `more than half of the flowers
//! open` and a count that says otherwise, open flowers beside fruit of 9 mm.
//!
//! Comes in: notes, and the grove as it would stand with them. Goes out: the trees of the notes for which two observations
//! would both count, and do not go together. What a word says is read from the rulebook's own words, which the author wrote:
//! those of the scale, where they hold every word of the share's name and a number in words.

use super::{Grove, Noted, SeenValue, Sighting};
use crate::plan::{Kind, NameId, Origin, Place, Plan};
use crate::units::{Dimension, Threshold};
use std::collections::BTreeSet;

/// What is seen of a name.
pub(super) type SeenOfName = (NameId, Sighting);

/// The least that is more than none.
const SOME: f64 = 1e-6;
/// Fruit longer than this, in millimeters, hangs where no flower is open any more: about the size of a pea. This program's
/// own, common practice.
const PAST_BLOOM: f64 = 5.0;

impl Grove {
    /// Returns whether a sighting is not too old to count.
    pub fn holds(&self, name: NameId, sighting: &Sighting, plan: &Plan) -> bool {
        let lasts = match plan.names.get(name.index()).map(|name| &name.origin) {
            Some(Origin::Observed(seen)) => seen.lasts,
            _ => None,
        };
        let age = (self.as_of.date_naive() - sighting.on).num_hours() as f64;
        lasts.is_none_or(|lasts| Threshold::of_hours(lasts).is_kept_by(age, true))
    }
}

/// Returns for trees of the notes the observations that do not go together.
pub(super) fn apart(noted: &[Noted], grove: &Grove, plan: &Plan) -> Vec<(usize, SeenOfName, SeenOfName)> {
    let mut found = Vec::new();
    for (one, other, share) in pairs(plan) {
        let speaks = |note: &&Noted| note.values.iter().any(|it| it.name == one || it.name == other);
        let of_notes = noted.iter().filter(speaks).flat_map(|note| &note.place.trees);
        let trees: BTreeSet<usize> = of_notes.copied().collect();
        for tree in trees {
            let groups = 0..grove.groups(tree).len();
            found.extend(groups.filter_map(|group| {
                let seen = |name| {
                    let sighting = grove.seen_in_group(tree, group, name)?;
                    grove.holds(name, &sighting, plan).then_some(sighting)
                };
                let (of_one, of_other) = (seen(one)?, seen(other)?);
                let says = |name: NameId, seen: &Sighting| says(name, &seen.value, &plan[share].label, plan);
                let (one_says, other_says) = (says(one, &of_one)?, says(other, &of_other)?);
                // Flowers fall within days: fruit says nothing of those of an earlier day.
                let is_fruit = |name: NameId| matches!(plan[name].kind, Kind::Quantity(_));
                let follows = (is_fruit(one) && of_one.on > of_other.on)
                    || (is_fruit(other) && of_other.on > of_one.on);
                let meet = |a: &ShareSpan, b: &ShareSpan| a.0 <= b.1 && b.0 <= a.1;
                let together = one_says.iter().any(|a| other_says.iter().any(|b| meet(a, b)));
                (!together && !follows).then_some((tree, (one, of_one), (other, of_other)))
            }));
        }
    }
    found
}

/// Returns pairs of observations that may speak of one share of the same thing, with that share: words and lengths with the
/// share itself, words with lengths.
fn pairs(plan: &Plan) -> Vec<(NameId, NameId, NameId)> {
    let seen: Vec<(NameId, Kind, Place)> = plan
        .observations()
        .filter(|(_, name, _)| !name.hidden)
        .map(|(id, name, _)| (id, name.kind, name.scope))
        .collect();
    let is_word = |kind: Kind| matches!(kind, Kind::Words(_));
    let is_length = |kind: Kind| kind == Kind::Quantity(Dimension::LENGTH);
    let mut pairs = Vec::new();
    for (share, _, scope) in seen.iter().filter(|(_, kind, _)| *kind == Kind::Share) {
        let beside = || seen.iter().filter(|(_, _, of)| of == scope);
        for (one, kind, _) in beside().filter(|(_, kind, _)| is_word(*kind) || is_length(*kind)) {
            pairs.push((*one, *share, *share));
            let lengths = beside().filter(|(_, other, _)| is_word(*kind) && is_length(*other));
            pairs.extend(lengths.map(|(length, ..)| (*one, *length, *share)));
        }
    }
    pairs
}

/// The least and the most of a share.
type ShareSpan = (f64, f64);

/// Returns what a sighting says of a share; nothing where it does not speak of it.
fn says(name: NameId, seen: &SeenValue, share: &str, plan: &Plan) -> Option<Vec<ShareSpan>> {
    match (plan[name].kind, seen) {
        (Kind::Words(list), seen) => {
            let (first, last) = match seen {
                SeenValue::Words(first, last) => (*first, *last),
                SeenValue::Word(at) => (*at, *at),
                _ => return None,
            };
            let label = |at: u16| plan[list].words.get(usize::from(at)).map_or("", |word| &*word.label);
            (first..=last).map(|at| said_share(label(at), share)).collect()
        }
        (Kind::Quantity(_), seen) => {
            let is_past = seen.ends().is_some_and(|(least, _)| least > PAST_BLOOM);
            let speaks = |text: &str, of: &str| words_of(text).iter().any(|word| word == of);
            let of_fruit = speaks(&plan[name].label, "fruit") && speaks(share, "flowers");
            (is_past && of_fruit).then(|| vec![(0.0, 0.0)])
        }
        (_, seen) => seen.ends().map(|ends| vec![ends]),
    }
}

/// Returns the least and the most that words say of a share, where they speak of it and of how much.
fn said_share(words: &str, of: &str) -> Option<ShareSpan> {
    let words = words_of(words);
    if !words_of(of).iter().all(|word| words.contains(word)) {
        return None;
    }
    let parts = [("half", 0.5), ("third", 1.0 / 3.0), ("quarter", 0.25), ("tenth", 0.1)];
    let part = |word: &String| parts.iter().find(|(said, _)| said == word).map(|(_, part)| *part);
    let Some((at, part)) = words.iter().enumerate().find_map(|(at, word)| Some((at, part(word)?))) else {
        return words.iter().any(|word| word == "first").then_some((SOME, 0.5));
    };
    let before = |word: &str| words.iter().take(at).any(|it| it == word);
    Some(match (before("more"), before("less") || before("up")) {
        (true, _) => (part, 1.0),
        (false, true) => (0.0, part),
        (false, false) => (part / 2.0, part * 2.0),
    })
}

fn words_of(text: &str) -> Vec<String> {
    let small = text.to_lowercase();
    small.split(|sign: char| !sign.is_alphanumeric()).filter(|it| !it.is_empty()).map(str::to_owned).collect()
}
