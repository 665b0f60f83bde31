//! Words of a scale that say how many there are, `more than half of the flowers open`, and a count that says otherwise.
//!
//! Comes in: notes, and the grove as it would stand with them. Goes out: the trees of the notes for which a word and a share
//! would both count, and do not go together. What a word says is read from the rulebook's own words: those of the scale,
//! where they hold every word of the share's name and a number in words.

use super::{Grove, Noted, SeenValue, Sighting};
use crate::plan::{Kind, NameId, Origin, Plan};
use crate::units::Threshold;
use std::collections::BTreeSet;

/// What is seen of a name.
pub(super) type Seen = (NameId, Sighting);

/// The least that is more than none.
const SOME: f64 = 1e-6;

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

/// Returns for trees of the notes the words and shares that do not go together.
pub(super) fn apart(noted: &[Noted], grove: &Grove, plan: &Plan) -> Vec<(usize, Seen, Seen)> {
    let pairs = pairs(plan);
    let mut found = Vec::new();
    for (word, share) in pairs {
        let speaks = |note: &&Noted| note.values.iter().any(|it| it.name == word || it.name == share);
        let of_notes = noted.iter().filter(speaks).flat_map(|note| &note.place.trees);
        let trees: BTreeSet<usize> = of_notes.copied().collect();
        for tree in trees {
            let groups = 0..grove.groups(tree).len();
            found.extend(groups.filter_map(|group| {
                let seen = |name| {
                    let sighting = grove.seen_in_group(tree, group, name)?;
                    grove.holds(name, &sighting, plan).then_some(sighting)
                };
                let (of_word, of_share) = (seen(word)?, seen(share)?);
                are_apart((word, &of_word.value), (share, &of_share.value), plan).then_some((
                    tree,
                    (word, of_word),
                    (share, of_share),
                ))
            }));
        }
    }
    found
}

/// Returns the observations in words and in shares that are seen of the same thing.
fn pairs(plan: &Plan) -> Vec<(NameId, NameId)> {
    let seen = || plan.observations().filter(|(_, name, _)| !name.hidden);
    let words = seen().filter(|(_, name, _)| matches!(name.kind, Kind::Words(_)));
    let beside = |(word, of, _): (NameId, _, _)| {
        let of: &crate::plan::Name = of;
        let shares = seen().filter(|(_, name, _)| name.kind == Kind::Share && name.scope == of.scope);
        shares.map(move |(share, _, _)| (word, share)).collect::<Vec<_>>()
    };
    words.flat_map(beside).collect()
}

fn are_apart((word, said): (NameId, &SeenValue), (share, seen): (NameId, &SeenValue), plan: &Plan) -> bool {
    let Kind::Words(list) = plan[word].kind else { return false };
    let (first, last) = match said {
        SeenValue::Word(at) => (*at, *at),
        SeenValue::Words(first, last) => (*first, *last),
        _ => return false,
    };
    let Some((low, high)) = seen.ends() else { return false };
    // A word that says nothing of the share goes with every one.
    let goes = |at: u16| {
        let label = plan[list].words.get(usize::from(at)).map_or("", |word| &*word.label);
        said_share(label, &plan[share].label).is_none_or(|(least, most)| high >= least && low <= most)
    };
    !(first..=last).any(goes)
}

/// Returns the least and the most that words say of a share, where they speak of it and of how much.
fn said_share(words: &str, of: &str) -> Option<(f64, f64)> {
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
