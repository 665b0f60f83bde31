//! Random edits of the shipped rulebooks, held against advice: groves of random trees around the edit are advised by the rulebook
//! as it was and as it is, and what `compare` and `tightens` say of all situations must be what was met. Every tree that is
//! decided otherwise lies in a told region with what was and is said; every tree in a told region is decided so; and where an
//! overlay is proved to tighten, no tree gets more.
//!
//! `cargo test` takes a few edits of a fixed seed. `BLOOMWARD_EDITS=all cargo test --release --test it edits::` takes all, a
//! number so many, words those of these words, `BLOOMWARD_EDITS_SEED` other ones and other trees.

use crate::edits_made::{Edit, edits};
use crate::edits_regions::{Lies, lies, misses, seed_of, seeds_of_examples};
use crate::edits_trees::{Around, Dice, Seed, Told, Weather, grove, weather_near};
use bloomward::check;
use bloomward::plan::{Plan, Product, ProductId, Way};
use bloomward::prove::BUDGET;
use bloomward::prove::compare::{Comparison, Region, Regions, compare};
use bloomward::prove::tightens::tightens;
use bloomward::source::Sources;
use bloomward::trace::Verdict;
use std::collections::{BTreeMap, BTreeSet};
use std::time::Instant;

/// The shipped rulebooks that are edited: each alone, or with the base that it builds on.
const BOOKS: [&str; 4] =
    ["base/mango.rulebook", "dry-hills.rulebook", "humid-lowland.rulebook", "southern-subtropics.rulebook"];

/// The edits that `cargo test` tries, with how many trees at least are decided otherwise, and lie in a told region for sure; of
/// some all regions are told, of most one of each change of verdict: a definition narrowed and one widened, a band, a gate, what is
/// always so, hours.
const SAMPLE: [(&str, &str, usize, usize, Regions); 9] = [
    (BOOKS[0], "figure anthracnose-interval: 10 becomes 9", 6, 2, Regions::All),
    (BOOKS[0], "product mancozeb: dropped", 20, 10, Regions::All),
    (
        BOOKS[1],
        "base, choice lesions-before-bloom: `at full` number 1 becomes `at reduced`",
        5,
        5,
        Regions::All,
    ),
    (BOOKS[0], "measure anthracnose-window: `bud-swell` number 1 becomes `bud-burst`", 1, 0, Regions::One),
    (BOOKS[0], "measure tender: `marble` number 1 becomes `pea`", 2, 0, Regions::One),
    (
        BOOKS[0],
        "band mildew-cover: without `worn if sulfur-age at least mildew-interval`",
        2,
        0,
        Regions::One,
    ),
    (BOOKS[0], "gate sulfur-heat: `at least` number 1 becomes `above`", 20, 10, Regions::One),
    (BOOKS[0], "always fruit-and-open-flowers-are-two-groups: dropped", 0, 0, Regions::One),
    (BOOKS[0], "gate too-windy: dropped", 0, 0, Regions::One),
];

/// The kinds of edits, of which one after another is drawn.
const KINDS: [&str; 10] =
    ["figure", "definition", "band", "gate", "product", "choice", "table", "drop", "hours", "always"];

/// The seed of edits and trees.
const SEED: usize = 12;

#[test]
fn what_is_told_of_an_edit_is_what_trees_meet() {
    let number = |name: &str| std::env::var(name).ok().and_then(|it| it.parse::<usize>().ok());
    let asked = std::env::var("BLOOMWARD_EDITS").ok();
    let seed = number("BLOOMWARD_EDITS_SEED").unwrap_or(SEED) as u64;
    let mut dice = Dice(seed);
    let base = read(BOOKS[0]);
    let mut all: Vec<(&str, Edit)> = Vec::new();
    for book in BOOKS {
        let text = read(book);
        // What is known and the head decide no verdict of what is seen: `edits_known`.
        let decides = |edit: &Edit| !["known", "scale", "head"].contains(&edit.kind);
        all.extend(edits(&text).into_iter().filter(decides).map(|edit| (book, edit)));
        if book != BOOKS[0] {
            let of_base = edits(&base).into_iter().filter(|edit| decides(edit) && !edit.is_hidden_by(&text));
            all.extend(of_base.map(|edit| (book, edit.of_the_base())));
        }
    }
    assert!(all.len() > 2000, "{} edits", all.len());
    let count = match asked.as_deref() {
        None => SAMPLE.len(),
        Some("all") => all.len(),
        Some(words) => words.parse().unwrap_or_else(|_| {
            all.retain(|(book, edit)| format!("{book}, {}", edit.what).contains(words));
            all.len()
        }),
    };
    let (mut sum, mut failed, mut tried, mut unread) = (Met::default(), Vec::new(), 0, 0);
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
        let text = read(book);
        let edited = if edit.is_of_base {
            plan_of(book, &edit.of_other(&text), &edit.of(&base))
        } else {
            plan_of(book, &edit.of(&text), &edit.of_other(&base))
        };
        // Not every edit can be read.
        let new = match edited {
            Ok(new) => new,
            Err(problem) => {
                assert!(asked.is_some(), "{} is in error: {problem}", edit.what);
                unread += 1;
                continue;
            }
        };
        let old = plan_of(book, &text, &base).expect("the shipped rulebook is read");
        let started = Instant::now();
        let regions = if asked.is_none() { SAMPLE[tried].4 } else { Regions::All };
        let (met, wrong) = held([&old, &new], &edit, regions, &mut Dice(seed));
        eprintln!("{book}, {}: {met:?}, {} wrong, {:.1?}", edit.what, wrong.len(), started.elapsed());
        wrong.iter().for_each(|it| eprintln!("  {it}"));
        failed.extend(wrong.into_iter().map(|it| format!("{book}, {}: {it}", edit.what)));
        if asked.is_none() {
            let (_, _, differing, told, _) = SAMPLE[tried];
            if met.differing < differing || met.told < told {
                failed.push(format!("{book}, {}: {met:?}", edit.what));
            }
        }
        sum.add(&met);
        tried += 1;
    }
    eprintln!("{tried} edits tried, {unread} in error: {sum:?}");
    assert!(failed.is_empty(), "{} wrong:\n{}", failed.len(), failed.join("\n"));
    if asked.is_none() {
        let met = [sum.differing, sum.told, sum.same, sum.kept];
        assert!(met.iter().zip(LEAST).all(|(met, least)| *met >= least), "{sum:?}");
    }
}

/// At least so many trees are decided otherwise, lie in a told region, are decided the same, and differ under an edit that is
/// proved to tighten.
const LEAST: [usize; 4] = [70, 40, 1200, 25];

/// What was met.
#[derive(Default, Debug)]
struct Met {
    /// Edits that meet a tree that is decided otherwise.
    edits: usize,
    /// Edits that change a verdict somewhere.
    turning: usize,
    /// Trees that are decided otherwise.
    differing: usize,
    /// Those of them that lie in a told region for sure.
    told: usize,
    /// Those of them whose change is named, but not all of its regions are told.
    cut: usize,
    /// Trees that are decided the same, in no told region.
    same: usize,
    /// Trees that are not held against regions: in groves that are certified, or to be looked at.
    open: usize,
    /// Trees that are decided otherwise where one rulebook is proved to tighten the other.
    kept: usize,
}

impl Met {
    fn add(&mut self, other: &Met) {
        self.edits += other.edits;
        self.turning += other.turning;
        self.differing += other.differing;
        self.told += other.told;
        self.cut += other.cut;
        self.same += other.same;
        self.open += other.open;
        self.kept += other.kept;
    }
}

/// Returns how many trees are decided otherwise, and what is wrong in what is told of them.
fn held([old, new]: [&Plan; 2], edit: &Edit, regions: Regions, dice: &mut Dice) -> (Met, Vec<String>) {
    let comparison = compare(old, new, BUDGET, regions);
    let tightened = [tightens(old, new, BUDGET).is_kept(), tightens(new, old, BUDGET).is_kept()];
    let mut wrong = of_regions(&comparison, regions);
    let around = around(old, new, edit, &comparison);
    let skies = Skies::around(dice, [old, new], &around, &comparison);
    let mut met = Met { turning: usize::from(!comparison.turns.is_empty()), ..Met::default() };
    for at in 0..GROVES {
        let (weather_measures, leading) = skies.leading(dice, at, old, &comparison);
        let grove = grove(dice, &around, weather_measures, TREES, &leading);
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
            let inside: Vec<(&Region, Lies)> =
                comparison.regions.iter().map(|it| (it, lies(it, was, now))).collect();
            let is_told = inside.iter().any(|(_, it)| *it == Lies::Inside);
            wrong.extend(place(&comparison, [old, new], was, now, same, &inside));
            met.differing += usize::from(!same);
            met.same += usize::from(same);
            met.told += usize::from(!same && is_told);
            met.cut += usize::from(!same && !is_told && is_cut(&comparison, [old, new], was, now));
        }
    }
    met.edits = usize::from(met.differing > 0);
    wrong.truncate(8);
    (met, wrong)
}

/// How many groves are made for an edit, each of so many trees.
const GROVES: usize = 6;
const TREES: usize = 40;

/// How many skies are drawn for an edit.
const SKIES: usize = 8;

/// Returns what groves are made around.
fn around(old: &Plan, new: &Plan, edit: &Edit, comparison: &Comparison) -> Around {
    let mut around = Around { seeds: seeds_of_examples(old), ..Around::default() };
    if let Some((was, now, unit)) = &edit.moved {
        around.near.add(*was, *now, unit);
    }
    for region in comparison.regions.iter().take(6) {
        region.situation.values.values().for_each(|it| around.near.add_value(it));
    }
    // A log counts alike where both rulebooks know its products.
    for product in &old.products {
        let strength = product.strengths[0].name.to_string();
        let other = new.product(&product.name).map(|id| &new[id]);
        if other.is_some_and(|it| it.strengths.iter().any(|it| *it.name == *strength)) {
            around.products.push((product.name.to_string(), strength));
        }
    }
    around
}

/// Skies, each with the regions that it leaves open, by how much of them is otherwise.
struct Skies(Vec<(Weather, Vec<(usize, usize)>)>);

impl Skies {
    fn around(dice: &mut Dice, [old, new]: [&Plan; 2], around: &Around, comparison: &Comparison) -> Self {
        let one = |dice: &mut Dice| {
            let weather_measures = weather_near(dice, &around.near);
            let probe = grove(dice, around, &weather_measures, 1, &[]);
            let (was, now) = (probe.told(old), probe.told(new));
            let mut missed: Vec<(usize, usize)> = comparison
                .regions
                .iter()
                .enumerate()
                .map(|(at, region)| (misses(old, new, region, &was[0], &now[0]), at))
                .collect();
            missed.sort_unstable();
            (weather_measures, missed)
        };
        let mut skies: Vec<_> = (0..SKIES).map(|_| one(dice)).collect();
        let is_open = |missed: &[(usize, usize)]| missed.iter().filter(|(misses, _)| *misses == 0).count();
        skies.sort_by_key(|(_, missed)| (missed.first().map(|it| it.0), std::cmp::Reverse(is_open(missed))));
        Self(skies)
    }

    /// Returns one of the skies that leave most open, with what trees there are made from.
    fn leading(
        &self,
        dice: &mut Dice,
        at: usize,
        old: &Plan,
        comparison: &Comparison,
    ) -> (&Weather, Vec<Seed>) {
        let (weather_measures, missed) = &self.0[at % (SKIES / 2)];
        let least = missed.first().map_or(0, |it| it.0);
        let open: Vec<usize> = missed.iter().take_while(|it| it.0 == least).map(|it| it.1).collect();
        let regions = (0..LEADING.min(open.len())).map(|_| &comparison.regions[open[dice.below(open.len())]]);
        (weather_measures, regions.map(|region| seed_of(old, region)).collect())
    }
}

/// How many regions trees of one grove are made from.
const LEADING: usize = 6;

/// Returns what is wrong in what is told by itself.
fn of_regions(comparison: &Comparison, regions: Regions) -> Vec<String> {
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
    if turns != of_headlines && regions != Regions::One {
        wrong.push(format!("not each change has a headline: {turns:?}, {of_headlines:?}"));
    }
    wrong
}

/// Returns what is wrong in the regions for one tree.
fn place(
    comparison: &Comparison,
    [old, new]: [&Plan; 2],
    was: &Told,
    now: &Told,
    same: bool,
    inside: &[(&Region, Lies)],
) -> Option<String> {
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
    let is_there = |(region, lies): &(&Region, Lies)| *lies != Lies::Outside && is_right(region);
    if !inside.iter().any(is_there) && !is_cut(comparison, [old, new], was, now) {
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
    // What is undecided is said with what stands against each other.
    let is = |said: &str, of: &str| said == of || said.starts_with(&format!("{of}: "));
    comparison.cut.iter().any(|turn| is(&turn.was, &was) && is(&turn.now, &now))
}

/// Returns a verdict as two rulebooks can share it: products with what their strengths amount to; every hold is one.
pub fn shared(plan: &Plan, verdict: &Verdict) -> String {
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
pub fn is_tighter([old, new]: [&Plan; 2], was: &Told, now: &Told) -> bool {
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
pub fn read(book: &str) -> String {
    let path = format!("{}/rulebooks/{book}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    text.split_inclusive('\n').filter(|line| !line.starts_with("  accuracy ")).collect()
}

/// Reads a text in the place of a shipped rulebook, on a base; where it is in error, the first problem.
pub fn plan_of(book: &str, text: &str, base: &str) -> Result<Plan, String> {
    let mut sources = Sources::default();
    let top = sources.add(book, text);
    let mut base = |_: &str| Ok(base.to_owned());
    let (plan, problems) = check::load(top, &mut sources, None, &mut base);
    plan.filter(|_| !problems.any_error()).ok_or_else(|| problems.plain(&sources))
}
