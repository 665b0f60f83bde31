//! Random edits of the shipped rulebooks, held against advice: groves of random trees are advised by the rulebook as it was and
//! as it is, and what `compare` and `tightens` say of all situations must be what was met. Every tree that is decided otherwise
//! lies in a told region with what was and is said; no other tree lies in one; and where an overlay is proved to tighten, no
//! tree gets more.
//!
//! `cargo test` takes a few edits of a fixed seed. `BLOOMWARD_EDITS=all cargo test --release --test it edits::` takes all, a
//! number so many, `BLOOMWARD_EDITS_SEED` other ones and other trees.

use crate::edits_made::{Edit, edits, edits_of_base};
use crate::edits_trees::{Dice, Near, PRODUCTS, Seed, Told, groves};
use bloomward::check;
use bloomward::measure::Possible;
use bloomward::plan::{Datum, ExprNode, NameId, Origin, Plan, Product, ProductId, Sprayed, TakenValue, Way};
use bloomward::prove::BUDGET;
use bloomward::prove::differences::{Comparison, Region, Regions, compare};
use bloomward::prove::loosened::tightens;
use bloomward::source::Sources;
use bloomward::trace::Verdict;
use std::collections::{BTreeMap, BTreeSet};
use std::time::Instant;

/// The shipped rulebooks that are edited: each alone, or with the base that it builds on.
const BOOKS: [&str; 4] =
    ["base/mango.rulebook", "dry-hills.rulebook", "humid-lowland.rulebook", "southern-subtropics.rulebook"];

/// The edits that `cargo test` tries, one of each kind, with how many trees at least are decided otherwise.
const SAMPLE: [(&str, &str, usize); 6] = [
    (BOOKS[0], "figure anthracnose-interval: 10 becomes 9", 4),
    (BOOKS[1], "measure cool-nights: 3 becomes 2", 3),
    (BOOKS[2], "band anthracnose-cover: 14 becomes 12", 5),
    (BOOKS[3], "gate gentle-in-bloom of the base: left out", 15),
    (BOOKS[0], "product mancozeb: shut", 2),
    (BOOKS[1], "choice treat-mildew: dropped", 1),
];

/// The kinds of edits, of which one after another is drawn.
const KINDS: [&str; 7] = ["figure", "definition", "band", "gate", "product", "choice", "table"];

/// The seed of edits and trees.
const SEED: usize = 12;

#[test]
fn what_is_told_of_an_edit_is_what_trees_meet() {
    let number = |name: &str| std::env::var(name).ok().and_then(|it| it.parse::<usize>().ok());
    let asked = std::env::var("BLOOMWARD_EDITS").ok();
    let mut dice = Dice(number("BLOOMWARD_EDITS_SEED").unwrap_or(SEED) as u64);
    let base = read(BOOKS[0]);
    let mut all: Vec<(&str, Edit)> = Vec::new();
    for book in BOOKS {
        let text = read(book);
        all.extend(edits(&text).into_iter().map(|edit| (book, edit)));
        if book != BOOKS[0] {
            all.extend(edits_of_base(&text, &base).into_iter().map(|edit| (book, edit)));
        }
    }
    assert!(all.len() > 400, "{} edits", all.len());
    let count = match asked.as_deref() {
        None => SAMPLE.len(),
        Some("all") => all.len(),
        Some(_) => number("BLOOMWARD_EDITS").expect("BLOOMWARD_EDITS is `all` or a number"),
    };
    let (mut sum, mut failed, mut tried) = (Met::default(), Vec::new(), 0);
    while tried < count && !all.is_empty() {
        // Those of the sample, or a book after another and a kind after another, each edit drawn.
        let is_next = |at: &usize| {
            let (book, edit) = &all[*at];
            match asked {
                None => (*book, &*edit.what) == (SAMPLE[tried].0, SAMPLE[tried].1),
                Some(_) => {
                    *book == BOOKS[(tried + tried / KINDS.len()) % BOOKS.len()]
                        && edit.kind == KINDS[tried % KINDS.len()]
                }
            }
        };
        let places: Vec<usize> = (0..all.len()).filter(is_next).collect();
        assert!(asked.is_some() || places.len() == 1, "{:?} is an edit no more", SAMPLE[tried]);
        let at = if places.is_empty() { dice.below(all.len()) } else { places[dice.below(places.len())] };
        let (book, edit) = all.swap_remove(at);
        // Not every edit can be read.
        let Some(new) = plan_of(book, &edit.text) else { continue };
        let old = plan_of(book, &read(book)).expect("the shipped rulebook is read");
        let started = Instant::now();
        let (met, wrong) = held(&old, &new, &edit, &mut dice);
        eprintln!("{book}, {}: {met:?}, {} wrong, {:.1?}", edit.what, wrong.len(), started.elapsed());
        wrong.iter().for_each(|it| eprintln!("  {it}"));
        failed.extend(wrong.into_iter().map(|it| format!("{book}, {}: {it}", edit.what)));
        let least = if asked.is_none() { SAMPLE[tried].2 } else { 0 };
        assert!(met.differing >= least, "{book}, {}: {met:?}", edit.what);
        sum.add(&met);
        tried += 1;
    }
    eprintln!("{tried} edits tried: {sum:?}");
    assert!(failed.is_empty(), "{} wrong:\n{}", failed.len(), failed.join("\n"));
    if asked.is_none() {
        let met = [sum.differing, sum.told, sum.same, sum.kept];
        assert!(met.iter().zip(LEAST).all(|(met, least)| *met >= least), "{sum:?}");
    }
}

/// At least so many trees are decided otherwise, lie in a told region, are decided the same, and differ under an edit that is
/// proved to tighten.
const LEAST: [usize; 4] = [40, 2, 800, 30];

/// What was met.
#[derive(Default, Debug)]
struct Met {
    /// Trees that are decided otherwise.
    differing: usize,
    /// Those of them that lie in a told region for sure.
    told: usize,
    /// Trees that are decided the same, in no told region.
    same: usize,
    /// Trees that are not held against regions: in groves that are certified, or to be looked at.
    open: usize,
    /// Trees that are decided otherwise where one rulebook is proved to tighten the other.
    kept: usize,
}

impl Met {
    fn add(&mut self, other: &Met) {
        self.differing += other.differing;
        self.told += other.told;
        self.same += other.same;
        self.open += other.open;
        self.kept += other.kept;
    }
}

/// Returns what trees are made from: the takes of worked examples, and the situations of regions.
fn seeds(plan: &Plan, comparison: &Comparison) -> Vec<Seed> {
    let mut seeds = Vec::new();
    for worked in &plan.worked {
        let mut seed = Seed::default();
        let settings = worked.with.iter().filter_map(|at| plan.settings.get(*at));
        for take in settings.flat_map(|it| &it.takes).chain(&worked.takes) {
            let TakenValue::One(datum) = &take.value else { continue };
            let value = match datum {
                Datum::Word(place) => plan.word_of(take.name, *place),
                Datum::Number(base) => plan.number_of(take.name, *base),
                Datum::Text(text) => plan.texts[text.0 as usize].to_string(),
            };
            plant(plan, &mut seed, take.name, value);
        }
        seeds.push(seed);
    }
    for region in comparison.regions.iter().take(60) {
        let mut seed = Seed::default();
        for (word, value) in &region.situation.values {
            let Some((name, _)) = plan.named().find(|(_, it)| *it.word == **word) else { continue };
            let (amount, unit) = (&value["value"], value["unit"].as_str().unwrap_or_default());
            let amount = amount.as_str().map_or_else(|| amount.to_string(), str::to_owned);
            if amount != "null" && amount != "longer than any" {
                plant(plan, &mut seed, name, format!("{amount} {unit}").trim().to_owned());
            }
        }
        // As often as all the worked examples together.
        seeds.extend([seed.clone(), seed]);
    }
    seeds.retain(|it| !it.seen.is_empty() || !it.sprayed.is_empty());
    seeds
}

/// Puts a value into a seed, if it is one that is seen of a tree or logged.
fn plant(plan: &Plan, seed: &mut Seed, name: NameId, value: String) {
    match &plan[name].origin {
        Origin::Observed(_) => drop(seed.seen.insert(plan[name].word.to_string(), value)),
        Origin::Measure(measure) => {
            if let ExprNode::DaysSinceLast(Sprayed::Product(product)) = &*measure.expr.node
                && let Some(days) = value.split(' ').next().and_then(|it| it.parse::<f64>().ok())
                && (1.0..33.0).contains(&days)
                && PRODUCTS.contains(&&*plan[*product].name)
            {
                seed.sprayed.push((plan[*product].name.to_string(), days as i64));
            }
        }
        _ => {}
    }
}

/// Returns how many trees are decided otherwise, and what is wrong in what is told of them.
fn held(old: &Plan, new: &Plan, edit: &Edit, dice: &mut Dice) -> (Met, Vec<String>) {
    // Where an edit changes much, all regions are more than can be told: one of each change is.
    let comparison = compare(old, new, BUDGET, Regions::One);
    let tells = if comparison.turns.len() <= MANY { Regions::All } else { Regions::One };
    let comparison = if tells == Regions::All { compare(old, new, BUDGET, tells) } else { comparison };
    let tightened = [tightens(old, new, BUDGET).is_kept(), tightens(new, old, BUDGET).is_kept()];
    let mut wrong = of_regions(&comparison, tells);
    let mut near = Near::default();
    if let Some((was, now, unit)) = &edit.moved {
        near.add(*was, *now, unit);
    }
    for region in comparison.regions.iter().take(6) {
        region.situation.values.values().for_each(|it| near.add_value(it));
    }
    let mut met = Met::default();
    for grove in groves(dice, GROVES, &near, &seeds(old, &comparison)) {
        let (was, now) = (grove.told(old), grove.told(new));
        for (was, now) in was.iter().zip(&now) {
            let same = shared(old, &was.verdict) == shared(new, &now.verdict);
            let sides = [([old, new], [was, now]), ([new, old], [now, was])];
            for ((plans, sides), is_kept) in sides.into_iter().zip(tightened) {
                met.kept += usize::from(is_kept && !same);
                if is_kept && !same && !is_tighter(plans, sides[0], sides[1]) {
                    let turn = turn(plans[0], plans[1], sides[0], sides[1]);
                    wrong.push(format!("{} loosens, and `tightens` is proved: {turn}", was.tree));
                }
            }
            let turned = || turn(old, new, was, now);
            if !same && comparison.same {
                wrong.push(format!("{} differs, and the advice is the same: {}", was.tree, turned()));
            }
            // Regions are told of groves that are not certified.
            if grove.certified
                || comparison.spent
                || was.verdict == Verdict::Look
                || now.verdict == Verdict::Look
            {
                met.open += 1;
                continue;
            }
            if !same && comparison.same_verdicts {
                wrong.push(format!("{} differs, and all is the same: {}", was.tree, turned()));
            }
            wrong.extend(place(&comparison, [old, new], was, now, same));
            met.differing += usize::from(!same);
            met.same += usize::from(same);
            met.told += usize::from(
                !same && comparison.regions.iter().any(|region| lies(region, was, now) == Lies::Inside),
            );
        }
    }
    wrong.truncate(8);
    (met, wrong)
}

/// How many groves are made for an edit.
const GROVES: usize = 5;

/// How many changes of verdict an edit may make for all of its regions to be worked out.
const MANY: usize = 3;

/// Returns what is wrong in what is told by itself.
fn of_regions(comparison: &Comparison, tells: Regions) -> Vec<String> {
    let mut wrong = Vec::new();
    if comparison.unconfirmed > 0 {
        wrong.push(format!("{} regions are not confirmed", comparison.unconfirmed));
    }
    let turns: BTreeSet<_> = comparison.turns.iter().map(|it| (&*it.was, &*it.now)).collect();
    let told: BTreeSet<_> =
        comparison.regions.iter().map(|it| (&*it.was.verdict, &*it.now.verdict)).collect();
    if turns != told {
        wrong.push(format!("not each change has a region: {turns:?}, {told:?}"));
    }
    let of_headlines: BTreeSet<_> =
        comparison.headlines.iter().flat_map(|it| &it.turns).map(|it| (&*it.was, &*it.now)).collect();
    if tells == Regions::All && turns != of_headlines {
        wrong.push(format!("not each change has a headline: {turns:?}, {of_headlines:?}"));
    }
    wrong
}

/// Returns what is wrong in the regions for one tree.
fn place(comparison: &Comparison, plans: [&Plan; 2], was: &Told, now: &Told, same: bool) -> Option<String> {
    let [old, new] = plans;
    let inside: Vec<(&Region, Lies)> = comparison
        .regions
        .iter()
        .map(|it| (it, lies(it, was, now)))
        .filter(|(_, it)| *it != Lies::Outside)
        .collect();
    let is_right = |region: &Region| {
        shared(old, &region.was.is) == shared(old, &was.verdict)
            && shared(new, &region.now.is) == shared(new, &now.verdict)
    };
    // A tree with several groups of panicles is in regions of each of them, and a place may be one that has no name.
    let sure: Vec<&Region> = inside.iter().filter(|(_, it)| *it == Lies::Inside).map(|(it, _)| *it).collect();
    if sure.len() > 1 && was.is_one_group() {
        return Some(format!("{} lies in {} regions: {}", was.tree, sure.len(), turn(old, new, was, now)));
    }
    if same {
        let first = sure.first()?;
        return Some(format!(
            "{} is told to differ, {} to {}",
            was.tree, first.was.verdict, first.now.verdict
        ));
    }
    if !inside.iter().any(|(region, _)| is_right(region)) && !is_cut(comparison, [old, new], was, now) {
        return Some(format!("{} differs and is in no region: {}", was.tree, turn(old, new, was, now)));
    }
    let other = sure.iter().find(|region| !is_right(region))?;
    Some(format!(
        "{} is told to go {} to {}: {}",
        was.tree,
        other.was.verdict,
        other.now.verdict,
        turn(old, new, was, now)
    ))
}

/// Returns whether not all regions of what becomes of a tree are told.
fn is_cut(comparison: &Comparison, [old, new]: [&Plan; 2], was: &Told, now: &Told) -> bool {
    let words = |plan: &Plan, verdict: &Verdict| match verdict {
        Verdict::Spray(doses) => {
            let mut doses: Vec<String> = doses
                .iter()
                .map(|(id, at)| {
                    format!("{} {}", plan[*id].name, plan[*id].strengths[usize::from(*at)].amount.written)
                })
                .collect();
            doses.sort();
            format!("spray {}", doses.join(" with "))
        }
        Verdict::Hold | Verdict::AllShut => "hold".to_owned(),
        other => other.word().to_owned(),
    };
    let (was, now) = (words(old, &was.verdict), words(new, &now.verdict));
    comparison.cut.iter().any(|turn| turn.was.starts_with(&was) && turn.now.starts_with(&now))
}

/// Whether a tree is in a region.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Lies {
    Inside,
    Outside,
    Perhaps,
}

fn lies(region: &Region, was: &Told, now: &Told) -> Lies {
    let mut found = Lies::Inside;
    for place in &region.place {
        let read = |it: &bloomward::prove::places::Where| {
            let readings = if it.book == 0 { was.readings(&it.name) } else { now.readings(&it.name) };
            // What is not known, or has no name, tells nothing.
            let is_open = |extent: &bloomward::measure::Extent| match extent.can_be {
                Possible::Numbers(low, high) => low != high,
                Possible::Words(set) => set.count_ones() != 1,
                Possible::Nothing | Possible::Text(_) | Possible::AnyText => false,
            };
            if readings.is_empty() || readings.iter().any(is_open) {
                return Lies::Perhaps;
            }
            let held = readings.iter().filter(|extent| it.has(**extent)).count();
            match (held, readings.len()) {
                (0, _) => Lies::Outside,
                (held, all) if held == all => Lies::Inside,
                _ => Lies::Perhaps,
            }
        };
        let all = std::iter::once(read(place)).chain(place.other.as_deref().map(read));
        for one in all {
            match one {
                Lies::Outside => return Lies::Outside,
                Lies::Perhaps => found = Lies::Perhaps,
                Lies::Inside => {}
            }
        }
    }
    found
}

/// Returns a verdict as two rulebooks can share it: products with what their strengths amount to; every hold is one.
fn shared(plan: &Plan, verdict: &Verdict) -> String {
    match verdict {
        Verdict::Spray(doses) => {
            let of = |product: &Product, at: usize| {
                format!("{} {:.9e}", product.name, product.strengths[at].amount.quantity)
            };
            let mut doses: Vec<String> =
                doses.iter().map(|(product, at)| of(&plan[*product], usize::from(*at))).collect();
            doses.sort();
            doses.join(" with ")
        }
        Verdict::Hold | Verdict::AllShut => "hold".to_owned(),
        other => other.word().to_owned(),
    }
}

/// Returns whether a verdict is one that an overlay which tightens may come to: a hold, a look, the same no stronger, or where
/// it shuts what was sprayed, a way of a choice that holds in the base.
fn is_tighter([old, new]: [&Plan; 2], was: &Told, now: &Told) -> bool {
    type Doses = [(ProductId, u8)];
    let amounts = |plan: &Plan, doses: &Doses| {
        let of = |(id, at): &(ProductId, u8)| {
            (plan[*id].name.to_string(), plan[*id].strengths[usize::from(*at)].amount.quantity)
        };
        doses.iter().map(of).collect::<BTreeMap<String, f64>>()
    };
    let is_weaker = |before: &BTreeMap<String, f64>, after: &BTreeMap<String, f64>| {
        before.len() == after.len()
            && before.iter().zip(after).all(|(a, b)| a.0 == b.0 && *b.1 <= a.1 * (1.0 + 1e-9))
    };
    match (&was.verdict, &now.verdict) {
        (_, Verdict::Hold | Verdict::AllShut | Verdict::Look) => true,
        // What is not known may be decided where each possible value decides alike.
        (Verdict::Look, Verdict::Spray(_)) => true,
        (Verdict::Spray(before), Verdict::Spray(after)) => {
            let (before, after) = (amounts(old, before), amounts(new, after));
            let is_shut = before.keys().any(|name| now.shut.contains(name) && !was.shut.contains(name));
            let ways = was.choices.iter().flat_map(|choice| &old.choices[*choice].ways);
            let mut ways = ways.filter_map(|way| match way {
                Way::Spray(doses) => Some(amounts(old, doses)),
                Way::Hold => None,
            });
            is_weaker(&before, &after) || (is_shut && ways.any(|way| is_weaker(&way, &after)))
        }
        (Verdict::Undecided, Verdict::Undecided) => true,
        _ => false,
    }
}

fn turn(old: &Plan, new: &Plan, was: &Told, now: &Told) -> String {
    format!("{} becomes {} ({})", was.verdict.words(old), now.verdict.words(new), was.seen)
}

/// Reads a shipped rulebook. Weather is taken as exact: near a threshold a tree would have to be looked at again.
fn read(book: &str) -> String {
    let path = format!("{}/rulebooks/{book}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    text.split_inclusive('\n').filter(|line| !line.starts_with("  accuracy ")).collect()
}

/// Reads a text in the place of a shipped rulebook; nothing where it is in error.
fn plan_of(book: &str, text: &str) -> Option<Plan> {
    let mut sources = Sources::default();
    let top = sources.add(book, text);
    let mut base = |path: &str| Ok(read(path));
    let (plan, problems) = check::load(top, &mut sources, None, &mut base);
    plan.filter(|_| !problems.any_error())
}
