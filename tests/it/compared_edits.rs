//! Each kind of edit of one book: the first screen of the page tells what the item said and what it says, and the page stays short.

use crate::cli::{folder, ran};

const BOOK: &str = r#"rulebook "Test"
  window at least 2 h within 72 h
  caution "Follow the label."
  caution "Wear gloves."

source own "made in 2020"

figure hot = 30 °C
  because "leaves burn"
  cites own

observe open
  kind share
  of panicles
  lasts 4 d

observe spots
  kind count
  range from 0 to 9
  lasts 5 d

hourly rain-to-come = total rain over 4 h after that hour

measure heat = highest temperature over today and next 2 days
measure in-bloom = some panicles with open above 20 %

product copper
  strength low 600 ppm copper
  strength full 1200 ppm copper
  contains copper
  class organic
  label interval at least 7 d
  label season at most 6 sprays
  label before-harvest at least 14 d
  label re-entry 48 h
  caution "Never with acids."
  cites own

product sulfur
  strength full 3 g/L
  cites own

gate pollen
  shuts copper, sulfur
  if in-bloom
  because "it kills pollen"
  cites own

gate burns
  shuts sulfur
  if heat at least hot
  unless spots at least 8
  because "it burns"
  cites own

gate gentle
  holds copper to low
  if spots at most 1
  because "little is enough"
  cites own

gate windy
  shuts spraying
  in hours when wind above 10 mph
  because "it drifts"
  cites own

gate rainy
  shuts spraying
  in hours when rain-to-come above 1 mm
  because "it washes off"
  cites own

prefer early
  in hours when clock from 05:00 to 08:00
  because "calm air"
  cites own

choice fight
  advise sulfur at full
  or else copper at full
  if spots at least 1
  outranks rest
  within 48 h
  recheck in 4 d
  cites own

choice rest
  advise hold
  cites own

task prune
  do "Cut out what is black"
  if spots at least 3
  cites own

warning visitors
  says "Flowers are visited"
  if in-bloom
  cites own

promise pollen-is-safe
  whenever in-bloom
  never copper
  because "pollen first"
  cites own
"#;

/// What is edited, into what, and the words of both sides.
type Edit = (&'static str, &'static str, [&'static str; 2]);

const PROTECTS: &[Edit] = &[
    (
        "  if in-bloom\n  because \"it k",
        "  if in-bloom and spots below 5\n  because \"it k",
        ["was: if in-bloom", "now: if in-bloom and spots below 5"],
    ),
    (
        "  unless spots at least 8",
        "  unless spots at least 6",
        ["was: unless spots at least 8", "now: unless spots at least 6"],
    ),
    ("  shuts copper, sulfur\n", "  shuts copper\n", ["was: shuts copper, sulfur", "now: shuts copper"]),
    (
        "  holds copper to low",
        "  holds copper to full",
        ["was: copper held to 600 ppm copper", "now: copper held to 1200 ppm copper"],
    ),
    (
        "gate burns\n  shuts sulfur\n  if heat at least hot\n  unless spots at least 8\n  because \"it burns\"\n  cites own\n",
        "",
        ["was: shuts sulfur; if heat at least hot; unless spots at least 8", "now: gone"],
    ),
    ("figure hot = 30 °C", "figure hot = 33 °C", ["was: 30 °C", "now: 33 °C"]),
    (
        "when wind above 10 mph",
        "when wind above 14 mph",
        ["was: in hours when wind above 10 mph", "now: in hours when wind above 14 mph"],
    ),
    (
        "over 4 h after",
        "over 2 h after",
        ["total rain over 4 h after that hour", "total rain over 2 h after that hour"],
    ),
    (
        "interval at least 7 d",
        "interval at least 5 d",
        ["was: interval at least 7 d", "now: interval at least 5 d"],
    ),
    ("  label season at most 6 sprays\n", "", ["was: season at most 6 sprays", "now: gone"]),
    (
        "before-harvest at least 14 d",
        "before-harvest at least 7 d",
        ["was: before-harvest at least 14 d", "now: before-harvest at least 7 d"],
    ),
    ("re-entry 48 h", "re-entry 4 h", ["was: 48 h", "now: 4 h"]),
    ("  label re-entry 48 h\n", "", ["was: 48 h", "now: gone"]),
    ("  caution \"Wear gloves.\"\n", "", ["`caution \"Wear gloves.\"`", "omitted"]),
    ("  caution \"Never with acids.\"\n", "", ["`caution of copper \"Never with acids.\"`", "omitted"]),
    ("  never copper\n", "  never copper above low\n", ["was: never copper", "now: never copper above low"]),
    ("lasts 5 d", "lasts 50 d", ["was: lasts 5 d", "now: lasts 50 d"]),
    ("  lasts 4 d\n", "  lasts 4 d\n  assume 0 %\n", ["was: none", "now: assume 0 %"]),
    (
        "task prune\n  do \"Cut out what is black\"\n  if spots at least 3\n  cites own\n",
        "",
        ["was: do \"Cut out what is black\"; if spots at least 3", "now: gone"],
    ),
];

const OTHERS: &[Edit] = &[
    ("recheck in 4 d", "recheck in 14 d", ["recheck in 4 d", "→ recheck in 14 d"]),
    ("within 48 h\n", "within 24 h\n", ["within 48 h", "→ within 24 h"]),
    ("2 h within 72 h", "1 h within 48 h", ["at least 2 h within 72 h", "at least 1 h within 48 h"]),
    ("range from 0 to 9", "range from 0 to 12", ["range from 0 to 9", "range from 0 to 12"]),
    ("  class organic\n", "", ["organic", "→ none"]),
    ("made in 2020", "made in 2021", ["made in 2020", "made in 2021"]),
    ("Flowers are visited", "Bees are about", ["says \"Flowers are visited\"", "says \"Bees are about\""]),
    (
        "clock from 05:00 to 08:00",
        "clock from 05:00 to 09:00",
        ["clock from 05:00 to 08:00", "clock from 05:00 to 09:00"],
    ),
    (
        "prefer early",
        "gate school\n  shuts spraying\n  in hours when clock from 07:00 to 15:00\n  because \"children\"\n  cites own\n\nprefer early",
        ["none →", "shuts spraying; in hours when clock from 07:00 to 15:00"],
    ),
];

/// Compares the book with what becomes of it by some edits.
#[track_caller]
fn page(name: &str, format: &str, edits: &[(&str, &str)]) -> String {
    let folder = folder(name);
    let mut new = BOOK.to_owned();
    for (from, to) in edits {
        assert_eq!(new.matches(from).count(), 1, "{from}");
        new = new.replace(from, to);
    }
    let [old, new] = [("old", BOOK), ("new", &new)].map(|(name, text)| {
        let path = folder.join(format!("{name}.rulebook"));
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    });
    ran(&["compare", &old, &new, "--format", format, "--width", "80"], 1).0
}

fn first_screen(page: &str) -> String {
    let lines: Vec<&str> = page.lines().take(24).collect();
    lines.join("\n").split_whitespace().collect::<Vec<&str>>().join(" ")
}

#[test]
fn what_protects_is_told_on_the_first_screen_with_both_sides() {
    for (from, to, sides) in PROTECTS {
        let page = page("first_screen_protects", "text", &[(from, to)]);
        let screen = first_screen(&page);
        assert!(screen.contains("What protects, weakened or gone"), "{from}\n{page}");
        for side in sides {
            assert!(screen.contains(side), "{side}\n{page}");
        }
        assert!(screen.contains("1 item changes."), "{page}");
    }
}

#[test]
fn every_other_kind_of_item_is_told_with_both_sides() {
    for (from, to, sides) in OTHERS {
        let text = page("first_screen_others", "text", &[(from, to)]);
        for side in sides {
            assert!(first_screen(&text).contains(side), "{side}\n{text}");
        }
        let markdown = page("first_screen_others", "markdown", &[(from, to)]);
        assert!(markdown.contains("| 1 | "), "{markdown}");
    }
}

/// What nobody edited is told by what was, and not for itself.
#[test]
fn an_edit_leads_and_what_follows_is_told_by_it() {
    let edit = [("open above 20 %", "open above 60 %")];
    let text = page("an_edit_leads", "text", &edit);
    let text = text.split_whitespace().collect::<Vec<&str>>().join(" ");
    assert!(
        text.contains(
            "`gate pollen`: no longer shuts copper and sulfur in some situations, by `measure in-bloom`"
        ),
        "{text}"
    );
    assert!(
        text.contains("`promise pollen-is-safe`: the same words stand for less, by `measure in-bloom`"),
        "{text}"
    );
    assert!(text.contains("1 item changes."), "{text}");
    assert!(text.contains("1. `measure in-bloom`"), "{text}");
    let json: serde_json::Value = serde_json::from_str(&page("an_edit_leads", "json", &edit)).unwrap();
    let of =
        |item: &str| json["items"].as_array().unwrap().iter().find(|it| it["item"] == item).unwrap().clone();
    assert_eq!(
        (&of("measure in-bloom")["edited"], &of("promise pollen-is-safe")["edited"]),
        (&true.into(), &false.into())
    );
    assert_eq!(of("promise pollen-is-safe")["edits"], serde_json::json!(["measure in-bloom"]));
    assert_eq!(json["headlines"][0]["edits"], serde_json::json!(["measure in-bloom"]));
    let opened =
        json["protection"].as_array().unwrap().iter().find(|it| it["item"] == "gate pollen").unwrap();
    assert_eq!(opened["edits"], serde_json::json!(["measure in-bloom"]));
}

/// Two edits that act together are told together once.
#[test]
fn edits_that_act_together_are_told_once() {
    let both = [
        ("  if in-bloom\n  because \"it k", "  if in-bloom and spots below 5\n  because \"it k"),
        ("figure hot = 30 °C", "figure hot = 33 °C"),
    ];
    let text = page("edits_together", "text", &both);
    let headings: Vec<&str> = text
        .lines()
        .filter(|line| line.starts_with('`') || line.starts_with(|sign: char| sign.is_ascii_digit()))
        .collect();
    let together = headings.iter().filter(|line| line.contains("together")).count();
    assert!(together <= 1 && text.contains("2 items change."), "{text}");
    let rows: Vec<&str> = text
        .lines()
        .filter(|line| line.contains(" → ") && line.starts_with("  ") && !line.contains("tree"))
        .collect();
    for row in &rows {
        assert_eq!(rows.iter().filter(|it| it == &row).count(), 1, "{text}");
    }
}

/// The text of every item that was edited stands folded below.
#[test]
fn the_texts_of_items_are_folded() {
    let gate = "gate school\n  shuts spraying\n  in hours when clock from 07:00 to 15:00\n  because \"children\"\n  cites own\n\nprefer early";
    let page = page("texts_folded", "markdown", &[("prefer early", gate)]);
    let (_, folded) = page.split_once("<details><summary>Text of the items</summary>").unwrap();
    assert!(folded.contains("now: gate school shuts spraying in hours when clock from 07:00 to 15:00 because \"children\" cites own"), "{page}");
}

/// Open hours are compared exactly: each kind of change of a gate of hours is known by which way it moves them.
#[test]
fn hours_are_more_or_fewer_whatever_of_them_was_edited() {
    let wind = "in hours when wind above 10 mph";
    let rain = "rain-to-come above 1 mm";
    let shuts = "gate windy\n  shuts spraying\n";
    type Edits<'e> = &'e [(&'e str, &'e str)];
    let cases: &[(&str, Edits<'_>, &str)] = &[
        ("windy", &[(wind, "in hours when wind above 12 mph")], "more hours"),
        ("windy", &[(wind, "in hours when wind above 8 mph")], "fewer hours"),
        ("windy", &[(wind, "in hours when wind above 10 mph or clock from 12:00 to 14:00")], "fewer hours"),
        ("windy", &[(wind, "in hours when wind above 10 mph and daylight")], "more hours"),
        ("windy", &[(wind, "in hours when gust above 10 mph")], ""),
        ("windy", &[(wind, "in hours when wind above 10 mph\n  if spots at least 1")], "more hours"),
        ("windy", &[(shuts, "gate windy\n  shuts copper\n")], "more hours"),
        // An hourly definition that changed is one quantity under two definitions.
        ("rainy", &[("over 4 h after", "over 2 h after")], "more hours"),
        ("rainy", &[("over 4 h after", "over 6 h after")], "fewer hours"),
        ("rainy", &[(rain, "rain-to-come above 2 mm")], "more hours"),
        ("rainy", &[("over 4 h after", "over 2 h after"), (rain, "rain-to-come above 2 mm")], "more hours"),
        (
            "rainy",
            &[("over 4 h after", "over 6 h after"), (rain, "rain-to-come above 0.5 mm")],
            "fewer hours",
        ),
        ("rainy", &[("over 4 h after", "over 2 h after"), (rain, "rain-to-come above 0.5 mm")], ""),
        ("rainy", &[("total rain over 4 h after", "highest rain over 4 h after")], ""),
    ];
    for (gate, edits, way) in cases {
        let json: serde_json::Value = serde_json::from_str(&page("hours_moved", "json", edits)).unwrap();
        let items = json["items"].as_array().unwrap();
        let item = items.iter().find(|it| it["item"] == format!("gate {gate}")).unwrap();
        assert_eq!(json["same"], false);
        assert_eq!(item["direction"].as_str().unwrap_or_default(), *way, "{edits:?}\n{json:#}");
    }
}
