//! The mixes: what goes onto which trees, how much for the load, when, why, what to keep it off, and until when people and
//! pickers stay out.

use super::head::done_by;
use super::{MorningFacts, sentence};
use crate::advice::Case;
use crate::explain::Values;
use crate::labels::barred;
use crate::plan::ProductId;
use crate::report::crew::when;
use crate::report::page::{assumed_words, close_calls, long_of, risks, short_reasons};
use crate::report::paper::{Paper, Piece};
use crate::report::{loads_words, part_words_short};
use crate::sprayday::{PlanGround, Round};

pub fn write(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let rounds = morning.crew.day.rounds.iter().enumerate();
    let items = rounds.map(|(at, round)| mix(morning, at + 1, round)).collect();
    morning.section(paper, "morning.mixes", items);
}

fn mix(morning: &MorningFacts<'_>, number: usize, round: &Round<'_>) -> Piece {
    let (page, words) = (&morning.page, morning.page.words());
    let count = morning.crew.scene.language.trees(round.trees.len());
    let (doses, trees) = (words.doses(&round.spray), page.ranges(&round.trees));
    let number = number.to_string();
    let places = [("number", &*number), ("mix", &*doses), ("trees", &*trees), ("count", &*count)];
    let title = morning.say("morning.mix.title", &places);
    let mut says = amounts(morning, round);
    says.push(hours(morning, round));
    let cases = cases(morning, round);
    let values = page.values(&round.trees);
    says.extend(reasons(morning, round));
    says.extend(assumed(morning, &cases, &values));
    says.extend(kept_off(morning, round));
    says.extend(out(morning, round));
    says.extend(together(morning, "morning.mix.close", &close_calls(page, &round.trees, &values)));
    let unfold = morning.say("morning.more", &[]);
    Piece::Item { title, says, unfold, more: long_of(page, &values, &cases) }
}

/// So many different reasons are told of one mix.
const REASONS: usize = 3;

/// Returns why the trees get it, those with a reason of their own named.
fn reasons(morning: &MorningFacts<'_>, round: &Round<'_>) -> Vec<String> {
    let page = &morning.page;
    let mut sets: Vec<(Vec<String>, Vec<usize>)> = Vec::new();
    for (case, trees) in by_choices(morning, round) {
        let said = short_reasons(page, &page.values(&trees), &[case]);
        match sets.iter_mut().find(|(known, _)| *known == said) {
            Some((_, those)) => those.extend(trees),
            None => sets.push((said, trees)),
        }
    }
    if let [(said, _)] = &sets[..] {
        return said.clone();
    }
    let say = |(said, mut trees): (Vec<String>, Vec<usize>)| {
        trees.sort_unstable();
        let places = [("label", &*page.ranges(&trees)), ("says", &*said.join(" "))];
        morning.say("morning.labeled", &places)
    };
    sets.into_iter().take(REASONS).map(say).collect()
}

/// Returns the trees of a round by the choices that led there, each set with its first case.
fn by_choices<'m>(morning: &'m MorningFacts<'_>, round: &Round<'_>) -> Vec<(&'m Case, Vec<usize>)> {
    let mut sets: Vec<(&Case, Vec<usize>)> = Vec::new();
    for tree in &round.trees {
        let advice = morning.page.advice.trees.get(*tree);
        let Some(case) = advice.and_then(|it| morning.page.advice.case_of(it)) else { continue };
        match sets.iter_mut().find(|(known, _)| known.decision.choices == case.decision.choices) {
            Some((_, trees)) => trees.push(*tree),
            None => sets.push((case, vec![*tree])),
        }
    }
    sets
}

/// Returns the spray and what goes into each load of it.
fn amounts(morning: &MorningFacts<'_>, round: &Round<'_>) -> Vec<String> {
    let words = morning.page.words();
    match &round.job {
        Err(why) => vec![words.no_amounts(why)],
        Ok(job) => {
            let parts: Vec<String> =
                job.parts.iter().map(|part| part_words_short(job, part, words)).collect();
            let (loads, parts) = (loads_words(job, words), parts.join("; "));
            vec![morning.say("morning.mix.amounts", &[("loads", &loads), ("parts", &parts)])]
        }
    }
}

/// Returns when it is planned, and by when it must be done.
fn hours(morning: &MorningFacts<'_>, round: &Round<'_>) -> String {
    let words = morning.page.words();
    let mut said = match round.planned.ground {
        PlanGround::Open => round
            .planned
            .stretches
            .iter()
            .map(|stretch| match stretch.to {
                Some(to) => words.span_ahead(stretch.from, to),
                None => morning.say("sheet.when.from", &[("from", &words.moment_ahead(stretch.from))]),
            })
            .collect(),
        _ => when(morning.crew, round),
    };
    if matches!(round.planned.ground, PlanGround::Open) && round.planned.unfitted > 0 {
        said.push(morning.say("morning.mix.unfitted", &[]));
    }
    // What dries before the rain is worth more than the last hour that is open after it.
    let (key, by) = match round.planned.before_rain {
        Some(window) => ("morning.mix.by.rain", Some(window.to)),
        None => ("morning.mix.by", done_by(round)),
    };
    said.extend(by.map(|by| morning.say(key, &[("by", &words.moment_ahead(by))])));
    let unchecked = round.hours.not_checked.iter();
    said.extend(unchecked.map(|(window, gates)| {
        let (span, gates) = (words.window(window), words.gates(gates));
        morning.say("morning.mix.unchecked", &[("span", &span), ("gates", &gates)])
    }));
    sentence(&said.join("; "))
}

/// Returns which trees nearby a product is to be kept off, each product with its reasons.
fn kept_off(morning: &MorningFacts<'_>, round: &Round<'_>) -> Vec<String> {
    let words = morning.page.words();
    let mut by_product: Vec<(ProductId, Vec<String>)> = Vec::new();
    for risk in risks(&morning.page, &round.trees, &round.spray) {
        let why = risk.why(words);
        let trees = morning.page.ranges(&risk.trees);
        let says = morning.say("morning.mix.off.why", &[("trees", &trees), ("why", &why)]);
        match by_product.iter_mut().find(|(known, _)| *known == risk.product) {
            Some((_, those)) => those.push(says),
            None => by_product.push((risk.product, vec![says])),
        }
    }
    let say = |(product, those): (ProductId, Vec<String>)| {
        let places = [("product", &*words.product(product)), ("list", &*those.join(", "))];
        morning.say("morning.mix.off", &places)
    };
    by_product.into_iter().map(say).collect()
}

/// Returns several sayings under one label.
fn together(morning: &MorningFacts<'_>, key: &str, said: &[String]) -> Option<String> {
    (!said.is_empty()).then(|| morning.say(key, &[("list", &said.join("; "))]))
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
    together(morning, "morning.mix.assumed", &said)
}

/// Returns until when people keep out, from when may be picked, and what is barred afterwards.
fn out(morning: &MorningFacts<'_>, round: &Round<'_>) -> Option<String> {
    let words = morning.page.words();
    let mut said = Vec::new();
    let moment = |key: &str, until| morning.say(key, &[("until", &words.moment_ahead(until))]);
    let out = round.keep_out_until.max(round.kept_out_before);
    said.extend(out.map(|until| moment("morning.mix.out", until)));
    said.extend(round.pick_not_before.map(|day| {
        let entry = round.keep_out_until.max(round.kept_out_before);
        let barred = entry.is_some_and(|until| until.date_naive() >= day);
        let key = if barred { "morning.mix.pick.entry" } else { "morning.mix.pick" };
        morning.say(key, &[("day", &words.day_ahead(day))])
    }));
    let sprayed: Vec<_> = round.spray.iter().map(|(product, _)| *product).collect();
    let last =
        round.planned.stretches.last().map_or(morning.page.advice.as_of, |it| it.to.unwrap_or(it.from));
    said.extend(barred(words.plan, &sprayed).iter().map(|it| {
        let day = it.until(last.date_naive());
        let places = [("product", &*words.product(it.product)), ("day", &*words.day_ahead(day))];
        morning.say("morning.mix.barred", &places)
    }));
    let said = said.join(" ");
    (!said.is_empty()).then_some(said)
}
