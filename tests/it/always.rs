//! What a rulebook says is true of every grove (design: a grove that breaks it is an error in the data, tree by tree).

use super::case::{Case, case, tree};
use super::cli::{folder, ran};

const BOOK: &str = "
scale bloom
  closed
  open
  fruit
observe stage
  kind bloom
  of panicles
observe fruit-set
  kind count
  of panicles
observe low
  kind temperature
observe high
  kind temperature
measure warmth = mean temperature in longest spell with temperature above 90 °C over last 24 h
always fruit-comes-after-flowers
  not some panicles with (stage is closed and fruit-set above 0)
  because \"fruit comes after flowers\"
  cites own
always nights-are-cooler
  low at most high
  because \"a night is cooler than its day\"
  cites own
always a-spell-is-warm
  warmth at least 20 °C
  because \"a spell is warm where there is one\"
  cites own
choice rest
  advise hold
  because \"x\"
  cites own
";

fn grove(trees: &str) -> Case {
    case(BOOK, &format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n{trees}"))
}

#[test]
fn every_tree_that_breaks_one_is_said_at_its_line_with_what_was_met() {
    let broken = grove(
        "  - { tree: A1, stage: closed, fruit-set: 3 }\n  - { tree: A2, stage: open, fruit-set: 3, low: 21 °C, high: 16 °C }\n  \
         - { tree: A3, stage: closed, fruit-set: 2, low: 17 to 18 °C, high: 16 °C }\n",
    );
    let said = broken.try_advise().unwrap_err();
    for (line, words) in [
        (8, "the tree `A1` breaks `always fruit-comes-after-flowers`: stage closed, fruit set 3"),
        (9, "the tree `A2` breaks `always nights-are-cooler`: low 21 °C, high 16 °C"),
        (10, "the tree `A3` breaks `always fruit-comes-after-flowers`: stage closed, fruit set 2"),
        (10, "the tree `A3` breaks `always nights-are-cooler`: low 17 °C to 18 °C, high 16 °C"),
    ] {
        let whole = format!("grove.yaml:{line}:7: error[input]: {words}\n");
        assert!(said.contains(&whole), "{whole}{said}");
    }
    assert!(said.contains("the rulebook says: fruit comes after flowers"), "{said}");
    assert_eq!(said.matches("error[input]").count(), 4, "{said}");
}

#[test]
fn what_may_yet_be_true_breaks_nothing() {
    // Nothing seen, seen in part, seen as between two values that leave it open, and on the border.
    let open = grove(
        "  - { tree: A1 }\n  - { tree: A2, stage: closed }\n  - { tree: A3, fruit-set: 4 }\n  \
         - { tree: A4, stage: closed, fruit-set: 0 to 3 }\n  - { tree: A5, low: 15 to 17 °C, high: 16 °C }\n  \
         - { tree: A6, low: 16 °C, high: 16 °C }\n",
    );
    // Nor does the spell that never was: there is no such value, and nobody wrote it down wrongly.
    let hours: String =
        (0..48).map(|hour| format!("2027-02-{:02}T{:02}:00,20\n", 9 + hour / 24, hour % 24)).collect();
    let advice = open.measured(format!("time,temperature [°C]\n{hours}")).advise();
    assert_eq!(tree(&advice, "A6")["verdict"], "hold");
}

#[test]
fn one_group_of_panicles_is_enough_and_its_rows_are_shown() {
    let mut mixed = grove("  - { tree: A1 }\n");
    mixed = mixed.scouting(
        "when,who,on,panicles,stage,fruit-set\n2027-02-10,R,A1,60 %,open,2\n2027-02-10,R,A1,40 %,closed,5\n",
    );
    let said = mixed.try_advise().unwrap_err();
    assert!(
        said.contains(
            "`A1` breaks `always fruit-comes-after-flowers`: stage open and closed, fruit set 2 and 5"
        ),
        "{said}"
    );
}

#[test]
fn what_speaks_of_the_grove_alone_is_said_once() {
    let book = "
observe gauge
  kind count
  of grove
always few
  gauge at most 5
  because \"x\"
  cites own
choice rest
  advise hold
  because \"x\"
  cites own
";
    let keys = "sprays: none yet\nseen: 2027-02-10\ngauge: 9\ntrees:\n  - { tree: A1 }\n  - { tree: A2 }\n";
    let said = case(book, keys).try_advise().unwrap_err();
    assert_eq!(said.matches("the grove breaks `always few`: gauge 9").count(), 1, "{said}");
    assert!(!said.contains("A1"), "{said}");
}

#[test]
fn the_program_ends_as_with_any_data_that_cannot_be() {
    let folder = folder("breaks_always");
    let grove = "grove: T\nrulebook: b.rulebook\nsprays: none yet\nseen: 2027-02-10\nas-of: 2027-02-11T05:30\n\
        place: { latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }\n\
        trees:\n  - { tree: A1, stage: closed, fruit-set: 3 }\n  - { tree: A2, low: 21 °C, high: 16 °C }\n";
    std::fs::write(folder.join("grove.yaml"), grove).unwrap();
    let head = "rulebook \"T\"\n  caution \"x\"\n\nsource own \"made\"\n";
    std::fs::write(folder.join("b.rulebook"), format!("{head}{BOOK}")).unwrap();
    let path = folder.to_str().unwrap();
    for command in [&["advise", "--long", path][..], &["why", "--all", path, "A2"]] {
        let (out, error) = ran(command, 2);
        assert_eq!(out, "");
        let error = error.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(error.contains("`A1` breaks") && error.contains("`A2` breaks"), "{error}");
        assert!(error.contains("Found 2 errors"), "{error}");
    }
}
