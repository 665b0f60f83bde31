//! Items of two rulebooks compared by what they mean: what is only written otherwise is the same advice, and nothing is called
//! the same while an item differs in what an advice acts on.

use crate::cli::{folder, ran};
use crate::proofs::plan;
use bloomward::measure::Extent;
use bloomward::prove::BUDGET;
use bloomward::prove::compare::items::ItemChange;
use bloomward::prove::compare::{Comparison, Regions, compare};
use chrono::{Datelike, NaiveDate};

const BOOK: &str = "observe heat\n  kind temperature\n  lasts 3 d\n\
    observe mildew\n  kind share\n  ask \"How much?\"\n\
    observe spots\n  kind count\n  range from 0 to 9\n  assume 0 if heat below 5 °C\n\
    scale bloom\n  closed 510\n  open 615\n\
    observe stage\n  kind bloom\n  of panicles\n\
    product copper\n  class organic\n  contains copper\n  strength low 600 ppm copper\n  strength high 1200 ppm copper\n\
    \x20 label interval at least 7 d\n  label season at most 6 sprays\n  label season at most 12 kg / ha copper\n\
    \x20 label re-entry 48 h\n  caution \"Wear gloves.\"\n  cites own\n\
    product sulfur\n  class organic\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\
    figure hot = 30 °C\n\
    measure in-bloom = some panicles with not (stage is closed or stage is closed)\n\
    hourly damp = humidity above 90 % or rain above 0 mm\n\
    band danger\n  levels low, great\n  great if mildew above 10 % and spots above 5\n  because \"made\"\n  cites own\n\
    gate heat-gate\n  shuts sulfur\n  if heat at least hot\n  cites own\n\
    gate windy\n  shuts spraying\n  in hours when wind above 10 mph or clock from 10:00 to 16:00\n  cites own\n\
    prefer dry\n  in hours when not damp\n  cites own\n\
    choice fight\n  against rust\n  advise sulfur at high\n  or else copper at low\n  if danger is great\n  outranks guard, rest\n\
    \x20 recheck in 3 d\n  within 48 h\n  cites own\n\
    choice guard\n  advise copper at low\n  if in-bloom and spots above 2\n  outranks rest\n  because \"they spread\"\n  cites own\n\
    choice rest\n  advise hold\n  cites own\n\
    disease rust \"Rust\"\n\
    task walk\n  do \"walk the rows\"\n  if spots at least 1 and mildew below 5 %\n  cites own\n\
    promise no-heat\n  whenever heat at least 30 °C and spots above 2\n  never sulfur\n";

fn compared(new: &str) -> Comparison {
    let comparison = compare(&plan(BOOK), &plan(new), BUDGET, Regions::Some);
    assert_eq!(comparison.unconfirmed, 0);
    assert!(!comparison.spent);
    comparison
}

#[track_caller]
fn edited(from: &str, to: &str) -> String {
    assert!(BOOK.contains(from), "{from}");
    BOOK.replace(from, to)
}

fn told(comparison: &Comparison) -> Vec<(&str, &str, bool, &str)> {
    let of =
        |it: &'_ ItemChange| (it.change.word(), it.in_meaning(), it.direction.map_or("", |it| it.words()));
    let mut all: Vec<_> = comparison
        .items
        .iter()
        .map(|it| (&*it.item, of(it)))
        .map(|(item, (a, b, c))| (item, a, b, c))
        .collect();
    all.sort();
    all
}

/// Asserts that all is the same, and which items are listed.
#[track_caller]
fn same(new: &str, listed: &[(&str, &str)]) {
    let comparison = compared(new);
    let items: Vec<_> = told(&comparison).into_iter().map(|(item, change, ..)| (item, change)).collect();
    assert!(comparison.same && comparison.same_verdicts, "{:?}", told(&comparison));
    assert_eq!(items, listed);
}

/// Asserts which items differ in meaning, with which way they moved, and whether verdicts do.
#[track_caller]
fn differs(new: &str, listed: &[(&str, &str, &str)], same_verdicts: bool) {
    let comparison = compared(new);
    let items: Vec<_> = told(&comparison)
        .into_iter()
        .filter(|(_, _, meant, _)| *meant)
        .map(|(item, change, _, direction)| (item, change, direction))
        .collect();
    assert_eq!(items, listed);
    assert_eq!((comparison.same, comparison.same_verdicts), (false, same_verdicts));
}

#[test]
fn what_is_written_otherwise_is_the_same() {
    same(BOOK, &[]);
    // De Morgan, in a band, in hours, in a measure of panicles, in a task.
    same(
        &edited("mildew above 10 % and spots above 5", "not (spots at most 5 or mildew at most 10 %)"),
        &[("band danger", "written otherwise")],
    );
    same(
        &edited("wind above 10 mph or clock", "not (wind at most 10 mph) or clock"),
        &[("gate windy", "written otherwise")],
    );
    same(
        &edited("clock from 10:00 to 16:00", "clock from 10:00 to 12:00 or clock from 12:00 to 16:00"),
        &[("gate windy", "written otherwise")],
    );
    same(
        &edited("not (stage is closed or stage is closed)", "not (stage is closed)"),
        &[("measure in-bloom", "written otherwise")],
    );
    same(
        &edited("spots at least 1 and mildew below 5 %", "not (mildew at least 5 % or spots is 0)"),
        &[("task walk", "written otherwise")],
    );
    same(
        &edited("in hours when not damp", "in hours when humidity at most 90 % and rain at most 0 mm"),
        &[("prefer dry", "written otherwise")],
    );
    // A count, a rank that follows from others, a strength by another name, a promise and a figure in other words.
    same(&edited("spots above 5", "spots at least 6"), &[("band danger", "written otherwise")]);
    same(&edited("outranks guard, rest", "outranks guard"), &[("choice fight", "written otherwise")]);
    same(
        &BOOK.replace("strength high", "strength full").replace("at high", "at full"),
        &[
            ("choice fight", "written otherwise"),
            ("product copper", "written otherwise"),
            ("product sulfur", "written otherwise"),
        ],
    );
    same(
        &edited("heat at least 30 °C and spots above 2", "spots at least 3 and heat at least hot"),
        &[("promise no-heat", "written otherwise")],
    );
    same(
        &edited("heat at least hot", "heat at least 86 °F").replace("figure hot = 30 °C\n", ""),
        &[("figure hot", "omitted"), ("gate heat-gate", "written otherwise")],
    );
    // A choice and a gate in two.
    let guard = "choice guard\n  advise copper at low\n  if in-bloom and spots above 2\n  outranks rest\n";
    let half = |name: &str, when: &str| {
        format!(
            "choice {name}\n  advise copper at low\n  if in-bloom and spots above 2 and heat {when} 20 °C\n  outranks rest\n  because \"they spread\"\n  cites own\n"
        )
    };
    let two = edited(
        guard,
        &format!(
            "{}{}",
            half("guard-cool", "below"),
            half("guard", "at least").replace("  because \"they spread\"\n  cites own\n", "")
        ),
    )
    .replace("outranks guard, rest", "outranks guard, guard-cool, rest");
    same(
        &two,
        &[
            ("choice fight", "written otherwise"),
            ("choice guard", "written otherwise"),
            ("choice guard-cool", "added"),
        ],
    );
    same(
        &edited("if heat at least hot\n  cites own\n", "if heat above 35 °C\n  cites own\ngate warm\n  shuts sulfur\n  if heat from 30 °C to 35 °C\n  cites own\n").replace("figure hot = 30 °C\n", ""),
        &[("figure hot", "omitted"), ("gate heat-gate", "written otherwise"), ("gate warm", "added")],
    );
    // Words alone.
    same(&edited("they spread", "they spread fast"), &[("choice guard", "words")]);
    same(&edited("How much?", "How much of it?"), &[("observe mildew", "words")]);
}

#[test]
fn nothing_is_the_same_while_an_item_differs() {
    // What is known.
    differs(&edited("  lasts 3 d\n", "  lasts 2 d\n"), &[("observe heat", "changed", "must look")], true);
    differs(&edited("  lasts 3 d\n", ""), &[("observe heat", "changed", "looser")], true);
    differs(
        &edited("kind share\n", "kind share\n  assume 0 %\n"),
        &[("observe mildew", "changed", "looser")],
        true,
    );
    differs(
        &edited("  assume 0 if heat below 5 °C\n", ""),
        &[("observe spots", "changed", "must look")],
        true,
    );
    differs(
        &edited("assume 0 if heat below 5 °C", "assume 1 if heat below 5 °C"),
        &[("observe spots", "changed", "")],
        true,
    );
    // What one of them takes is one observation, whatever the other refuses.
    differs(&edited("range from 0 to 9", "range from 0 to 12"), &[("observe spots", "changed", "")], true);
    differs(&edited("range from 0 to 9", "range from 0 to 6"), &[("observe spots", "changed", "")], true);
    differs(&edited("  range from 0 to 9\n", ""), &[("observe spots", "changed", "")], true);
    differs(&edited("closed 510", "closed 511"), &[("scale bloom", "changed", "")], true);
    // Hours.
    differs(
        &edited("wind above 10 mph", "wind above 8 mph"),
        &[("gate windy", "changed", "fewer hours")],
        true,
    );
    differs(
        &edited("clock from 10:00", "clock from 11:00"),
        &[("gate windy", "changed", "more hours")],
        true,
    );
    differs(
        &edited(
            "gate windy\n  shuts spraying\n  in hours when wind above 10 mph or clock from 10:00 to 16:00\n  cites own\n",
            "",
        ),
        &[("gate windy", "omitted", "more hours")],
        true,
    );
    differs(&edited("humidity above 90 %", "humidity above 85 %"), &[("hourly damp", "changed", "")], true);
    // Labels, each line of its own.
    differs(
        &edited("at most 6 sprays", "at most 8 sprays"),
        &[("label of copper season sprays", "changed", "looser")],
        false,
    );
    differs(
        &edited("at most 12 kg / ha copper", "at most 10 kg / ha copper"),
        &[("label of copper season amount of copper", "changed", "stricter")],
        false,
    );
    differs(
        &edited("interval at least 7 d", "interval at least 10 d"),
        &[("label of copper interval", "changed", "stricter")],
        false,
    );
    differs(
        &edited("re-entry 48 h", "re-entry 4 h"),
        &[("label of copper re-entry", "changed", "looser")],
        true,
    );
    differs(
        &edited("  label re-entry 48 h\n", ""),
        &[("label of copper re-entry", "omitted", "looser")],
        true,
    );
    // When to look again, tasks, cautions, promises, sources.
    differs(&edited("recheck in 3 d", "recheck in 4 d"), &[("choice fight", "changed", "")], true);
    differs(&edited("within 48 h", "within 24 h"), &[("choice fight", "changed", "")], true);
    differs(&edited("walk the rows", "walk every other row"), &[("task walk", "changed", "")], true);
    differs(
        &edited("spots at least 1 and mildew", "spots at least 2 and mildew"),
        &[("task walk", "changed", "")],
        true,
    );
    differs(
        &edited("  caution \"Wear gloves.\"\n", ""),
        &[("caution of copper \"Wear gloves.\"", "omitted", "looser")],
        true,
    );
    differs(&BOOK[..BOOK.find("promise").unwrap()], &[("promise no-heat", "omitted", "looser")], true);
    differs(
        &edited("whenever heat at least 30 °C", "whenever heat at least 33 °C"),
        &[("promise no-heat", "changed", "looser")],
        true,
    );
    differs(
        &edited("because \"they spread\"\n  cites own", "because \"they spread\"\n  cites common-practice"),
        &[("choice guard", "sources", "other words")],
        true,
    );
    // A strength, a gate.
    differs(
        &edited("strength high 2 g/L", "strength high 3 g/L"),
        &[("product sulfur", "changed", "stronger")],
        false,
    );
    differs(
        &edited("if heat at least hot", "if heat at least 28 °C"),
        &[("gate heat-gate", "changed", "stricter")],
        false,
    );
}

/// What is organic decides only in certified groves, and their verdicts are looked at, too.
#[test]
fn certified_groves_differ_by_what_is_organic() {
    let comparison = compared(&edited("product copper\n  class organic\n", "product copper\n"));
    assert!(!comparison.same && comparison.same_verdicts);
    let certified = comparison.certified.as_ref().expect("they are decided otherwise");
    assert!(
        !certified.regions.is_empty() && certified.regions.iter().all(|it| it.was.verdict.contains("copper"))
    );
}

#[test]
fn the_command_ends_with_what_it_says() {
    let folder = folder("items_compare");
    let write = |name: &str, text: &str| {
        let path = folder.join(name);
        std::fs::write(&path, format!("rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n{text}"))
            .unwrap();
        path.to_str().unwrap().to_owned()
    };
    let old = write("old.rulebook", BOOK);
    let compare = |text: &str, status: i32| {
        let new = write("new.rulebook", text);
        let (out, _) = ran(&["compare", &old, &new, "--width", "200"], status);
        let (json, _) = ran(&["compare", &old, &new, "--format", "json"], status);
        (out, serde_json::from_str::<serde_json::Value>(&json).unwrap())
    };
    let (out, json) = compare(&edited("spots above 5", "spots at least 6"), 0);
    assert!(out.contains("written otherwise, and meaning the same: `band danger`"), "{out}");
    assert!(out.contains("nothing to look at"), "{out}");
    assert_eq!(json["same"], true);
    for (from, to) in
        [("re-entry 48 h", "re-entry 4 h"), ("lasts 3 d", "lasts 2 d"), ("never sulfur", "never copper")]
    {
        let (out, json) = compare(&edited(from, to), 1);
        assert!(!out.contains("nothing to look at"), "{out}");
        assert_eq!((&json["same"], &json["same_verdicts"]), (&false.into(), &true.into()));
        assert_eq!(json["items"][0]["in_meaning"], true, "{json}");
    }
    let (out, json) = compare(&edited("product copper\n  class organic\n", "product copper\n"), 1);
    assert!(
        out.contains("in groves that are not certified organic")
            && out.contains("In certified organic groves\n"),
        "{out}"
    );
    assert!(!json["certified_organic"]["regions"].as_array().unwrap().is_empty());
    // The text of a label line stands with its change.
    let (out, json) = compare(&edited("at most 6 sprays", "at most 8 sprays"), 1);
    assert!(
        out.contains("`label of copper season sprays`: looser\n    was: season at most 6 sprays\n    now: season at most 8 sprays\n"),
        "{out}"
    );
    assert_eq!(json["items"][0]["direction"], "looser");
}

/// An item that holds elsewhere and comes to something else, too, is one cause.
#[test]
fn no_cause_is_named_twice() {
    let comparison = compared(&edited(
        "sulfur at high\n  or else copper at low\n  if danger is great",
        "sulfur at low\n  if danger is great and spots at least 8",
    ));
    let all = comparison
        .headlines
        .iter()
        .map(|it| &it.because_of)
        .chain(comparison.regions.iter().map(|it| &it.because_of));
    let mut met = 0;
    for causes in all {
        met += usize::from(causes.iter().any(|it| it == "choice fight"));
        assert!(causes.windows(2).all(|pair| pair[0] != pair[1]), "{causes:?}");
    }
    assert!(met > 0, "{comparison:#?}");
}

/// A day of the year is one of every year.
#[test]
fn days_of_the_year_are_told_of_every_year() {
    let book = |from: &str| {
        let when = format!(
            "choice treat\n  advise copper at low\n  if date from {from} to 15 Mar\n  outranks rest\n  cites own\n"
        );
        let rest = "choice rest\n  advise hold\n  cites own\n";
        plan(&format!("product copper\n  strength low 1 g/L\n  cites own\n{when}{rest}"))
    };
    for (old, new, from, to) in
        [("1 Nov", "2 Nov", "1 Nov", "1 Nov"), ("20 Dec", "10 Jan", "20 Dec", "9 Jan")]
    {
        let comparison = compare(&book(old), &book(new), BUDGET, Regions::All);
        let [region] = &comparison.regions[..] else { panic!("{:#?}", comparison.regions) };
        let [place] = &region.place[..] else { panic!("{region:#?}") };
        let [run] = &place.runs[..] else { panic!("{place:#?}") };
        let ends = |end: &Option<(String, bool)>| end.as_ref().map(|(words, _)| words.clone());
        assert_eq!((ends(&run.from), ends(&run.to)), (Some(from.to_owned()), Some(to.to_owned())));
        for year in [2019, 2026, 2027, 2031] {
            let day = |month: u32, day: u32| {
                let date = NaiveDate::from_ymd_opt(year, month, day).unwrap();
                Extent::number(f64::from(date.num_days_from_ce()))
            };
            let (first, before, after) =
                if to == from { ((11, 1), (10, 31), (11, 2)) } else { ((12, 31), (12, 19), (1, 10)) };
            assert!(place.has(day(first.0, first.1)), "{year}");
            assert!(!place.has(day(before.0, before.1)) && !place.has(day(after.0, after.1)), "{year}");
        }
    }
}
