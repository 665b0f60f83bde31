//! Random edits of what decides no verdict of what is fully seen: what is always so, how long and in which range a look counts, what
//! is assumed, hours, the head, labels. Groves with holes, jugs and logs are advised by the rulebook as it was and as it is: where
//! `compare` calls all the same, all that is advised is; where `tightens` is proved, no tree gets more of anything.
//!
//! `cargo test` takes the sample; `BLOOMWARD_EDITS=30 cargo test --release --test it edits_known::` so many, `all` all, words those of
//! these words.

use crate::edits::{is_tighter, plan_of, read};
use crate::edits_full::{FullAdvice, advised, with_holes, with_tree};
use crate::edits_made::{Edit, edits};
use crate::edits_regions::seeds_of_examples;
use crate::edits_trees::{Around, Dice, Grove, grove, weather_near};
use bloomward::plan::Plan;
use bloomward::prove::BUDGET;
use bloomward::prove::compare::{Regions, compare};
use bloomward::prove::tightens::tightens;
use bloomward::trace::Verdict;
use std::time::Instant;

const BOOK: &str = "base/mango.rulebook";

/// The edits that `cargo test` tries: one of each kind, each with whether groves are sure to be advised otherwise by it, and in
/// which directions it is proved to tighten: the new rulebook the old one, and the old the new.
const SAMPLE: [(&str, bool, [bool; 2]); 16] = [
    ("always closed-buds-have-no-open-flower: dropped", true, [false, true]),
    ("always no-fruit-before-flowers: `above` number 1 becomes `at least`", true, [true, false]),
    ("observe stage: 5 becomes 6", true, [false, true]),
    ("observe open-flowers: 4 becomes 3", true, [true, false]),
    ("observe fruit-set: 300 becomes 264", true, [true, false]),
    ("observe mildew: with assume 0 %", true, [false, true]),
    ("observe dead-wood: without `lasts 60 d`", false, [false, true]),
    ("gate too-windy: 10 becomes 9", true, [true, false]),
    ("gate pollinators: dropped", true, [false, true]),
    ("gate warm-hours: `or` number 1 becomes `and`", false, [false, true]),
    ("prefer quick-drying: dropped", true, [true, true]),
    ("rulebook \"Mango: 2 becomes 3", true, [true, false]),
    ("rulebook \"Mango: 10 becomes 11", false, [false, true]),
    ("scale bloom: 619 becomes 693", false, [false, false]),
    ("product sulfur: 24 becomes 27", true, [true, false]),
    ("product copper: of another group", false, [false, false]),
];

/// The groves that are advised, each of so many trees: how many days ago they were seen, where some looks are as old as they may be
/// or a day older; and a tree more that one rulebook may refuse with its grove. The first ones are refused by the shipped rulebook.
const GROVES: [(i64, &str); 5] = [
    (1, "stage: spreading, open-flowers: 20 %, mildew: 5 %, blight: 5 %"),
    (1, "stage: bud-burst, open-flowers: 0 %, fruit-set: 3, mildew: 5 %"),
    (4, "stage: marble, open-flowers: 0 %, fruit-set: 290, mildew: 5 %"),
    (6, "stage: full-bloom, open-flowers: 60 %, fruit-set: 1, mildew: 20 %, blight: 0 %"),
    (2, "stage: full-bloom, open-flowers: 60 %, fruit-set: 1, mildew: 20 %, blight: 0 %"),
];
const TREES: usize = 7;

#[test]
fn what_is_told_of_what_is_known_is_what_groves_meet() {
    let asked = std::env::var("BLOOMWARD_EDITS").ok();
    let mut dice =
        Dice(std::env::var("BLOOMWARD_EDITS_SEED").ok().and_then(|it| it.parse().ok()).unwrap_or(9));
    let text = read(BOOK);
    let old = plan_of(BOOK, &text, "").expect("the shipped rulebook is read");
    let groves = groves(&old, &mut dice);
    let was: Vec<Option<Vec<FullAdvice>>> = groves.iter().map(|it| advised(it, &old)).collect();
    let mut all: Vec<Edit> = edits(&text).into_iter().filter(|it| it.kind != "drop").collect();
    let count = match asked.as_deref() {
        None => SAMPLE.len(),
        Some("all") => all.len(),
        Some(words) => words.parse().unwrap_or_else(|_| {
            all.retain(|edit| edit.what.contains(words));
            all.len()
        }),
    };
    let (mut wrong, mut tried, mut sames) = (Vec::new(), 0, 0);
    while tried < count && !all.is_empty() {
        let at = match asked {
            None => {
                all.iter().position(|it| it.what.starts_with(SAMPLE[tried].0)).expect("an edit of the sample")
            }
            Some(_) => dice.below(all.len()),
        };
        let edit = all.swap_remove(at);
        let new = match plan_of(BOOK, &edit.of(&text), "") {
            Ok(new) => new,
            Err(problem) => {
                assert!(asked.is_some(), "{} is in error: {problem}", edit.what);
                continue;
            }
        };
        let started = Instant::now();
        let comparison = compare(&old, &new, BUDGET, Regions::One);
        let kept = [tightens(&old, &new, BUDGET).is_kept(), tightens(&new, &old, BUDGET).is_kept()];
        let now: Vec<Option<Vec<FullAdvice>>> = groves.iter().map(|it| advised(it, &new)).collect();
        let differ = was.iter().zip(&now).map(|(was, now)| differing(was, now)).sum::<usize>();
        eprintln!(
            "{}: same {}, tightens {kept:?}, {differ} advised otherwise, {:.1?}",
            edit.what,
            comparison.same,
            started.elapsed()
        );
        if comparison.same && differ > 0 {
            wrong.push(format!("{}: {differ} are advised otherwise, and all is the same", edit.what));
        }
        let sides = [([&old, &new], [&was, &now]), ([&new, &old], [&now, &was])];
        for ((plans, sides), is_kept) in sides.into_iter().zip(kept) {
            // What is too old contradicts nothing: a grove may be taken then, and its verdicts are those of every value.
            let is_known = |(was, now): &(&Option<_>, &Option<_>)| {
                edit.kind != "known" || was.is_some() == now.is_some()
            };
            let pairs = sides[0].iter().zip(sides[1]).filter(is_known);
            let loose = pairs.filter_map(|(was, now)| loosened(plans, was.as_deref(), now.as_deref())).next();
            wrong.extend(
                loose.filter(|_| is_kept).map(|it| format!("{}: proved to tighten, and {it}", edit.what)),
            );
        }
        if asked.is_none() {
            let (_, is_otherwise, proved) = SAMPLE[tried];
            if (is_otherwise && differ == 0) || (kept, comparison.same) != (proved, false) {
                wrong.push(format!("{}: {differ} are advised otherwise, tightens {kept:?}", edit.what));
            }
        }
        for it in wrong.iter().filter(|it| it.starts_with(&edit.what)) {
            eprintln!("  {it}");
        }
        sames += usize::from(comparison.same);
        tried += 1;
    }
    eprintln!("{tried} edits tried, {sames} the same");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What is only said otherwise is the same, and advised so, also where jugs have labels of their own and logs say doses in figures.
#[test]
fn what_is_said_otherwise_is_advised_alike_with_jugs_and_logs() {
    let text = read(BOOK);
    let old = plan_of(BOOK, &text, "").expect("the shipped rulebook is read");
    let mut dice = Dice(11);
    let mut groves = groves(&old, &mut dice);
    for grove in &mut groves {
        let in_figures = |line: &str| {
            let cells: Vec<&str> = line.split(',').collect();
            let rate = match cells[3] {
                "product" => "rate",
                "copper" => "2 lb/ac",
                _ => "3 g/L",
            };
            format!("{},{},{rate}\n", cells[..4].join(","), cells[5..].join(","))
        };
        grove.sprays = grove.sprays.lines().map(in_figures).collect();
    }
    let was: Vec<Option<Vec<FullAdvice>>> = groves.iter().map(|it| advised(it, &old)).collect();
    assert!(was.iter().flatten().flatten().any(|it| matches!(it.told.verdict, Verdict::Spray(_))));
    let renamed = |text: &str| {
        ["at full", "to full", "strength full", "above full"]
            .iter()
            .fold(text.to_owned(), |text, words| text.replace(words, &words.replace("full", "whole")))
    };
    let caps_first = |text: &str| {
        let (sprays, cap) =
            ("  label    season at most 8 sprays\n", "  label    season at most 18 lb / ac copper\n");
        text.replace(&format!("{sprays}{cap}"), &format!("{cap}{sprays}"))
    };
    let denied =
        |text: &str| text.replace("if       heat-ahead at least hot", "if       not (heat-ahead below hot)");
    for edited in [renamed(&text), caps_first(&text), denied(&text)] {
        assert_ne!(edited, text);
        let new = plan_of(BOOK, &edited, "").expect("it is read");
        assert!(compare(&old, &new, BUDGET, Regions::One).same);
        for (grove, was) in groves.iter().zip(&was) {
            let now = advised(grove, &new);
            assert_eq!(differing(was, &now), 0, "{}", grove.yaml);
        }
    }
}

fn groves(plan: &Plan, dice: &mut Dice) -> Vec<Grove> {
    let mut around = Around { seeds: seeds_of_examples(plan), ..Around::default() };
    let of = |product: &bloomward::plan::Product| {
        (product.name.to_string(), product.strengths[0].name.to_string())
    };
    around.products = plan.products.iter().map(of).collect();
    let mut one = |(days, odd): (i64, &str)| {
        let sky = weather_near(dice, &around.near);
        let mut grove = grove(dice, &around, &sky, TREES, &[]);
        with_holes(&mut grove, days, dice);
        let came = advised(&grove, plan).unwrap_or_default();
        let is_sprayed =
            |it: &&FullAdvice| matches!(it.told.verdict, Verdict::Spray(_)) && !it.open.is_empty();
        let sprayed = came.iter().filter(is_sprayed).count();
        with_tree(&mut grove, odd);
        (grove, sprayed)
    };
    // Of some draws the grove is taken in which most trees are sprayed.
    let best = |it: (i64, &str)| (0..DRAWS).map(|_| one(it)).max_by_key(|it| it.1).expect("a grove").0;
    GROVES.into_iter().map(best).collect()
}

/// How many groves are drawn for each.
const DRAWS: usize = 5;

/// Returns how many trees of a grove are advised otherwise; one where one rulebook alone refuses the grove.
fn differing(was: &Option<Vec<FullAdvice>>, now: &Option<Vec<FullAdvice>>) -> usize {
    match (was, now) {
        (Some(was), Some(now)) => was.iter().zip(now).filter(|(was, now)| was.words != now.words).count(),
        (None, None) => 0,
        (Some(_), None) | (None, Some(_)) => 1,
    }
}

/// Returns of which tree more is allowed, in what way.
fn loosened(plans: [&Plan; 2], was: Option<&[FullAdvice]>, now: Option<&[FullAdvice]>) -> Option<String> {
    let (Some(was), Some(now)) = (was, now) else {
        return now.map(|_| "a grove is taken that was refused".to_owned());
    };
    was.iter().zip(now).find_map(|(was, now)| {
        let is_same = crate::edits::shared(plans[0], &was.told.verdict)
            == crate::edits::shared(plans[1], &now.told.verdict);
        let is_open = |window: &bloomward::advice::Window| {
            was.open.iter().any(|it| it.from <= window.from && window.to <= it.to)
        };
        let later = |was: Option<chrono::NaiveDate>, now: Option<chrono::NaiveDate>| match (was, now) {
            (Some(was), Some(now)) => now > was,
            (Some(_), None) => true,
            (None, _) => false,
        };
        let how = if !is_tighter(plans, &was.told, &now.told) {
            "more is advised"
        } else if !is_same || !matches!(now.told.verdict, Verdict::Spray(_)) {
            return None;
        } else if !now.open.iter().all(is_open) {
            "more hours are open"
        } else if now.keep_out < was.keep_out {
            "people may go in sooner"
        } else if now.picking < was.picking {
            "fruit may be picked sooner"
        } else if later(was.recheck, now.recheck) {
            "it is looked at again later"
        } else {
            return None;
        };
        Some(format!("{how}: {} | {}", was.words, now.words))
    })
}
