//! What an advice acts on beside rules: clauses of the head, facts of products, scales, what is always so. A change of each is an item
//! with its value as it was and as it is, and nothing is called the same beside it.

use crate::cli::{folder, ran};
use crate::proofs::plan_of;
use bloomward::prove::BUDGET;
use bloomward::prove::compare::items::ItemChange;
use bloomward::prove::compare::{Comparison, Regions, compare};

const BOOK: &str = "rulebook \"Test\"\n  crop mango\n  in-force from 2027-01-01 to 2027-12-31\n  season from 1 Oct to 30 Sep\n\
    \x20 window at least 2 h within 48 h\n  gaps at most 10 %\n  accuracy temperature 1 °F, humidity 3 %\n  caution \"x\"\n\
    source own \"made\"\n\
    scale bloom\n  closed 510\n  open 615 to 616\n  set 700\n\
    observe stage\n  kind bloom\n  of panicles\n\
    observe mildew\n  kind share\n\
    product copper\n  active \"copper soap\"\n  group M01\n  contains copper\n  class organic\n  against rust good\n\
    \x20 strength low 600 ppm copper\n  strength high 1200 ppm copper\n  cites own\n\
    product strobilurin \"a strobilurin\"\n  active \"azoxystrobin\"\n  group 11\n  strength low 1 mL/L\n  cites own\n\
    disease rust \"Rust\"\n\
    hourly damp = humidity above 90 %\n\
    measure wet = hours with damp over last 24 h\n\
    band danger\n  levels low, great\n  great if mildew above 10 %\n  because \"made\"\n  cites own\n\
    choice fight\n  advise copper at low\n  if danger is great and wet at least 3 h\n  outranks rest\n  cites own\n\
    choice rest\n  advise hold\n  cites own\n\
    always closed-is-clean\n  not (some panicles with stage is closed and mildew above 50 %)\n  cites own\n";

#[track_caller]
fn edited(from: &str, to: &str) -> Comparison {
    assert!(BOOK.contains(from), "{from}");
    let comparison = compare(&plan_of(BOOK), &plan_of(&BOOK.replacen(from, to, 1)), BUDGET, Regions::Some);
    assert_eq!((comparison.unconfirmed, comparison.spent), (0, false));
    comparison
}

/// Asserts that one item alone is told, with its values, its direction, and whether it is something that protects and is weaker.
#[track_caller]
fn tells(from: &str, to: &str, item: &str, written: (&str, &str), direction: &str, weakened: bool) {
    let comparison = edited(from, to);
    assert!(!comparison.same, "{from} to {to}");
    let meant: Vec<&ItemChange> = comparison.items.iter().filter(|it| it.in_meaning()).collect();
    let [one] = &meant[..] else { panic!("{from} to {to}: {meant:#?}") };
    let values = one.written.as_ref().map(|(was, now)| (was.as_str(), now.as_str()));
    let moved = one.direction.map_or("", |it| it.words());
    assert_eq!((&*one.item, values, moved), (item, Some(written), direction), "{from} to {to}");
    assert_eq!(one.is_weakened(), weakened, "{from} to {to}: {one:#?}");
}

#[test]
fn clauses_of_the_head_are_told_each_with_its_values() {
    let window = |was: &str, now: &str, direction: &str, weakened: bool| {
        let values = ("at least 2 h within 48 h", now);
        tells(
            &format!("window {was}"),
            &format!("window {now}"),
            "rulebook window",
            values,
            direction,
            weakened,
        );
    };
    window("at least 2 h within 48 h", "at least 1 h within 48 h", "more hours", true);
    window("at least 2 h within 48 h", "at least 3 h within 48 h", "fewer hours", false);
    window("at least 2 h within 48 h", "at least 2 h within 72 h", "more hours", true);
    window("at least 2 h within 48 h", "at least 3 h within 72 h", "", true);
    let gaps = ("at most 10 %", "at most 20 %");
    tells("at most 10 %", "at most 20 %", "rulebook gaps", gaps, "looser", true);
    tells(
        "at most 10 %",
        "at most 5 %",
        "rulebook gaps",
        ("at most 10 %", "at most 5 %"),
        "must look",
        false,
    );
    let was = "temperature 1 °F, humidity 3 %";
    let less = "temperature 0.5 °F, humidity 3 %";
    tells(was, less, "rulebook accuracy", (was, less), "looser", true);
    let more = "temperature 1 °F, humidity 5 %";
    tells(was, more, "rulebook accuracy", (was, more), "must look", false);
    let both = "temperature 2 °F, humidity 1 %";
    tells(was, both, "rulebook accuracy", (was, both), "", true);
    let values = ("from 1 Oct to 30 Sep", "from 1 Nov to 31 Oct");
    tells(values.0, values.1, "rulebook season", values, "", false);
    let values = ("from 2027-01-01 to 2027-12-31", "from 2027-01-01 to 2028-12-31");
    tells(values.0, values.1, "rulebook in-force", values, "", false);
    // What is said and is what holds anyway is the same.
    assert!(edited(", humidity 3 %", "").same);
    assert!(edited("accuracy temperature 1 °F", "accuracy rain 1 mm, temperature 1 °F").same);
    // Who is asked, and what the region is called, are words.
    assert!(edited("  crop mango\n", "  crop mango\n  contact \"the desk\"\n").same);
}

#[test]
fn facts_of_products_are_told_each_with_its_values() {
    tells("group 11", "group 3", "group of strobilurin", ("11", "3"), "", true);
    tells("  group 11\n", "", "group of strobilurin", ("11", "none"), "looser", true);
    tells("group M01", "group M01, 11", "group of copper", ("M01", "M01, 11"), "", true);
    tells(
        "class organic",
        "class restricted",
        "class of copper",
        ("organic", "restricted"),
        "stricter",
        false,
    );
    tells(
        "  active \"azoxystrobin\"\n",
        "  active \"azoxystrobin\"\n  class organic\n",
        "class of strobilurin",
        ("none", "organic"),
        "looser",
        true,
    );
    tells(
        "active \"azoxystrobin\"",
        "active \"kresoxim-methyl\"",
        "name of strobilurin",
        ("a strobilurin, azoxystrobin", "a strobilurin, kresoxim-methyl"),
        "other words",
        false,
    );
    tells(
        "against rust good",
        "against rust slight",
        "diseases of copper",
        ("rust good", "rust slight"),
        "",
        false,
    );
    tells(
        "strength low 1 mL/L",
        "strength low 2 mL/L",
        "product strobilurin",
        ("low 1 mL/L", "low 2 mL/L"),
        "stronger",
        false,
    );
    tells(
        "strength low 600 ppm copper\n  strength high 1200 ppm copper",
        "strength low 600 ppm copper\n  strength half 900 ppm copper\n  strength high 1200 ppm copper",
        "product copper",
        ("half none", "half 900 ppm copper"),
        "",
        false,
    );
    // A product that comes or goes is told as one.
    let product = "product strobilurin \"a strobilurin\"\n  active \"azoxystrobin\"\n  group 11\n  strength low 1 mL/L\n  cites own\n";
    let gone = edited(product, "");
    let items: Vec<&str> = gone.items.iter().map(|it| &*it.item).collect();
    assert_eq!((items, gone.same), (vec!["product strobilurin"], false));
}

#[test]
fn levels_and_codes_of_scales_are_told() {
    let scale = |from: &str, to: &str| {
        let comparison = edited(from, to);
        assert!(!comparison.same, "{from} to {to}");
        let item = comparison.items.iter().find(|it| it.item == "scale bloom").expect("the scale differs");
        assert!(item.in_meaning());
        let rows = item.rows.iter().map(|row| (row.key.clone(), row.was.clone(), row.now.clone()));
        rows.collect::<Vec<_>>()
    };
    let row = |key: &str, was: Option<&str>, now: Option<&str>| {
        (key.to_owned(), was.map(str::to_owned), now.map(str::to_owned))
    };
    assert_eq!(
        scale("open 615 to 616", "open 614 to 616"),
        [row("open", Some("615 to 616"), Some("614 to 616"))]
    );
    assert_eq!(scale("set 700", "set"), [row("set", Some("700"), Some("no code"))]);
    assert_eq!(
        scale("  set 700\n", "  fruit 700\n"),
        [row("set", Some("700"), None), row("fruit", None, Some("700"))]
    );
    let moved = scale("  open 615 to 616\n  set 700\n", "  set 700\n  open 615 to 616\n");
    assert_eq!(moved, [row("order", Some("closed, open, set"), Some("closed, set, open"))]);
    // The levels of a band are what its author calls them.
    let comparison = edited("levels low, great\n  great if", "levels little, great\n  great if");
    let items: Vec<_> = comparison.items.iter().map(|it| (&*it.item, it.change.word())).collect();
    assert_eq!((items, comparison.same), (vec![("band danger", "written otherwise")], true));
}

/// Definitions are told by both texts on the page, hourly ones too.
#[test]
fn an_hourly_definition_is_told_by_both_texts() {
    let folder = folder("items_facts");
    let write = |name: &str, text: &str| {
        let path = folder.join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let new = BOOK.replace("humidity above 90 %", "humidity above 80 %");
    let (old, new) = (write("old.rulebook", BOOK), write("new.rulebook", &new));
    for format in ["text", "markdown"] {
        let (page, _) = ran(&["compare", &old, &new, "--format", format, "--width", "200"], 1);
        for words in ["hourly damp = humidity above 90 %", "hourly damp = humidity above 80 %"] {
            assert!(page.contains(words), "{words}\n{page}");
        }
    }
}
