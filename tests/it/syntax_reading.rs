//! Reading: where things stand, what texts say, which words are reserved, and what is left of a broken rulebook.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops where its own files are amiss")]

use bloomward::source::{SourceId, Sources, Span};
use bloomward::syntax::tree::{Clause, Item, ItemKind, Verb};
use bloomward::syntax::{parse, parse_text};

/// Reads a text in which nothing is wrong.
#[track_caller]
fn items(text: &str) -> Vec<Item<'_>> {
    let (tree, problems) = parse_text(text, SourceId::default());
    assert!(problems.is_empty(), "{text}\n{problems:?}");
    assert!(tree.unread.is_empty());
    tree.items
}

/// Returns the text of the one `because` of a gate.
#[track_caller]
fn because(quoted: &str) -> String {
    let text = format!("gate a\n  because {quoted}\n");
    match &items(&text)[0].clauses[0].value {
        Clause::Because(text) => text.value.clone(),
        other => panic!("{other:?}"),
    }
}

fn under(text: &str, span: Span) -> &str {
    &text[span.start as usize..span.end as usize]
}

#[test]
fn texts_resolve_escapes_and_fold_lines() {
    assert_eq!(because(r#""""#), "");
    assert_eq!(because(r#""a # b""#), "a # b");
    assert_eq!(because(r#""say \"no\", \\ and\nnext""#), "say \"no\", \\ and\nnext");
    assert_eq!(because("\"one  \t\n \n   two\""), "one two");
    assert_eq!(because("\"one\r\n  two\""), "one two");
    assert_eq!(because("\"two  blanks\""), "two  blanks");
    assert_eq!(because("\"\n  a\n  \""), " a ");
    assert_eq!(because("\"a\\n\n  b\""), "a\n b");
    assert_eq!(because(r#""\\n""#), "\\n");
}

#[test]
fn places_are_bytes_of_the_whole_file() {
    let text =
        "\u{feff}# é\r\nmeasure low \"Lowest\" = lowest temperature over last 3 nights  # c\r\n  cites é\r\n";
    let (tree, problems) = parse_text(text, SourceId(3));
    assert_eq!(problems.iter().map(|problem| under(text, problem.at)).collect::<Vec<_>>(), ["é"]);
    assert_eq!(tree.unread[0].name.value, "low");
    let text = text.replace("cites é", "cites é-x").replace("é-x", "palti-1974 \"é\"");
    let (tree, _) = parse_text(&text, SourceId(3));
    let low = &tree.items[0];
    assert_eq!(low.span.source, SourceId(3));
    assert!(
        under(&text, low.span).starts_with("measure low")
            && under(&text, low.span).ends_with("palti-1974 \"é\"")
    );
    assert_eq!(under(&text, low.word), "measure");
    assert_eq!(under(&text, low.name.unwrap().span), "low");
    assert_eq!(under(&text, low.label.as_ref().unwrap().span), "\"Lowest\"");
    assert_eq!(under(&text, low.clauses[0].span), "lowest temperature over last 3 nights");
    assert_eq!(under(&text, low.clauses[1].span), "cites palti-1974 \"é\"");
}

#[test]
fn the_first_column_alone_begins_an_item() {
    let found =
        items("# a comment\n\ngate a\n\tshuts copper\n# in the first column\n  if b\n\ngate c # behind\n");
    assert_eq!(found.iter().map(|item| item.clauses.len()).collect::<Vec<_>>(), [2, 0]);
    assert!(items("").is_empty() && items("\u{feff}").is_empty() && items("# only a comment").is_empty());
    // A text does not reach over the first column of another line.
    let (tree, problems) = parse_text("gate a\n  because \"one\ngate b\n", SourceId::default());
    assert_eq!((tree.items.len(), problems.len()), (1, 1));
}

#[test]
fn overlays_name_what_they_replace_and_omit() {
    let found = items(
        "replace gate a\n  shuts b\nomit measure c\n  because \"d\"\nomit worked \"e\" because \"f\"\n\
         omit caution \"g,\n  h\" because \"i\"\n",
    );
    let verbs: Vec<_> = found.iter().map(|item| (item.verb, item.kind)).collect();
    let expected = [
        (Verb::Replace, ItemKind::Gate),
        (Verb::Omit, ItemKind::Measure),
        (Verb::Omit, ItemKind::Worked),
        (Verb::Omit, ItemKind::Caution),
    ];
    assert_eq!(verbs, expected);
    assert_eq!(found[1].name.unwrap().value, "c");
    assert_eq!(found[2].label.as_ref().unwrap().value, "e");
    assert_eq!(found[3].label.as_ref().unwrap().value, "g, h");
}

#[test]
fn a_broken_item_hides_no_other_and_leaves_its_name() {
    let text = "gate a\n  shuts\nreplace measure b = ((\nbans c\n  if d\ngate e\n  shuts f\n";
    let mut sources = Sources::default();
    let id = sources.add("a.rulebook", text);
    let (tree, problems) = parse(&sources, id);
    assert_eq!(tree.items.len(), 1);
    let unread: Vec<_> = tree.unread.iter().map(|item| (item.kind, item.name.value)).collect();
    assert_eq!(unread, [(ItemKind::Gate, "a"), (ItemKind::Measure, "b")]);
    let lines: Vec<_> = problems.iter().map(|problem| sources.place(problem.at).line).collect();
    assert_eq!(lines, [2, 3, 4]);
}

#[test]
fn every_reserved_word_is_refused_as_a_name() {
    let series = "temperature humidity dew-point wet-bulb delta-t vapour-deficit rain wind gust leaf-wet clock daylight \
                  after-sunrise after-sunset";
    let clauses = "crop region edition in-force season builds-on window gaps accuracy contact caution tightens because \
                   cites recalled kind of range ask how lasts assume days valid gives between beyond otherwise over waits \
                   starts add kept reset levels active group contains against class strength label shuts holds if unless \
                   in advise outranks within recheck do says whenever never only with take expect hours as-of";
    let few = "and or not is at from to above below yes no any unknown empty hold look undecided uncovered spray spraying \
               last harvest";
    let units = "mm cm m km in ft mph ac ha fl gal qt pt lb oz kg g mg h d min ppm";
    let items = ItemKind::ALL.iter().map(|kind| kind.word()).chain(["replace", "omit"]);
    let words = [series, clauses, few, units].into_iter().flat_map(str::split_whitespace).chain(items);
    for word in words {
        let text = format!("figure {word} = 5");
        let (_, problems) = parse_text(&text, SourceId::default());
        let said = problems.iter().any(|problem| problem.message.starts_with(&format!("`{word}` is a ")));
        assert!(said, "{word}: {problems:?}");
        let joined = format!("figure {word}-x = 5\nfigure x-{word} = 5");
        assert!(parse_text(&joined, SourceId::default()).1.is_empty(), "{joined}");
    }
    // Every other word of the language can be a name.
    for word in [
        "low",
        "high",
        "total",
        "mean",
        "lowest",
        "longest",
        "latest",
        "nights",
        "today",
        "tonight",
        "since",
        "this",
        "that",
        "grove",
        "block",
        "tree",
        "panicles",
        "good",
        "organic",
        "sulfur",
        "date",
        "text",
        "share",
        "count",
        "least",
        "most",
        "by",
        "allowed",
        "shut",
        "year",
        "interval",
        "for",
        "begin",
        "some",
        "all",
        "days-since",
        "else",
        "next",
        "row",
    ] {
        let text = format!("figure {word} = 5\nmeasure x = {word} + {word}\ngate a if {word} above {word}");
        assert!(parse_text(&text, SourceId::default()).1.is_empty(), "{text}");
    }
}

#[test]
fn every_clause_belongs_to_its_items_only() {
    // Each clause once, with the items that have it.
    let clauses = [
        ("tightens", "rulebook"),
        ("recalled", "source"),
        ("kind share", "observe"),
        ("lasts 4 d", "observe"),
        ("days begin 11:00", "daily"),
        ("valid if a", "daily measure"),
        ("gives share", "table"),
        ("otherwise 5", "table"),
        ("starts 5", "tally"),
        ("reset if a", "tally"),
        ("levels a, b", "band"),
        ("caution \"a\"", "rulebook product"),
        ("strength a 5 g/L", "product"),
        ("shuts a", "gate"),
        ("holds a to b", "gate"),
        ("in hours when a", "gate prefer"),
        ("if a", "gate choice task warning"),
        ("unless a", "gate choice task warning"),
        ("advise a at b", "choice"),
        ("or else hold", "choice"),
        ("how \"a\"", "observe choice"),
        ("do \"a\"", "task"),
        ("says \"a\"", "warning"),
        ("whenever a", "promise"),
        ("with a", "worked"),
        ("take a 5", "worked setting"),
        ("expect hold", "worked"),
        (
            "because \"a\"",
            "scale figure observe hourly daily measure table tally band product gate prefer choice task warning always \
             promise worked setting",
        ),
    ];
    for kind in ItemKind::ALL {
        let head = match kind {
            ItemKind::Rulebook | ItemKind::Worked => format!("{} \"a\"", kind.word()),
            ItemKind::Source => "source a \"b\"".to_owned(),
            ItemKind::Figure | ItemKind::Hourly | ItemKind::Daily | ItemKind::Measure => {
                format!("{} a = b", kind.word())
            }
            _ => format!("{} a", kind.word()),
        };
        for (clause, owners) in clauses {
            let text = format!("{head}\n  {clause}\n");
            let (_, problems) = parse_text(&text, SourceId::default());
            let belongs = owners.split_whitespace().any(|owner| owner == kind.word());
            assert_eq!(problems.is_empty(), belongs, "{text}{problems:?}");
        }
    }
}
