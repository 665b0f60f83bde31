//! `ask`: only what would change a decision, in walking order, what settles most first, and not before people may go in.

use crate::cli::{folder, ran};
use serde_json::Value;
use std::fs;
use std::path::Path;

const BOOK: &str = r#"rulebook "Asking"
  caution "For tests only."
observe bees-about "bees about"
  kind yes-no
  of   grove
  ask  "Do bees fly?"
observe wet-place "wet place"
  kind yes-no
  of   block
observe mildew "mildew"
  kind share
  how  "Look at twenty panicles"
product water
  strength plain 1 g/L
  label re-entry 24 h
  cites common-practice
gate bees
  shuts spraying
  if bees-about
  cites common-practice
gate wet
  shuts spraying
  if wet-place
  cites common-practice
choice fight
  advise water at plain
  if mildew at least 10 %
  cites common-practice
choice wait
  advise hold
  if mildew below 10 %
  cites common-practice
"#;

/// A grove of two blocks with these trees.
fn grove(test: &str, trees: &str, sprays: &str) -> String {
    let folder = folder(test);
    let dry = "seen: 2027-02-10, wet-place: no";
    fs::write(folder.join("asking.rulebook"), BOOK).unwrap();
    let yaml = format!(
        "grove: Asking\nrulebook: asking.rulebook\nas-of: 2027-02-11T05:30\nsprays: sprays.csv\n\
         place: {{ latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }}\n\
         blocks:\n  - {{ block: low, {dry} }}\n  - {{ block: high, {dry} }}\ntrees:\n{trees}"
    );
    fs::write(folder.join("grove.yaml"), yaml).unwrap();
    let head = "start,end,on,product,strength\n";
    fs::write(folder.join("sprays.csv"), format!("{head}{sprays}")).unwrap();
    folder.to_str().unwrap().to_string()
}

fn tree(name: &str, block: &str, seen: &str) -> String {
    let seen = if seen.is_empty() { String::new() } else { format!(", seen: 2027-02-10, {seen}") };
    format!("  - {{ tree: {name}, block: {block}{seen} }}\n")
}

#[track_caller]
fn json(grove: &str) -> Value {
    serde_json::from_str(&ran(&["ask", grove, "--format", "json"], 0).0).unwrap()
}

#[test]
fn one_look_that_settles_many_stands_first() {
    // The bees are not known: three trees with mildew hang on them alone, one without does not.
    let trees = [
        tree("A1", "low", "mildew: 5 of 20"),
        tree("A2", "low", "mildew: 5 of 20"),
        tree("A3", "low", "mildew: 0 of 20"),
        tree("B1", "high", "mildew: 5 of 20"),
        tree("B2", "high", ""),
    ];
    let grove = grove("ask_first", &trees.concat(), "");
    let ask = json(&grove);
    assert_eq!(ask["format"], "bloomward.ask/1");
    assert_eq!(
        ask["first"],
        serde_json::json!({ "need": "bees-about", "at": "grove", "settles": 3, "waiting": 4 })
    );
    let stops = ask["stops"].as_array().unwrap();
    assert_eq!(stops[0]["trees"], serde_json::json!(["A1", "A2", "B1"]));
    assert_eq!(stops[0]["needs"], serde_json::json!(["bees-about"]));
    assert_eq!(stops[1]["trees"], serde_json::json!(["B2"]));
    assert_eq!(stops[1]["needs"], serde_json::json!(["bees-about", "mildew"]));
    let (page, _) = ran(&["ask", &grove], 0);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("bees about, once, for the whole grove: it settles 3 trees by itself"), "{page}");
    assert!(page.contains("bees about: no: spray water (plain rate)"), "{page}");
}

#[test]
fn stops_are_those_of_the_advice_in_walking_order() {
    for example in ["examples/mixed-grove", "examples/garden", "examples/southern"] {
        let ask = json(example);
        let (advice, _) = ran(&["advise", example, "--format", "json"], 0);
        let advice: Value = serde_json::from_str(&advice).unwrap();
        let trees = advice["trees"].as_array().unwrap();
        let looked: Vec<&Value> = trees.iter().filter(|tree| tree["verdict"] == "look").collect();
        let stops = ask["stops"].as_array().unwrap();
        let of = |tree: &Value| {
            stops.iter().find(|stop| stop["trees"].as_array().unwrap().contains(&tree["tree"]))
        };
        for tree in &looked {
            let stop = of(tree).unwrap_or_else(|| panic!("{example}: {tree}"));
            for key in ["needs", "answers", "safe", "keep_out_until"] {
                assert_eq!(stop[key], tree[key], "{example}: {key}");
            }
        }
        let asked: usize = stops.iter().map(|stop| stop["trees"].as_array().unwrap().len()).sum();
        assert_eq!(asked, looked.len(), "{example}");
        let place = |name: &Value| trees.iter().position(|tree| tree["tree"] == *name).unwrap();
        let firsts: Vec<usize> = stops.iter().map(|stop| place(&stop["trees"][0])).collect();
        assert!(firsts.is_sorted(), "{example}");
    }
}

#[test]
fn trees_that_people_keep_out_of_come_last_with_the_hour() {
    let trees = [tree("A1", "low", ""), tree("A2", "low", ""), tree("B1", "high", "")];
    let sprays = "2027-02-10T17:00,2027-02-10T18:00,A1,water,plain\n";
    let ask = json(&grove("ask_keep_out", &trees.concat(), sprays));
    let stops = ask["stops"].as_array().unwrap();
    let of = |at: usize| (stops[at]["trees"].clone(), stops[at]["keep_out_until"].clone());
    assert_eq!(of(0), (serde_json::json!(["A2", "B1"]), Value::Null));
    // 24 h from the end of the spray.
    assert_eq!(of(1), (serde_json::json!(["A1"]), "2027-02-11T18:00:00-04:00".into()));
}

#[test]
fn nothing_is_asked_where_nothing_would_change() {
    let grove = grove("ask_nothing", &tree("A1", "low", "mildew: 0 of 20"), "");
    let (page, _) = ran(&["ask", &grove], 0);
    assert!(page.contains("Nothing that can be looked at would change"), "{page}");
    assert_eq!(json(&grove)["first"], Value::Null);
}

#[test]
fn the_sheet_has_a_place_for_every_answer_and_keeps_its_width() {
    let grove = "examples/mixed-grove";
    for width in ["80", "40"] {
        for more in [&["--sheet"][..], &[], &["--language", "es", "--sheet"]] {
            let (page, _) = ran(&[&["ask", grove, "--width", width], more].concat(), 0);
            assert!(page.lines().all(|line| line.chars().count() <= width.parse().unwrap()), "{page}");
        }
    }
    let (sheet, _) = ran(&["ask", grove, "--sheet"], 0);
    for tree in ["C12", "H06", "H07", "H08", "H09", "H10"] {
        assert!(
            sheet.lines().any(|line| line.trim_start().starts_with(tree) && line.contains("____")),
            "{tree}"
        );
    }
    assert!(sheet.contains("full bloom 615–616"), "{sheet}");
    // Who cuts the sheet apart sees where a table begins.
    assert_eq!(sheet.matches("\n\n  Place ").count(), 2, "{sheet}");
    let (html, _) = ran(&["ask", grove, "--sheet", "--format", "html"], 0);
    // One place to write into at C12, eight at each of five trees, six at A14 and A15, last seen 19 days ago: their cover
    // is fresh, and mildew may be there all the same.
    assert_eq!(html.matches("<td></td>").count(), 1 + 5 * 8 + 2 * 6);
}

/// Rain that a forecast saw in hours that have passed is no rain that fell: it is not known, the head says so, `ask` asks
/// for the gauge, and what the gauge showed is known.
#[test]
fn the_gauge_is_asked_for_where_there_was_only_a_forecast() {
    let folder = folder("ask_gauge");
    let book = format!("{BOOK}measure washed = total rain over last 1 days\n  cites common-practice\n")
        .replace("if mildew at least 10 %", "if mildew at least 10 % and washed at least 10 mm")
        .replace("if mildew below 10 %", "if mildew below 10 % or washed below 10 mm");
    fs::write(folder.join("asking.rulebook"), book).unwrap();
    let mut weather = "time,rain [mm]\n".to_string();
    for hour in 0..72 {
        let rain = if hour == 39 { 14 } else { 0 };
        weather += &format!("2027-02-{:02}T{:02}:00,{rain}\n", 9 + hour / 24, hour % 24);
    }
    fs::write(folder.join("weather.csv"), weather).unwrap();
    fs::write(folder.join("scouting.csv"), "when,who,on,mildew,rain,note\n2027-02-10,,A1,8 of 20,,\n")
        .unwrap();
    let yaml = |issued: &str| {
        let seen = "seen: 2027-02-10, wet-place: no";
        let text = format!(
            "grove: Asking\nrulebook: asking.rulebook\nas-of: 2027-02-11T05:30\nsprays: none yet\nunits: metric\n\
             scouting: scouting.csv\nweather: {{ file: weather.csv, forecast-issued: {issued} }}\n\
             place: {{ latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }}\n\
             blocks:\n  - {{ block: low, {seen} }}\ntrees:\n  - {{ tree: A1, block: low }}\n"
        );
        fs::write(folder.join("grove.yaml"), text).unwrap();
    };
    let path = folder.to_str().unwrap();
    let advice =
        || -> Value { serde_json::from_str(&ran(&["advise", path, "--format", "json"], 0).0).unwrap() };
    let verdict = |advice: &Value| advice["trees"][0]["verdict"].as_str().unwrap().to_string();
    yaml("2027-02-11T05:00");
    ran(&["scouted", path, "grove bees-about no"], 0);
    let measured = advice();
    assert_eq!((verdict(&measured), &measured["values"]["washed"]["value"]), ("spray".into(), &14.into()));
    assert_eq!(json(path)["gauge"], serde_json::json!([]));

    yaml("2027-02-10T12:00");
    let forecast = advice();
    assert_eq!(verdict(&forecast), "look");
    assert!(forecast["values"]["washed"]["unknown"].is_string(), "{}", forecast["values"]["washed"]);
    let told = "17 hours were forecast, have passed and were never measured, from 2027-02-10 12:00 to 2027-02-11 04:00";
    assert!(forecast["notes"].to_string().contains(told), "{}", forecast["notes"]);
    let (page, _) = ran(&["advise", "--long", path, "--width", "200"], 0);
    assert!(page.contains(told), "{page}");
    let asked = json(path);
    assert_eq!(asked["gauge"], serde_json::json!(["2027-02-10", "2027-02-11"]));
    for (language, words) in [
        ("en", "How much rain was in it on Wed 10 Feb 2027?"),
        ("es", "¿Cuánta lluvia hubo el mié. 10/feb/2027?"),
    ] {
        for sheet in [&[][..], &["--sheet"]] {
            let (page, _) =
                ran(&[&["ask", path, "--language", language, "--width", "200"], sheet].concat(), 0);
            assert!(page.contains(words) && page.contains("scouted 2027-02-10 rain 5 mm"), "{page}");
        }
    }

    ran(&["scouted", path, "2027-02-10 rain 5 mm"], 0);
    let gauged = advice();
    assert_eq!((verdict(&gauged), &gauged["values"]["washed"]["value"]), ("hold".into(), &5.into()));
    assert_eq!(json(path)["gauge"], serde_json::json!(["2027-02-11"]));

    // Of today only the hours up to now are asked for; what is told then is told of no later hour.
    let (page, _) = ran(&["ask", path, "--width", "200"], 0);
    assert!(
        page.contains("since midnight, Thu 11 Feb 2027?") && page.contains("scouted rain 5 mm"),
        "{page}"
    );
    ran(&["scouted", path, "rain 0 mm"], 0);
    assert_eq!(json(path)["gauge"], serde_json::json!([]));
    let evening = ["ask", path, "--as-of", "2027-02-11T10:00", "--format", "json"];
    let later: Value = serde_json::from_str(&ran(&evening, 0).0).unwrap();
    assert_eq!(later["gauge"], serde_json::json!(["2027-02-11"]));
}

/// A tree of which much is unknown is asked only what some answer to the first question leaves open: of A14, which copper
/// covers, at no stage the black lesions.
#[test]
fn a_tree_is_asked_its_own_questions_only() {
    let (out, _) = ran(&["ask", "examples/mixed-grove", "--tree", "A14", "--format", "json"], 0);
    let json: Value = serde_json::from_str(&out).unwrap();
    let needs = json["stops"][0]["needs"].as_array().unwrap();
    let expected = ["fruit-set", "fruit-size", "mildew", "open-flowers", "panicle-length", "stage"];
    assert_eq!(needs.iter().map(|need| need.as_str().unwrap()).collect::<Vec<_>>(), expected);
}

#[test]
fn a_sheet_that_nobody_wrote_down_is_asked_about_the_next_morning() {
    let path = folder("a_sheet_that_nobody_wrote_down").join("grove");
    let grove = path.to_str().unwrap();
    ran(&["start", grove, "--example", "mixed-grove"], 0);
    ran(&["sprayday", grove], 0);
    let sheets = |as_of: &str| {
        let (json, _) = ran(&["ask", grove, "--as-of", as_of, "--format", "json"], 0);
        let json: Value = serde_json::from_str(&json).unwrap();
        json["sheets"].as_array().unwrap().iter().map(|it| it.as_u64().unwrap()).collect::<Vec<_>>()
    };
    let today = sheets("2027-02-09T20:00");
    let open = sheets("2027-02-11T05:00");
    assert!(today.is_empty() && open.len() > 2, "{today:?} {open:?}");
    let (page, _) = ran(&["ask", grove, "--as-of", "2027-02-11T05:00"], 0);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("of Tue, Feb 9, 2027 sprayed?"), "{page}");
    let first = open[0].to_string();
    let (said, _) = ran(&["sprayed", grove, "--sheet", &first, "--not-done"], 0);
    assert_eq!(said, format!("Sheet {first} is kept as not sprayed.\n"));
    assert_eq!(sheets("2027-02-11T05:00"), open[1..]);
    // So long ago nobody knows any more.
    assert_eq!(sheets("2027-03-11T05:00"), Vec::<u64>::new());
    ran(&["sprayed", grove, "--sheet", "999", "--not-done"], 2);
}

#[test]
fn what_grows_old_is_asked_for_and_missing_hours_once() {
    let path = folder("what_grows_old_is_asked_for").join("grove");
    let grove = path.to_str().unwrap();
    ran(&["start", grove, "--example", "mixed-grove"], 0);
    let (page, _) = ran(&["ask", grove, "--as-of", "2027-02-20T05:00"], 0);
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(flat.matches("Hours are missing that").count(), 1, "{flat}");
    assert!(!flat.contains("the weather: the hours that"), "{flat}");
    // Every tree of which nothing is open and whose stage is older than it counts is named.
    let ask: Value =
        serde_json::from_str(&ran(&["ask", grove, "--as-of", "2027-02-20T05:00", "--format", "json"], 0).0)
            .unwrap();
    let again: Vec<&str> = ask["again"].as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect();
    let stops: Vec<&str> = ask["stops"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|stop| stop["trees"].as_array().unwrap())
        .map(|it| it.as_str().unwrap())
        .collect();
    assert!(again.iter().all(|tree| !stops.contains(tree)));
    assert_eq!(again.len() + stops.len(), 120, "{} {}", again.len(), stops.len());
    let (today, _) = ran(&["ask", grove], 0);
    assert!(!today.contains("Look again  \n"), "{today}");
}

#[test]
fn a_product_that_is_not_in_the_shed_is_said_to_be_missing() {
    let trees = tree("A1", "low", "mildew: 5 of 20");
    let grove = grove("not_in_the_shed", &trees, "");
    let page = |grove: &str| {
        let (page, _) = ran(&["ask", grove], 0);
        page.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(
        page(&grove).contains("no: spray water (plain rate)") && !page(&grove).contains("not in your shed")
    );
    let yaml = Path::new(&grove).join("grove.yaml");
    let text = fs::read_to_string(&yaml).unwrap();
    fs::write(&yaml, text + "shed:\n  other: { name: another powder, form: powder }\n").unwrap();
    let with = page(&grove);
    assert!(with.contains("spray water (plain rate) (water: not in your shed)"), "{with}");
}
