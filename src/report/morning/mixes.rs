//! The mixes: what goes onto which trees, how much for the load, when, what to keep it off, and until when people and pickers
//! stay out; then, each once, what several mixes share: why, the jugs, what is barred afterwards, close calls.

use super::head::mixes_named;
use super::{MorningFacts, item, sentence};
use crate::advice::Case;
use crate::explain::Values;
use crate::labels::barred;
use crate::plan::ProductId;
use crate::report::crew::when;
use crate::report::page::{assumed_words, long_of, risks, short_reasons};
use crate::report::paper::{Paper, Piece};
use crate::report::{loads_words, part_words_short};
use crate::sprayday::{Job, PlanGround, Round, on_the_shelf};
use std::collections::BTreeMap;

pub fn write(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let rounds = morning.crew.day.rounds.iter().enumerate();
    let mut items: Vec<Piece> = rounds.map(|(at, round)| mix(morning, at + 1, round)).collect();
    let shared: Vec<String> = [jugs(morning), afterwards(morning), close(morning)]
        .into_iter()
        .filter(|it| !it.is_empty())
        .collect();
    if !shared.is_empty() {
        items.push(item(shared.join(" "), Vec::new()));
    }
    morning.section(paper, "morning.mixes", items);
    morning.section(paper, "morning.why", reasons(morning));
}

fn mix(morning: &MorningFacts<'_>, number: usize, round: &Round<'_>) -> Piece {
    let (page, words) = (&morning.page, morning.page.words());
    let count = morning.crew.scene.language.trees(round.trees.len());
    let count = match &round.job {
        Ok(job) => morning.say("morning.mix.count", &[("trees", &count), ("volume", &loads(job, morning))]),
        Err(_) => count,
    };
    let (doses, trees) = (words.doses(&round.spray), page.ranges(&round.trees));
    let number = number.to_string();
    let places = [("number", &*number), ("mix", &*doses), ("trees", &*trees), ("count", &*count)];
    let title = morning.say("morning.mix.title", &places);
    let cases = cases(morning, round);
    let values = page.values(&round.trees);
    let done = [amounts(morning, round), hours(morning, round)].into_iter().chain(kept_off(morning, round));
    let mut says = vec![done.collect::<Vec<_>>().join(" ")];
    says.extend(not_in_the_shed(morning, round, &cases));
    says.extend(assumed(morning, &cases, &values));
    says.push(out(morning, round).join(" "));
    says.retain(|says| !says.is_empty());
    let unfold = morning.say("morning.more", &[]);
    Piece::Item { title, says, unfold, more: long_of(page, &values, &cases) }
}

/// Returns why the trees are sprayed, each reason once with what it is of.
fn reasons(morning: &MorningFacts<'_>) -> Vec<Piece> {
    let page = &morning.page;
    let mut sets: Vec<(Vec<String>, Vec<usize>)> = Vec::new();
    for (case, trees) in by_choices(morning) {
        let said = short_reasons(page, &page.values(&trees), &[case]);
        match sets.iter_mut().find(|(known, _)| *known == said) {
            Some((_, those)) => those.extend(trees),
            None => sets.push((said, trees)),
        }
    }
    let say = |(said, mut trees): (Vec<String>, Vec<usize>)| {
        trees.sort_unstable();
        let of = of_mixes(morning, &trees).unwrap_or_else(|| page.ranges(&trees));
        item(morning.say("morning.why.words", &[("of", &of), ("says", &said.join(" "))]), Vec::new())
    };
    sets.into_iter().map(say).collect()
}

/// Returns which mixes some trees are, where they are whole mixes.
fn of_mixes(morning: &MorningFacts<'_>, trees: &[usize]) -> Option<String> {
    let is_among = |tree: &usize| trees.binary_search(tree).is_ok();
    let rounds = morning.crew.day.rounds.iter().enumerate();
    let whole: Vec<(usize, usize)> = rounds
        .filter(|(_, round)| round.trees.iter().all(is_among))
        .map(|(at, round)| (at, round.trees.len()))
        .collect();
    let all: usize = whole.iter().map(|(_, count)| count).sum();
    let at: Vec<usize> = whole.into_iter().map(|(at, _)| at).collect();
    (all == trees.len()).then(|| mixes_named(morning, &at))
}

/// Returns the trees that are sprayed by the choices that led there, each set with its first case.
fn by_choices<'m>(morning: &'m MorningFacts<'_>) -> Vec<(&'m Case, Vec<usize>)> {
    let mut sets: Vec<(&Case, Vec<usize>)> = Vec::new();
    for tree in morning.crew.day.rounds.iter().flat_map(|round| &round.trees) {
        let advice = morning.page.advice.trees.get(*tree);
        let Some(case) = advice.and_then(|it| morning.page.advice.case_of(it)) else { continue };
        match sets.iter_mut().find(|(known, _)| known.decision.choices == case.decision.choices) {
            Some((_, trees)) => trees.push(*tree),
            None => sets.push((case, vec![*tree])),
        }
    }
    sets.iter_mut().for_each(|(_, trees)| trees.sort_unstable());
    sets
}

/// Returns the spray and what goes into each load of it.
fn amounts(morning: &MorningFacts<'_>, round: &Round<'_>) -> String {
    let words = morning.page.words();
    match &round.job {
        Err(why) => sentence(&words.no_amounts(why)),
        Ok(job) => {
            let parts: Vec<String> =
                job.parts.iter().map(|part| part_words_short(job, part, words)).collect();
            sentence(&parts.join(", "))
        }
    }
}

/// Returns how much spray it is, and in which loads, where it is more than one.
fn loads(job: &Job<'_>, morning: &MorningFacts<'_>) -> String {
    match job.loads.full {
        0 => morning.page.words().volume_short(job.volume),
        _ => loads_words(job, morning.page.words()),
    }
}

/// Returns, where a product is not in the shed, what the guide allows that is.
fn not_in_the_shed(morning: &MorningFacts<'_>, round: &Round<'_>, cases: &[&Case]) -> Option<String> {
    let (words, trees) = (morning.page.words(), &morning.crew.ground.trees);
    if round.spray.iter().all(|(product, _)| trees.grove.jug(*product).is_some()) {
        return None;
    }
    let rules = morning.crew.ground.advisor.rules();
    let allowed: Vec<String> = on_the_shelf((words.plan, trees.grove), rules, cases, &round.aims)
        .iter()
        .map(|dose| words.doses(&vec![*dose]))
        .collect();
    Some(match allowed.is_empty() {
        true => morning.say("morning.mix.shed.none", &[]),
        false => {
            let allowed = words.language.listed("list.or", &allowed);
            morning.say("morning.mix.shed", &[("allowed", &allowed)])
        }
    })
}

/// Returns when it is planned.
fn hours(morning: &MorningFacts<'_>, round: &Round<'_>) -> String {
    // What cannot be weighed has no place in the plan of the day.
    if !round.is_weighed() {
        return String::new();
    }
    let planned = &round.planned;
    let mut said: Vec<String> = match planned.ground {
        PlanGround::Open => planned
            .stretches
            .iter()
            .map(|stretch| match stretch.to {
                Some(to) => morning.span_soon(stretch.from, to),
                None => morning.say("morning.mix.from", &[("from", &morning.soon(stretch.from))]),
            })
            .collect(),
        _ => when(morning.crew, round),
    };
    if planned.ground == PlanGround::Open && planned.unfitted > 0 {
        said.push(morning.say("morning.mix.unfitted", &[]));
    }
    if planned.outside_work && planned.ground == PlanGround::Open {
        said.push(morning.say("sheet.when.outside-work", &[]));
    }
    sentence(&said.join("; "))
}

/// Returns which trees nearby a product is to be kept off.
fn kept_off(morning: &MorningFacts<'_>, round: &Round<'_>) -> Vec<String> {
    let words = morning.page.words();
    let mut by_product: BTreeMap<ProductId, Vec<usize>> = BTreeMap::new();
    for risk in risks(&morning.page, &round.trees, &round.spray) {
        by_product.entry(risk.product).or_default().extend(&risk.trees);
    }
    let say = |(product, mut trees): (ProductId, Vec<usize>)| {
        trees.sort_unstable();
        let places = [("product", &*words.product(product)), ("list", &*morning.page.ranges(&trees))];
        morning.say("morning.mix.off", &places)
    };
    by_product.into_iter().map(say).collect()
}

/// Returns the cases of a round's trees, each once.
fn cases<'m>(morning: &'m MorningFacts<'_>, round: &Round<'_>) -> Vec<&'m Case> {
    let mut cases: Vec<&Case> = Vec::new();
    for tree in &round.trees {
        let case = morning.page.advice.trees.get(*tree).and_then(|it| morning.page.advice.case_of(it));
        if let Some(case) = case.filter(|case| !cases.iter().any(|known| std::ptr::eq(*known, *case))) {
            cases.push(case);
        }
    }
    cases
}

/// Returns on which values that nobody saw the decision rests.
fn assumed(morning: &MorningFacts<'_>, cases: &[&Case], values: &Values) -> Option<String> {
    let mut names = Vec::new();
    for name in cases.iter().flat_map(|case| &case.rests_on) {
        if !names.contains(name) {
            names.push(*name);
        }
    }
    let said: Vec<String> =
        names.into_iter().map(|name| assumed_words(&morning.page, name, values)).collect();
    (!said.is_empty()).then(|| morning.say("morning.mix.assumed", &[("list", &said.join("; "))]))
}

/// Returns until when people keep out, and from when may be picked.
fn out(morning: &MorningFacts<'_>, round: &Round<'_>) -> Vec<String> {
    let words = morning.page.words();
    let entry = round.keep_out_until.max(round.kept_out_before);
    let pick = round.pick_not_before;
    match (entry, pick) {
        // People who may not go in cannot pick.
        (Some(until), Some(day)) if until.date_naive() >= day => {
            vec![sentence(&morning.say("morning.mix.out.pick", &[("until", &words.moment_ahead(until))]))]
        }
        _ => {
            let out = entry.map(|until| ("morning.mix.out", ("until", words.moment_ahead(until))));
            let pick = pick.map(|day| ("morning.mix.pick", ("day", words.day_ahead(day))));
            let both = out.into_iter().chain(pick);
            both.map(|(key, (place, says))| sentence(&morning.say(key, &[(place, &says)]))).collect()
        }
    }
}

/// Returns from which jugs the amounts are.
fn jugs(morning: &MorningFacts<'_>) -> String {
    let jobs = morning.crew.day.rounds.iter().filter_map(|round| round.job.as_ref().ok());
    let mut named: BTreeMap<ProductId, String> = BTreeMap::new();
    for part in jobs.flat_map(|job| &job.parts) {
        let Some(jug) = part.jug else { continue };
        named.entry(part.product).or_insert_with(|| format!("`{}`", jug.name));
    }
    if named.is_empty() {
        return String::new();
    }
    let list: Vec<String> = named.into_values().collect();
    morning.say("morning.jugs", &[("list", &list.join(", "))])
}

/// Returns which products the labels bar after which mixes, and until when.
fn afterwards(morning: &MorningFacts<'_>) -> String {
    let words = morning.page.words();
    let mut barring: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for (at, round) in morning.crew.day.rounds.iter().enumerate() {
        let sprayed: Vec<_> = round.spray.iter().map(|(product, _)| *product).collect();
        let last =
            round.planned.stretches.last().map_or(morning.page.advice.as_of, |it| it.to.unwrap_or(it.from));
        for it in barred(words.plan, &sprayed) {
            barring.entry((it.product, it.until(last.date_naive()))).or_default().push(at);
        }
    }
    let mut by_product: BTreeMap<ProductId, Vec<String>> = BTreeMap::new();
    for ((product, day), at) in barring {
        let (day, of) = (words.day_ahead(day), mixes_named(morning, &at));
        let says = morning.say("morning.mix.barred.day", &[("day", &day), ("of", &of)]);
        by_product.entry(product).or_default().push(says);
    }
    let say = |(product, days): (ProductId, Vec<String>)| {
        let places = [("product", &*words.product(product)), ("list", &*days.join(", "))];
        morning.say("morning.mix.barred", &places)
    };
    by_product.into_iter().map(say).collect::<Vec<_>>().join(" ")
}

/// Returns which readings a small error would turn, with the trees of each.
fn close(morning: &MorningFacts<'_>) -> String {
    let page = &morning.page;
    let mut by_name: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for tree in morning.crew.day.rounds.iter().flat_map(|round| &round.trees) {
        let calls = page.advice.trees.get(*tree).map_or(&[][..], |it| &it.close_calls);
        for call in calls {
            let trees = by_name.entry(call.name).or_default();
            if trees.last() != Some(tree) {
                trees.push(*tree);
            }
        }
    }
    if by_name.is_empty() {
        return String::new();
    }
    let say = |(name, mut trees): (_, Vec<usize>)| {
        trees.sort_unstable();
        trees.dedup();
        let words = page.words();
        let value = words.several(name, page.values(&trees).of(name));
        let places = [("name", words.label(name)), ("value", &value), ("trees", &page.ranges(&trees))];
        morning.say("morning.close.words", &places)
    };
    let list: Vec<String> = by_name.into_iter().map(say).collect();
    morning.say("morning.close", &[("list", &list.join("; "))])
}
