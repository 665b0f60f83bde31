//! The places at which a reader of the language goes wrong: each is read as the language says.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops where its own files are amiss")]

use bloomward::source::SourceId;
use bloomward::syntax::parse_text;
use bloomward::syntax::tree::{
    Aggregate, Clause, Comparison, Condition, Expected, Expression, Item, Literal, Node, Operator, Pattern,
    Tree, UnitWord, Value, Window,
};

/// Reads a text in which nothing is wrong.
#[track_caller]
fn read(text: &str) -> Tree<'_> {
    let (tree, problems) = parse_text(text, SourceId::default());
    assert!(problems.is_empty(), "{text}\n{problems:?}");
    tree
}

/// Reads one item in which nothing is wrong.
#[track_caller]
fn item(text: &str) -> Item<'_> {
    let mut tree = read(text);
    assert_eq!(tree.items.len(), 1, "{text}");
    tree.items.remove(0)
}

/// Asserts that a text cannot be read.
#[track_caller]
fn refused(text: &str) {
    let (tree, problems) = parse_text(text, SourceId::default());
    assert!(problems.any_error(), "{text} is read as {tree:?}");
}

/// Returns the expression of a measure.
#[track_caller]
fn expression(text: &str) -> Expression<'_> {
    // The text outlives the test; a measure is made of it here so that each test shows the expression alone.
    let whole: &'static str = Box::leak(format!("measure x = {text}").into_boxed_str());
    match item(whole).clauses.remove(0).value {
        Clause::Yields(expression) => expression,
        other => panic!("{other:?}"),
    }
}

/// Returns the words of the clauses of an item, by their debug form's first word.
fn clauses(item: &Item<'_>) -> Vec<String> {
    let debug = item.clauses.iter().map(|clause| format!("{:?}", clause.value));
    debug.map(|text| text.split(['(', ' ']).next().unwrap_or_default().to_owned()).collect()
}

fn unit(value: &Value<'_>) -> Option<&'static str> {
    match value {
        Value::Literal(Literal::Quantity(quantity)) => match quantity.unit {
            Some(UnitWord::Plain(unit)) => Some(unit),
            _ => None,
        },
        _ => None,
    }
}

// 1: the inch, and `in hours when`.
#[test]
fn the_inch_is_not_the_first_word_of_in_hours_when() {
    let gate = item("gate a\n  shuts spraying\n  if rain-48h above 0.2 in\n  in hours when daylight\n");
    let Clause::If(Condition::Test(_, Comparison::Above(value), _)) = &gate.clauses[1].value else {
        panic!("{gate:?}")
    };
    assert_eq!(unit(value), Some("in"));
    assert_eq!(clauses(&gate), ["Shuts", "If", "InHours"]);

    let gate =
        item("gate a shuts spraying if count-of-days at least 6\n  in # a comment\n  hours when daylight");
    let Clause::If(Condition::Test(_, Comparison::AtLeast(value), _)) = &gate.clauses[1].value else {
        panic!("{gate:?}")
    };
    assert_eq!(unit(value), None);
    assert_eq!(clauses(&gate), ["Shuts", "If", "InHours"]);

    let worked = item("worked \"w\"\n  take rain-48h 0.2 in\n  hours from \"week.csv\"\n");
    assert_eq!(clauses(&worked), ["Take", "HoursFrom"]);
}

// 2: `at most LEVEL if` in a band, and elsewhere.
#[test]
fn at_most_begins_a_row_in_a_band_only() {
    let band =
        item("band b\n  levels quiet, building\n  building if bees-about\n  at most quiet if resting\n");
    assert_eq!(clauses(&band), ["Levels", "BandRow", "BandRow"]);
    let Clause::BandRow(cap) = &band.clauses[2].value else { panic!("{band:?}") };
    assert!(cap.caps);
    assert_eq!(cap.level.value, "quiet");

    let band = item("band b building if bees at most limit at most quiet if resting");
    assert_eq!(clauses(&band), ["BandRow", "BandRow"]);

    let band = item("band b building if not some panicles with torn at most quiet if all panicles with torn");
    assert_eq!(clauses(&band), ["BandRow", "BandRow"]);
    let band = item("band b building if all panicles with spots at most few at most quiet if resting");
    assert_eq!(clauses(&band), ["BandRow", "BandRow"]);

    let gate = item("gate a\n  unless x at most limit\n  if y\n");
    let Clause::Unless(Condition::Test(_, Comparison::AtMost(Value::Name(limit)), _)) =
        &gate.clauses[0].value
    else {
        panic!("{gate:?}")
    };
    assert_eq!(limit.value, "limit");
    assert_eq!(clauses(&gate), ["Unless", "If"]);
}

#[test]
fn why_before_the_rows_is_the_bands_and_after_a_row_the_rows() {
    let band = item(
        "band b because \"of the band\" cites s building if wet because \"of the row\" cites t \"p 1\", u",
    );
    assert_eq!(clauses(&band), ["Because", "Cites", "BandRow"]);
    let Clause::BandRow(row) = &band.clauses[2].value else { panic!("{band:?}") };
    assert_eq!(row.because.as_ref().map(|text| text.value.as_str()), Some("of the row"));
    assert_eq!(row.cites.len(), 2);
}

// 3: `or else` is never an `or`; `and` beside `or` is not read.
#[test]
fn or_else_is_a_clause_or_the_other_value() {
    let choice = item("choice c\n  if a or b\n  or else hold\n");
    assert_eq!(clauses(&choice), ["If", "OrElse"]);
    let choice = item("choice c\n  advise copper at low\n  if a\n  or # no `or`\n  else sulfur at low\n");
    assert_eq!(clauses(&choice), ["Advise", "If", "OrElse"]);
    assert!(matches!(*expression("hours with a or b over last 3 h or else 0 h").node, Node::OrElse(..)));
    // A name is no condition with a clause behind it, so this is a value for each hour.
    assert_eq!(clauses(&item("hourly x = low or else 3")), ["Yields"]);
    refused("gate a if a and b or c");
    refused("gate a if a or b and c");
    let gate = item("gate a if (a and b) or not c or all panicles with e");
    let Clause::If(Condition::Any(parts)) = &gate.clauses[0].value else { panic!("{gate:?}") };
    assert_eq!(parts.len(), 3);
}

// 4: `NAME at KEY`, `NAME at least VALUE`.
#[test]
fn at_looks_up_a_table_and_at_least_compares() {
    assert!(matches!(*expression("severity at warmth, 9 h").node, Node::Lookup(_, keys) if keys.len() == 2));
    let Node::Aggregate(Aggregate::Days(_, Some(Comparison::AtLeast(_))), _) =
        *expression("days with peak at least 35 °C over last 7 days").node
    else {
        panic!()
    };
    let worked = item("worked \"w\" expect need at 15 °C, 9 h is 3 h within 1 h expect need is 3 h");
    let Clause::Expect(Expected::Is(subject, _, Some(_))) = &worked.clauses[0].value else {
        panic!("{worked:?}")
    };
    assert_eq!(subject.keys.len(), 2);
}

// 5: units end at a word's end, and longer ones come first.
#[test]
fn every_unit_is_read_whole() {
    let units = [
        "%", "°C", "°F", "mm", "cm", "m", "km", "in", "ft", "mph", "km/h", "m/s", "kPa", "ac", "ha", "fl oz",
        "gal", "qt", "pt", "L", "mL", "lb", "oz", "kg", "g", "mg", "h", "d", "min",
    ];
    for unit in units {
        for text in [format!("figure a = 5 {unit}"), format!("figure a = 5{unit}")] {
            let figure = item(&text);
            let Clause::Value(Value::Literal(Literal::Quantity(quantity))) = &figure.clauses[0].value else {
                panic!()
            };
            assert_eq!(quantity.unit, Some(UnitWord::Plain(unit)), "{text}");
        }
    }
    for (text, canonical) in
        [("5 F", "°F"), ("5 C", "°C"), ("5F", "°F"), ("5 fl  oz", "fl oz"), ("5 fl\n oz", "fl oz")]
    {
        let text = format!("figure a = {text}");
        let figure = item(&text);
        let Clause::Value(value) = &figure.clauses[0].value else { panic!() };
        assert_eq!(unit_of(value), Some(canonical));
    }
    // What only begins as a unit does is none.
    for text in ["5 mmx", "5 hours", "5 gallon", "5 minutes", "5 Fx", "5 m-s"] {
        refused(&format!("figure a = {text}"));
    }
}

fn unit_of<'a>(value: &'a Value<'a>) -> Option<&'a str> {
    unit(value)
}

// 6: what a number may run into.
#[test]
fn numbers_dates_times_and_names_keep_apart() {
    let literal = |text: &str| {
        let text = format!("figure a = {text}");
        let figure = item(&text);
        let Clause::Value(Value::Literal(literal)) = &figure.clauses[0].value else { panic!() };
        format!("{literal:?}").split(['(', ' ']).next().unwrap_or_default().to_owned()
    };
    for text in ["12", "0.5", "1e6", "1.5e-3", "-10", "-0.5"] {
        assert_eq!(literal(text), "Quantity", "{text}");
    }
    assert_eq!(literal("2027-02-11"), "Date");
    assert_eq!(literal("06:30"), "Clock");
    assert_eq!(literal("1 Dec"), "DayOfYear");
    assert_eq!(literal("1\n  Dec"), "DayOfYear");
    for text in
        ["1.2.3", "48h-rain", "5.", ".5", "1e", "2027-2-11", "12:5", "5-3", "7days", "- 5", "+5", "1,000"]
    {
        refused(&format!("figure a = {text}"));
    }
    refused("product p strength full 48h-rain");
    assert!(matches!(*expression("a - b").node, Node::Arithmetic(Operator::Minus, ..)));
    assert!(matches!(*expression("a-b").node, Node::Name(name) if name.value == "a-b"));
    assert!(matches!(*expression("a - -10").node, Node::Arithmetic(Operator::Minus, ..)));
    assert!(matches!(*expression("a -\n b").node, Node::Arithmetic(Operator::Minus, ..)));
    for text in ["a -2", "a- 2", "(a)-(b)", "(a) -(b)", "(a)- (b)", "5-3", "5 -3"] {
        refused(&format!("measure x = {text}"));
    }
}

// 7: one literal, or a division.
#[test]
fn a_rate_is_a_mass_or_volume_by_a_volume_or_area() {
    for text in
        ["2 lb / 100 gal", "2 g/L", "3 lb / ac", "2 kg / ha", "8 fl oz / 100 gal", "0.5 oz / gal", "1 mL / L"]
    {
        assert!(matches!(*expression(text).node, Node::Literal(_)), "{text}");
    }
    for text in ["10 h / need", "x in h / 24", "2 lb / 3", "2 g / litres", "5 mm / 2 d", "2 lb / (100 gal)"] {
        assert!(matches!(*expression(text).node, Node::Arithmetic(Operator::Over, ..)), "{text}");
    }
    assert!(matches!(*expression("x in g/L").node, Node::InUnit(..)));
    assert!(matches!(*expression("x in ppm copper").node, Node::InUnit(..)));
}

// 8: in a table of text, a text before a cell is a row.
#[test]
fn a_text_before_a_cell_is_a_row_of_a_table_of_text() {
    let table = item("table t\n  of text\n  gives rank\n  cites s\n  \"Kent\" high\n  otherwise unknown\n");
    assert_eq!(clauses(&table), ["Keys", "Gives", "Cites", "Row", "Otherwise"]);
    let table = item(
        "table t\n  \"Kent\" high\n  cites s \"page 3\", u\n  \"Haden\" moderate to high\n  of text gives rank",
    );
    assert_eq!(table.label, None);
    assert_eq!(clauses(&table), ["Row", "Cites", "Row", "Keys", "Gives"]);
    let Clause::Cites(cites) = &table.clauses[1].value else { panic!() };
    assert!(cites[0].locator.is_some() && cites[1].locator.is_none());
    let table = item("table t \"a label\" of text gives share cites s \"Kent\" 5 % \"Haden\" unknown");
    assert!(table.label.is_some());
    assert_eq!(clauses(&table), ["Keys", "Gives", "Cites", "Row", "Row"]);
    let table = item("table t of text, temperature gives share cites s \"Kent\", above 15 °C 5 %");
    assert_eq!(clauses(&table), ["Keys", "Gives", "Cites", "Row"]);
    // Elsewhere it is the label, and the place in the source.
    let table =
        item("table t \"a label\"\n  cites s \"page 3\"\n  15 °C 26 h\n  of temperature gives duration");
    assert!(table.label.is_some());
    assert_eq!(clauses(&table), ["Cites", "Row", "Keys", "Gives"]);
    // `one of text, …` is no kind `text`.
    let table = item("table t of temperature gives one of text, none cites s \"p\" 15 °C none");
    assert_eq!(clauses(&table), ["Keys", "Gives", "Cites", "Row"]);
    // `of text` in a text or a comment is not the table's own.
    let table = item(
        "table t \"a label of text\" # of text\n  cites s \"p of text\"\n  15 °C 26 h\n  of temperature",
    );
    assert!(table.label.is_some());
    let Clause::Row(patterns, _) = &table.clauses[1].value else { panic!("{table:?}") };
    assert!(matches!(patterns[0], Pattern::Value(_)));
}

// 9: whose edition it is.
#[test]
fn an_edition_after_builds_on_is_the_bases_only_beside_another() {
    let head = item("rulebook \"r\"\n  edition \"1\"\n  builds-on \"b\" edition \"2\"\n");
    assert_eq!(clauses(&head), ["Edition", "BuildsOn"]);
    let Clause::BuildsOn(_, Some(edition)) = &head.clauses[1].value else { panic!("{head:?}") };
    assert_eq!(edition.value, "2");
    let head = item("rulebook \"r\" builds-on \"b\" edition \"2\" edition \"3\"");
    assert!(matches!(&head.clauses[0].value, Clause::BuildsOn(_, Some(edition)) if edition.value == "2"));
    assert!(matches!(&head.clauses[1].value, Clause::Edition(edition) if edition.value == "3"));
    let head = item("rulebook \"r\"\n  builds-on \"b\"\n  edition \"2\"\n");
    assert!(matches!(&head.clauses[0].value, Clause::BuildsOn(_, None)));
    assert!(matches!(&head.clauses[1].value, Clause::Edition(edition) if edition.value == "2"));
}

// 10: a mix, and the clause `with`.
#[test]
fn with_after_an_expected_spray_is_a_mix_only_with_a_strength() {
    let worked = item("worked \"w\"\n  expect copper at reduced\n  with ordinary-day\n");
    assert_eq!(clauses(&worked), ["Expect", "With"]);
    let worked = item("worked \"w\"\n  expect copper at reduced with oil at thin\n  with ordinary-day\n");
    assert_eq!(clauses(&worked), ["Expect", "With"]);
    assert!(matches!(&worked.clauses[0].value, Clause::Expect(Expected::Spray(doses)) if doses.len() == 2));
}

// 11: how much a quantifier takes.
#[test]
fn some_panicles_takes_one_comparison_in_a_condition_and_all_in_a_measure() {
    let gate = item("gate a if some panicles with stage is marble and wet");
    assert!(matches!(&gate.clauses[0].value, Clause::If(Condition::All(parts)) if parts.len() == 2));
    let Node::Panicles(_, Condition::All(parts)) =
        *expression("some panicles with stage is marble and wet").node
    else {
        panic!()
    };
    assert_eq!(parts.len(), 2);
    let Node::Aggregate(Aggregate::Hours(Condition::All(parts)), _) =
        *expression("hours with a and b over last 3 h").node
    else {
        panic!()
    };
    assert_eq!(parts.len(), 2);
}

// 12: an `and` that joins no conditions.
#[test]
fn windows_hold_an_and_of_their_own() {
    let window = |text: &str| match *expression(text).node {
        Node::Aggregate(_, window) => format!("{:?}", window.value),
        other => panic!("{other:?}"),
    };
    assert!(window("highest temperature over today and next 2 days").starts_with("TodayAndNextDays"));
    assert!(
        window("days with peak at least 35 °C over last 7 days and today").starts_with("LastDaysAndToday")
    );
    assert!(window("hours with a and b over last 7 days and today").starts_with("LastDaysAndToday"));
    assert!(matches!(*expression("greater of a and b").node, Node::Pick(..)));
    let Node::Aggregate(_, window) = *expression("total rain over since 1 Jan to that day").node else {
        panic!()
    };
    assert!(matches!(window.value, Window::SinceDayOfYear(..)));
}

// 13: longer words before those they begin with.
#[test]
fn words_that_begin_alike_keep_apart() {
    let head = item("rulebook \"r\" in-force from 2026-11-01 to 2027-07-31 window at least 2 h within 72 h");
    assert_eq!(clauses(&head), ["InForce", "SprayWindow"]);
    for name in [
        "windy",
        "in-bloom",
        "holding",
        "lastly",
        "hours-wet",
        "no-rain",
        "d1",
        "h-b",
        "reduced",
        "total",
        "low",
    ] {
        let text = format!("figure {name} = 5");
        assert_eq!(item(&text).name.map(|name| name.value), Some(name));
    }
    for word in [
        "wind", "window", "in", "in-force", "hold", "holds", "last", "lasts", "harvest", "ha", "h", "spray",
        "fl",
    ] {
        refused(&format!("figure {word} = 5"));
    }
}

// 14: deep and long ones are refused, and the end is near for all.
#[test]
fn deep_parentheses_and_long_sums_are_refused_without_harm() {
    let deep = |depth: usize| format!("{}a{}", "(".repeat(depth), ")".repeat(depth));
    read(&format!("measure x = {}", deep(64)));
    read(&format!("gate a if {}", deep(64)));
    for depth in [65, 1000, 100_000] {
        refused(&format!("measure x = {}", deep(depth)));
        refused(&format!("gate a if {}", deep(depth)));
        refused(&format!("hourly x = {}", deep(depth)));
        refused(&format!("gate a if {} b", "(".repeat(depth)));
        refused(&format!("gate a if {} b", "not ".repeat(depth)));
    }
    let sum = |terms: usize| vec!["a"; terms].join(" + ");
    read(&format!("measure x = {}", sum(250)));
    refused(&format!("measure x = {}", sum(10_000)));
    refused(&format!("measure x = {}", vec!["a"; 10_000].join(" or else ")));
    refused(&format!("measure x = a{}", " rounded to 1".repeat(10_000)));
    let large = format!("gate a because \"{}\"\ngate b shuts copper\n", "x".repeat(5_000_000));
    let (tree, problems) = parse_text(&large, SourceId::default());
    assert_eq!((tree.items.len(), problems.len()), (1, 1));
    let (_, problems) = parse_text(&"x\n".repeat(1_000_000), SourceId::default());
    assert!(problems.len() <= 1002);
}
