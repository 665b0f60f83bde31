//! A definition that was changed is one quantity under two definitions: between the two the order holds that follows from the change,
//! so that a change which can only shut is told as stricter, and its opposite as looser.

use crate::proofs::plan;
use bloomward::problems::Finding;
use bloomward::prove::compare::{Comparison, Direction, Regions, compare};
use bloomward::prove::{self, BUDGET};
use std::cmp::Ordering;
use std::collections::BTreeSet;

const PRODUCTS: &str = "product copper\n  strength low 1 g/L\n  strength high 3 g/L\n  cites own\n\
    product sulfur\n  strength full 2 g/L\n  cites own\n";

fn compared(old: &str, new: &str) -> Comparison {
    assert_ne!(old, new);
    let [old, new] = [old, new].map(|text| plan(&format!("{PRODUCTS}{text}")));
    let comparison = compare(&old, &new, BUDGET, Regions::All);
    assert_eq!((comparison.unconfirmed, comparison.spent, comparison.cut.len()), (0, false, 0));
    comparison
}

fn directions(comparison: &Comparison) -> BTreeSet<Direction> {
    comparison.turns.iter().map(|turn| turn.direction).collect()
}

/// A measure that shuts copper, before and after; and how it then stands to what it was.
#[track_caller]
fn held(before: &str, after: &str, test: &str, order: Option<Ordering>) -> Comparison {
    let book = |definition: &str| {
        format!(
            "{definition}\ngate shut\n  shuts copper\n  if value {test}\n  cites own\n\
             choice treat\n  advise copper at low\n  cites own\n"
        )
    };
    let (old, new) = (book(before), book(after));
    let comparison = compared(&old, &new);
    let found = comparison.redefined.iter().find(|it| it.name == "value").expect("it is redefined");
    assert_eq!(found.order, order, "{before} {after}");
    let back = compared(&new, &old);
    let shuts_more = test.starts_with("at least") || test.starts_with("above");
    let expected: [&[Direction]; 2] = match (order, shuts_more) {
        (Some(Ordering::Greater), true) | (Some(Ordering::Less), false) => {
            [&[Direction::Stricter], &[Direction::Looser]]
        }
        (Some(_), _) => [&[Direction::Looser], &[Direction::Stricter]],
        (None, _) => [&[Direction::Stricter, Direction::Looser]; 2],
    };
    for (comparison, expected) in [(&comparison, expected[0]), (&back, expected[1])] {
        assert_eq!(directions(comparison), expected.iter().copied().collect(), "{before} {after}");
    }
    comparison
}

#[test]
fn the_order_that_follows_from_a_change_is_used() {
    let (more, less, either) = (Some(Ordering::Greater), Some(Ordering::Less), None);
    let weather = |what: &str| format!("measure value = {what}");
    let cases = [
        ("highest temperature over next 48 h", "highest temperature over next 72 h", "at least 30 °C", more),
        (
            "lowest temperature over last 3 nights",
            "lowest temperature over last 5 nights",
            "below 10 °C",
            less,
        ),
        ("total rain over last 48 h", "total rain over last 60 h", "at least 5 mm", more),
        (
            "total rain over the 2 h after the last copper",
            "total rain over the 3 h after the last copper",
            "at least 5 mm",
            more,
        ),
        (
            "total rain over the 2 h after the last copper",
            "total rain over the 3 h after the last sulfur",
            "at least 5 mm",
            either,
        ),
        ("mean temperature over last 48 h", "mean temperature over last 60 h", "at least 20 °C", either),
        (
            "hours with humidity at least 85 % over last 24 h",
            "hours with humidity at least 80 % over last 24 h",
            "at least 5 h",
            more,
        ),
        (
            "hours with (humidity at least 85 % and rain above 0 mm) over last 24 h",
            "hours with humidity at least 85 % over last 24 h",
            "at least 5 h",
            more,
        ),
        (
            "longest spell with humidity at least 85 % over last 24 h",
            "longest spell with humidity at least 90 % over last 24 h",
            "at least 5 h",
            less,
        ),
        (
            "hours with humidity at least 85 % over last 24 h",
            "hours with humidity at least 80 % over last 12 h",
            "at least 5 h",
            either,
        ),
    ];
    for (before, after, test, order) in cases {
        held(&weather(before), &weather(after), test, order);
    }
    // An `hourly`, a `daily` and arithmetic between.
    let hourly = |least: &str| {
        format!("hourly damp = humidity at least {least}\nmeasure value = hours with damp over last 24 h")
    };
    held(&hourly("80 %"), &hourly("85 %"), "at least 5 h", less);
    let daily = |least: &str| {
        format!(
            "daily top = highest temperature over that day\nmeasure value = days with top at least {least} over last 7 days"
        )
    };
    held(&daily("30 °C"), &daily("28 °C"), "at least 3", more);
    let sum = |least: &str| {
        format!(
            "measure wet = hours with humidity at least {least} over last 24 h\nmeasure value = (wet in h) / 2 + 1"
        )
    };
    held(&sum("80 %"), &sum("85 %"), "at least 5", less);
    let table = |gives: &str| {
        format!(
            "measure warm = mean temperature over last 24 h\ntable need\n  cites own\n  of temperature\n  gives duration\n  \
             10 °C  20 h\n  20 °C  {gives}\n  between linear\n  beyond ends\nmeasure value = need at warm"
        )
    };
    held(&table("10 h"), &table("14 h"), "at least 15 h", more);
}

#[test]
fn opposite_changes_of_a_tally_are_told_as_opposite() {
    let (more, less) = (Some(Ordering::Greater), Some(Ordering::Less));
    let tally = |low: &str, adds: u8| {
        format!(
            "daily top = highest temperature over that day\ntally value\n  over since 1 Jan\n  starts 0\n  \
             add {adds} if top at least {low}\n  add -10 if top at least 40 °C\n  kept from 0 to 100"
        )
    };
    let (was, harder, easier) = (tally("28 °C", 10), tally("30 °C", 10), tally("26 °C", 10));
    held(&was, &harder, "at least 60", less);
    held(&was, &easier, "at least 60", more);
    held(&was, &tally("28 °C", 20), "at least 60", more);
    held(&was, &tally("30 °C", 20), "at least 60", None);
}

#[test]
fn each_place_says_of_which_book_it_speaks() {
    let comparison = held(
        "measure value = highest temperature over next 48 h",
        "measure value = highest temperature over next 72 h",
        "at least 30 °C",
        Some(Ordering::Greater),
    );
    let [region] = &comparison.regions[..] else { panic!("{:?}", comparison.regions) };
    let sides: Vec<_> = region.place.iter().map(|it| (&*it.name, it.book, it.is_redefined)).collect();
    assert_eq!(sides.len(), 2);
    assert!(sides.contains(&("value", 0, true)) && sides.contains(&("value", 1, true)), "{sides:?}");
    let number = |key: &str| region.situation.values[key]["value"].as_f64().expect("a number");
    assert!(number("value (was)") < 30.0 && number("value") >= 30.0, "{:?}", region.situation);
}

/// What a new row of a table changes is told of that row alone: sources that disagree about another key disagree as before.
#[test]
fn a_new_row_of_a_table_is_told_of_its_own_key() {
    let book = |row: &str| {
        format!(
            "scale risk\n  small\n  middle\n  great\ntable rating\n  cites own\n  of text\n  gives risk\n{row}  \
             \"Kent\"   middle to great\n  \"Haden\"  great\n  otherwise middle to great\n\
             measure prone = rating at cultivar\nchoice treat\n  advise copper at low\n  if prone is great\n  \
             outranks rest\n  cites own\nchoice rest\n  advise hold\n  cites own\n"
        )
    };
    let comparison = compared(&book(""), &book("  \"Apple\"  small\n"));
    assert_eq!(directions(&comparison), BTreeSet::from([Direction::Stricter]));
    for told in comparison
        .regions
        .iter()
        .map(|it| &it.situation)
        .chain(comparison.headlines.iter().map(|it| &it.situation))
    {
        assert_eq!(told.values["cultivar"]["value"], "Apple", "{told:?}");
    }
}

#[test]
fn doses_are_told_by_what_they_amount_to() {
    let book = |strength: &str, name: &str| {
        format!(
            "product oil\n  strength {name} {strength}\n  cites own\nchoice treat\n  advise oil at {name}\n  cites own\n"
        )
    };
    let comparison = compared(&book("3 g/L", "full"), &book("4 g/L", "full"));
    let [turn] = &comparison.turns[..] else { panic!("{:?}", comparison.turns) };
    assert_eq!(
        (&*turn.was, &*turn.now, turn.direction),
        ("spray oil 3 g/L", "spray oil 4 g/L", Direction::Stronger)
    );
    let renamed = compared(&book("3 g/L", "full"), &book("3 g/L", "strong"));
    assert!(renamed.same && renamed.turns.is_empty());
}

#[test]
fn a_forgotten_rank_contradicts_itself() {
    let book = |rank: &str| {
        format!(
            "observe spots\n  kind count\nchoice treat\n  advise copper at high\n  if spots at least 3\n{rank}  cites own\n\
             choice rest\n  advise hold\n  cites own\n"
        )
    };
    let comparison = compared(&book("  outranks rest\n"), &book(""));
    let [turn] = &comparison.turns[..] else { panic!("{:?}", comparison.turns) };
    assert_eq!(turn.direction, Direction::Contradicts);
    assert_eq!((&*turn.was, &*turn.now), ("spray copper 3 g/L", "undecided: spray copper 3 g/L, or hold"));
}

#[test]
fn a_raised_cap_is_looser() {
    let book = |most: &str| {
        format!(
            "product oil\n  contains oil\n  strength low 1 g/L\n  label season at most {most}\n  cites own\n\
             choice treat\n  advise oil at low\n  cites own\n"
        )
    };
    for (less, more) in [("4 sprays", "6 sprays"), ("4 kg / ha oil", "6 kg / ha oil")] {
        let told = directions(&compared(&book(less), &book(more)));
        assert_eq!(told, BTreeSet::from([Direction::Looser]));
        let told = directions(&compared(&book(more), &book(less)));
        assert_eq!(told, BTreeSet::from([Direction::Stricter]));
    }
}

#[track_caller]
fn broken(text: &str) -> bool {
    let found = prove::findings(&plan(&format!("{PRODUCTS}{text}")));
    found.iter().any(|it| it.finding == Finding::PromiseBroken)
}

/// What a rulebook says is always so counts where a value has no end on one side, too, and over names between.
#[test]
fn what_is_always_so_counts_in_proofs() {
    let book = |always: &str| {
        format!(
            "observe low\n  kind temperature\nobserve middle\n  kind temperature\nobserve high\n  kind temperature\n{always}\
             gate heat\n  shuts copper\n  if high at least 20 °C\n  cites own\n\
             choice treat\n  advise copper at low\n  if low at least 25 °C\n  outranks rest\n  cites own\n\
             choice rest\n  advise hold\n  cites own\n\
             promise none\n  whenever low at least 25 °C\n  never copper\n  because \"x\"\n  cites own\n"
        )
    };
    let always = |name: &str, says: &str| format!("always {name}\n  {says}\n  because \"x\"\n  cites own\n");
    assert!(broken(&book("")));
    assert!(!broken(&book(&always("order", "low at most high"))));
    assert!(broken(&book(&always("order", "low at least high"))));
    let two = always("one", "low at most middle") + &always("two", "middle at most high");
    assert!(!broken(&book(&two)));
}

/// A table of two keys gives what its rows give, and nothing between.
#[test]
fn a_table_of_two_keys_gives_no_value_that_it_does_not_have() {
    let book = |asked: u8| {
        format!(
            "observe warmth\n  kind temperature\nobserve wet\n  kind duration\ntable severity\n  cites own\n  \
             of temperature, duration\n  gives count\n  from 13 °C to below 18 °C, from 7 h to 15 h  3\n  \
             from 13 °C to below 18 °C, above 15 h  5\n  otherwise  0\n\
             measure danger = severity at warmth, wet\n\
             choice treat\n  advise copper at low\n  cites own\n\
             promise none\n  whenever danger is {asked}\n  never copper\n  because \"x\"\n  cites own\n"
        )
    };
    for value in [0, 3, 5] {
        assert!(broken(&book(value)), "{value} is given");
    }
    for value in [1, 2, 4, 6] {
        assert!(!broken(&book(value)), "{value} is not given");
    }
}
