//! Sprays of the log that broke a label (design: "A spray that broke a label is recorded all the same, and said so").

use super::case::{Case, case};

/// Copper and oil with a label of each kind.
pub const BOOK: &str = "
product copper
  contains copper
  strength reduced 600 ppm copper
  strength full 1200 ppm copper
  label interval at least 7 d
  label season at most 3 sprays
  label season at most 4 lb / ac copper
  label single at most 3 lb / ac copper
  label before-harvest at least 5 d
  label apart from oil at least 14 d
  cites own
product oil
  strength thin 10 mL/L
  cites own
choice rest
  advise hold
  because \"x\"
  cites own
";

/// The season began on 1 January. 480 ft² of land a tree.
const KEYS: &str = "shed:\n  copper: { name: c, registration: demo-0001, form: powder, contains: { copper: 50 % } }\n\
    blocks:\n  - { block: b, spacing: 24 ft x 20 ft }\n\
    trees:\n  - { tree: A1, block: b, cultivar: Kent }\n  - { tree: A2, block: b, cultivar: Kent }\n";

fn logged(keys: &str, rows: &str) -> Case {
    case(BOOK, keys).sprays(format!("start,end,on,product,strength,rate\n{rows}"))
}

#[track_caller]
fn notes(logged: &Case) -> Vec<String> {
    let advice = logged.advise();
    let all = advice["notes"].as_array().unwrap().iter();
    all.map(|note| note.as_str().unwrap().to_string())
        .filter(|note| note.contains("broke the label"))
        .collect()
}

fn spray(day: &str, on: &str, what: &str) -> String {
    format!("2027-{day}T05:00,2027-{day}T06:00,{on},{what}\n")
}

#[test]
fn each_line_of_a_label_that_was_broken_is_said_at_its_row() {
    let ends = "; it counts all the same";
    let of = |rows: &[String]| notes(&logged(KEYS, &rows.concat()));
    // The seventh day after is allowed, the sixth is not; each is said once, not tree by tree.
    assert_eq!(
        of(&[spray("01-10", "grove", "copper,,1 lb/ac"), spray("01-17", "grove", "copper,,1 lb/ac")]),
        [""; 0]
    );
    assert_eq!(
        of(&[spray("01-10", "grove", "copper,,1 lb/ac"), spray("01-16", "grove", "copper,,1 lb/ac")]),
        [format!(
            "sprays.csv:3:1: `copper` broke the label of `copper` here, interval at least 7 d: copper was sprayed 6 d \
             before, on 2027-01-10{ends}"
        )]
    );
    // Other trees are other trees.
    assert_eq!(
        of(&[spray("01-10", "A1", "copper,,1 lb/ac"), spray("01-16", "A2", "copper,,1 lb/ac")]),
        [""; 0]
    );
    let four: Vec<String> = ["01-05", "01-13", "01-21", "01-29"]
        .iter()
        .map(|day| spray(day, "grove", "copper,,1 lb/ac"))
        .collect();
    assert_eq!(
        of(&four),
        [format!(
            "sprays.csv:5:1: `copper` broke the label of `copper` here, season at most 3 sprays: it was spray number 4{ends}"
        )]
    );
    // Apart speaks both ways, and of one tank.
    let apart = "apart from oil at least 14 d";
    assert_eq!(
        of(&[spray("01-10", "grove", "copper,,1 lb/ac"), spray("01-20", "grove", "oil,thin,")]),
        [format!(
            "sprays.csv:3:1: `oil` broke the label of `copper` here, {apart}: copper was sprayed 10 d before, on \
             2027-01-10{ends}"
        )]
    );
    let tank = of(&[spray("01-10", "grove", "copper with oil,reduced with thin,")]);
    assert_eq!(
        tank,
        [format!(
            "sprays.csv:2:1: `copper` broke the label of `copper` here, {apart}: it was in one tank with oil{ends}"
        )]
    );
}

/// Half of the powder is copper: 7 lb of it hold 3.5 lb, above 3 lb at once; 3 lb and 6 lb hold 4.5 lb together, above 4.
#[test]
fn caps_on_amounts_are_counted_from_rate_and_jug() {
    let of = |rows: &[String]| notes(&logged(KEYS, &rows.concat()));
    let single = of(&[spray("01-10", "grove", "copper,,7 lb/ac")]);
    assert_eq!(single.len(), 1, "{single:?}");
    assert!(single[0].contains("single at most 3 lb / ac copper: it was 1.17 times as much"), "{single:?}");
    let season =
        of(&[spray("01-10", "grove", "copper,,3 lb/ac"), spray("01-20", "grove", "copper,,6 lb/ac")]);
    assert_eq!(season.len(), 1, "{season:?}");
    assert!(season[0].starts_with("sprays.csv:3:1"), "{season:?}");
    assert!(
        season[0].contains("season at most 4 lb / ac copper: 4.5 lb / ac were put on with it"),
        "{season:?}"
    );
    // At the cap, and where a row does not say how much, nothing is said.
    assert_eq!(
        of(&[spray("01-10", "grove", "copper,,2 lb/ac"), spray("01-20", "grove", "copper,,6 lb/ac")]),
        [""; 0]
    );
    assert_eq!(of(&[spray("01-10", "grove", "copper,full,")]), [""; 0]);
}

#[test]
fn the_harvest_counts_until_it_is_over_and_older_seasons_are_past() {
    let with = |harvest: &str, rows: &str| notes(&logged(&format!("harvest: {harvest}\n{KEYS}"), rows));
    let row = spray("02-05", "grove", "copper,,1 lb/ac");
    let broken = with("2027-02-09", &row);
    assert_eq!(broken.len(), 1, "{broken:?}");
    assert!(
        broken[0].contains("before-harvest at least 5 d: the harvest is 4 d after, on 2027-02-09"),
        "{broken:?}"
    );
    assert_eq!(with("2027-02-10", &row), [""; 0]);
    assert_eq!(with("2027-02-04", &row), [""; 0]);
    let old =
        ["2026-05-01", "2026-05-02"].map(|day| format!("{day}T05:00,{day}T06:00,grove,copper,,1 lb/ac\n"));
    assert_eq!(with("2027-06-20", &old.concat()), [""; 0]);
}

/// Of two jugs of a product the label of that one counts out of which the spray was.
#[test]
fn a_spray_is_held_against_the_label_of_its_own_jug() {
    let jugs = "shed:\n  copper:\n\
        \x20   - { name: old, registration: demo-0001, form: powder, contains: { copper: 50 % } }\n\
        \x20   - { name: new, registration: demo-0002, form: powder, contains: { copper: 50 % }, interval: 9 d }\n";
    let keys = format!("{jugs}{}", &KEYS[KEYS.find("blocks").unwrap()..]);
    let of = |jug: &str| {
        let row = |day: &str| format!("2027-{day}T05:00,2027-{day}T06:00,grove,copper,{jug},1 lb/ac\n");
        let log = format!("start,end,on,product,jug,rate\n{}{}", row("01-10"), row("01-18"));
        notes(&case(BOOK, &keys).sprays(log))
    };
    assert_eq!(of("old"), [""; 0]);
    let [note] = &of("new")[..] else { panic!("{:?}", of("new")) };
    assert!(note.contains("interval at least 9 d: copper was sprayed 8 d before"), "{note}");
}

/// A jug's count of sprays counts beside the rulebook's cap on amounts, whichever of its lines stands first.
#[test]
fn a_jugs_count_of_sprays_is_not_lost_behind_a_cap_on_amounts() {
    let book = |lines: &str| {
        format!(
            "product copper\n  contains copper\n  strength full 1200 ppm copper\n{lines}  cites own\n\
             choice treat\n  advise copper at full\n  because \"x\"\n  cites own\n"
        )
    };
    let cap = "  label season at most 4 lb / ac copper\n";
    let count = "  label season at most 3 sprays\n";
    let keys = "shed:\n  copper: { name: c, form: powder, contains: { copper: 50 % }, season: 1 sprays }\n\
        sprayer: { kind: handgun, tank: 25 gal, per-tree: 1.5 gal, pace: 25 gal / h, fill: 15 min }\n\
        blocks:\n  - { block: b, spacing: 24 ft x 20 ft }\n\
        trees:\n  - { tree: A1, block: b, cultivar: Kent }\n";
    for lines in [format!("{count}{cap}"), format!("{cap}{count}"), cap.to_owned(), count.to_owned()] {
        let rows = spray("01-10", "grove", "copper,,0.1 lb/ac");
        let sprays = format!("start,end,on,product,strength,rate\n{rows}");
        let advice = case(&book(&lines), keys).sprays(sprays).advise();
        assert_eq!(advice["trees"][0]["verdict"], "hold", "{lines}{advice:#}");
    }
}
