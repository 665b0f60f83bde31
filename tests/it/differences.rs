//! Two rulebooks compared: what means the same is proved the same, and every difference is where it is said to be.

use crate::cli::{folder, ran};
use crate::proofs::plan;
use bloomward::prove::BUDGET;
use bloomward::prove::compare::way::Way;
use bloomward::prove::compare::{Comparison, Direction, Regions, compare};
use serde_json::Value;

const BASIS: &str = "observe heat\n  kind temperature\n  range from 0 °C to 50 °C\n\
    observe mildew\n  kind share\n\
    observe spots\n  kind count\n  range from 0 to 9\n\
    product copper\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\
    product sulfur\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n";

const RULES: &str = "figure hot = 30 °C\n\
    measure doubled = mildew * 2\n\
    band danger\n  levels low, great\n  great if doubled above 20 % and spots at least 2\n  because \"made\"\n  cites own\n\
    gate heat-gate\n  shuts sulfur\n  if heat at least hot\n  cites own\n\
    choice fight\n  advise sulfur at high\n  or else copper at low\n  if danger is great\n  outranks rest\n  cites own\n\
    choice rest\n  advise hold\n  cites own\n";

fn compared(old: &str, new: &str) -> Comparison {
    let (old, new) = (plan(&format!("{BASIS}{old}")), plan(&format!("{BASIS}{new}")));
    let comparison = compare(&old, &new, BUDGET, Regions::All);
    // Patched with whole changes, too, the old decisions are the new ones.
    assert_eq!(compare(&old, &new, BUDGET, Regions::One).unconfirmed, 0);
    assert_eq!(comparison.unconfirmed, 0);
    assert!(!comparison.spent);
    comparison
}

#[test]
fn what_means_the_same_in_other_words_is_the_same() {
    let same = |new: &str| {
        let comparison = compared(RULES, new);
        assert!(comparison.same, "{:?}", comparison.headlines);
        comparison
    };
    same(RULES);
    // Another unit of the same threshold.
    assert!(same(&RULES.replace("30 °C", "86 °F")).items.iter().all(|it| !it.in_meaning()));
    // De Morgan, and the order of a conjunction.
    same(
        &RULES.replace(
            "doubled above 20 % and spots at least 2",
            "not (spots below 2 or doubled at most 20 %)",
        ),
    );
    // A measure by another name, and by what it is computed from.
    let renamed = same(&RULES.replace("doubled", "twice"));
    assert!(renamed.items.iter().all(|it| !it.in_meaning()), "{:?}", renamed.items);
    same(&RULES.replace("doubled above 20 %", "mildew above 10 %"));
    // A choice split in two.
    let split = "choice fight-cool\n  advise sulfur at high\n  or else copper at low\n  if danger is great and heat below 20 °C\n  outranks rest\n  cites own\n\
                 choice fight\n  advise sulfur at high\n  or else copper at low\n  if danger is great and heat at least 20 °C\n  outranks rest\n  cites own\n";
    let from = RULES.find("choice fight").unwrap();
    let to = RULES.find("choice rest").unwrap();
    same(&format!("{}{split}{}", &RULES[..from], &RULES[to..]));
    // A strength by another name at the same amount.
    let (old, new) = (format!("{BASIS}{RULES}"), format!("{BASIS}{RULES}").replace("high", "full"));
    assert!(compare(&plan(&old), &plan(&new), BUDGET, Regions::All).same);
}

#[test]
fn a_change_is_where_it_is_said_to_be_and_nowhere_else() {
    let comparison = compared(RULES, &RULES.replace("hot = 30 °C", "hot = 25 °C"));
    assert!(!comparison.same);
    assert_eq!(comparison.items.len(), 1, "{:?}", comparison.items);
    assert_eq!(comparison.items[0].item, "figure hot");
    assert_eq!(comparison.items[0].written, Some(("30 °C".to_owned(), "25 °C".to_owned())));
    for region in &comparison.regions {
        assert_eq!(
            (&*region.was.verdict, &*region.now.verdict),
            ("spray sulfur 2 g/L", "spray copper 1 g/L")
        );
        assert_eq!(region.because_of, ["gate heat-gate"]);
        assert_eq!(region.way, Way::OtherProduct);
        let heat = region.place.iter().find(|it| it.name == "heat").expect("it is the heat that changed");
        let [run] = &heat.runs[..] else { panic!("{heat:?}") };
        assert_eq!(run.from, Some(("25 °C".to_owned(), true)));
        assert_eq!(run.to, Some(("30 °C".to_owned(), false)));
        let value = region.situation.values["heat"]["value"].as_f64().expect("a number");
        assert!((25.0..30.0).contains(&value), "{value}");
    }
    // The same edit of an amount differs wherever the strength is advised.
    let (old, new) = (
        format!("{BASIS}{RULES}"),
        format!("{BASIS}{RULES}").replacen("strength low 1 g/L", "strength low 0.5 g/L", 1),
    );
    let amounts = compare(&plan(&old), &plan(&new), BUDGET, Regions::All);
    assert!(!amounts.same);
    for region in &amounts.regions {
        assert_eq!(
            (&*region.was.verdict, &*region.now.verdict),
            ("spray copper 1 g/L", "spray copper 0.5 g/L")
        );
        assert_eq!(region.direction, Direction::Weaker);
    }
}

/// A name stands at another place in each rulebook's list; numbers are found in its own unit all the same.
#[test]
fn situations_are_told_the_same_whatever_stands_before() {
    let old = format!("{BASIS}{RULES}");
    let new = old.replace("above 20 %", "above 30 %").replace("spots at least 2", "spots at least 4");
    let chill = "observe chill\n  kind temperature\n  range from 32 °F to 122 °F\n";
    let told = |new: &str| -> Vec<_> {
        let comparison = compare(&plan(&old), &plan(new), BUDGET, Regions::All);
        comparison.regions.into_iter().map(|region| region.situation).collect()
    };
    let plain = told(&new);
    assert!(plain.iter().any(|it| it.values["mildew"]["value"] == 12));
    assert_eq!(told(&format!("{chill}{new}")), plain);
}

#[test]
fn words_alone_are_said_to_be_words() {
    let comparison = compared(RULES, &RULES.replace("because \"made\"", "because \"written\""));
    assert!(comparison.same);
    assert_eq!(
        comparison.items.iter().map(|it| (&*it.item, it.change.word())).collect::<Vec<_>>(),
        [("band danger", "words")]
    );
}

#[test]
fn the_command_compares_and_names_the_side_that_cannot_be_read() {
    let folder = folder("the_command_compares");
    let write = |name: &str, rules: &str| {
        let path = folder.join(name);
        let head = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n";
        std::fs::write(&path, format!("{head}{BASIS}{rules}")).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let old = write("old.rulebook", RULES);
    let new = write("new.rulebook", &RULES.replace("hot = 30 °C", "hot = 25 °C"));
    let bad = write("bad.rulebook", &RULES.replace("shuts sulfur", "shuts sulphur"));
    let (out, _) = ran(&["compare", &old, &old], 0);
    assert!(out.contains("The same verdicts and doses in every situation, proved."), "{out}");
    let (out, _) = ran(&["compare", &old, &new, "--width", "60"], 1);
    assert!(out.lines().skip(2).all(|line| line.chars().count() <= 60), "{out}");
    for words in ["gate heat-gate", "`figure hot`: 30 °C → 25 °C", "heat from 25 °C to below 30 °C"] {
        assert!(out.replace("\n            ", " ").contains(words), "{words}\n{out}");
    }
    let (out, _) = ran(&["compare", &old, &new, "--format", "json"], 1);
    let json: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(
        (&json["format"], &json["same"]),
        (&Value::from("bloomward.comparison/1"), &Value::from(false))
    );
    assert_eq!(json["regions"][0]["because_of"][0], "gate heat-gate");
    // In that heat `rest` decides where there is no danger.
    assert_eq!(
        (&json["headlines"][0]["except"], &json["headlines"][0]["except_by"][0]),
        (&true.into(), &"rest".into())
    );
    let (out, _) = ran(&["compare", &old, &new, "--width", "80"], 1);
    let is_one_row = out.lines().any(|line| line == "  sulfur 2 g/L → copper 1 g/L (other product)");
    assert!(is_one_row, "{out}");
    assert!(out.contains("1. `figure hot`: 30 °C → 25 °C\n") && out.contains("(`gate heat-gate`)"), "{out}");
    let (out, _) = ran(&["compare", &old, &new, "--format", "markdown"], 1);
    assert!(
        out.starts_with("### ") && out.contains("| sulfur 2 g/L | copper 1 g/L | other product |"),
        "{out}"
    );
    let (_, error) = ran(&["compare", &old, &bad], 2);
    assert!(
        error.contains("the new rulebook cannot be read") && error.contains("did you mean `sulfur`"),
        "{error}"
    );
}

#[test]
fn a_rehearsal_and_findings_for_tools() {
    let (out, _) = ran(&["rehearse", "rulebooks/base/mango.rulebook", "--format", "json"], 0);
    let json: Value = serde_json::from_str(&out).unwrap();
    let worked = json["worked"].as_array().unwrap();
    assert!(worked.len() > 40 && worked.iter().all(|it| it["passed"] == true));
    assert!(json["promises"].as_array().unwrap().iter().all(|it| it["kept"] == true));
    assert!(json["reach"].as_array().unwrap().iter().any(|it| it["both_ways"] == true));
    // SARIF 2.1.0, section 3: each result has a rule, a level, a message and a place in a file.
    let (out, _) = ran(&["proofread", "examples/broken/contradicts.rulebook", "--format", "sarif"], 1);
    let json: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(json["version"], "2.1.0");
    let results = json["runs"][0]["results"].as_array().unwrap();
    let conflict =
        results.iter().find(|it| it["ruleId"] == "conflict").expect("the guide contradicts itself");
    assert_eq!(conflict["level"], "error");
    let region = &conflict["locations"][0]["physicalLocation"]["region"];
    assert!(region["startLine"].as_u64().unwrap() > 1);
    assert!(!conflict["properties"]["situation"].as_object().unwrap().is_empty());
}

/// Hours, words and decisions are told apart in the first line.
#[test]
fn the_summary_names_hours_and_words() {
    let folder = folder("the_summary_names");
    let write = |name: &str, rules: &str| {
        let path = folder.join(name);
        let head = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n";
        std::fs::write(&path, format!("{head}{BASIS}{rules}")).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let hours = "gate windy\n  shuts spraying\n  in hours when wind above 15 km/h\n  because \"it drifts\"\n  cites own\n";
    let rules = format!("{RULES}{hours}");
    let old = write("old.rulebook", &rules);
    let summary = |rules: &str, status: i32| {
        let new = write("new.rulebook", rules);
        let (out, _) = ran(&["compare", &old, &new], status);
        out.lines()
            .skip_while(|line| !line.starts_with(['T', 'O', '1', '2']))
            .take_while(|line| !line.is_empty())
            .map(|line| line.trim().to_owned() + " ")
            .collect::<String>()
    };
    let proved = "The same verdicts and doses in every situation, proved; ";
    let same = format!(
        "1 item changes. {proved}a jug's own label, missing weather and the log are not part of it; "
    );
    assert_eq!(
        summary(&rules.replace("15 km/h", "12 km/h"), 1),
        format!("{same}fewer hours by gate windy. ")
    );
    assert_eq!(summary(&rules.replace("it drifts", "drift"), 0), format!("{proved}other words in 1 item. "));
    let both = rules.replace("15 km/h", "12 km/h").replace("hot = 30 °C", "hot = 25 °C");
    let said = summary(&both, 1);
    assert!(
        said.starts_with("2 items change. Other product (1 change of verdict); ")
            && said.ends_with("; fewer hours by gate windy. "),
        "{said}"
    );
}

/// The trees of a grove whose verdict changes stand in the region that they are in: each in one, since regions are disjoint, and
/// the region tells the same change.
#[test]
fn changed_trees_stand_in_one_region_each() {
    let top = env!("CARGO_MANIFEST_DIR");
    let text = std::fs::read_to_string(format!("{top}/rulebooks/humid-lowland.rulebook")).unwrap();
    let (before, choice) = text.split_at(text.find("choice protect-from-black-spot").unwrap());
    let changed = format!("{before}{}", choice.replacen("copper at full", "copper at reduced", 1));
    assert_ne!(changed, text);
    let folder = folder("changed_trees");
    std::fs::create_dir_all(folder.join("base")).unwrap();
    std::fs::copy(format!("{top}/rulebooks/base/mango.rulebook"), folder.join("base/mango.rulebook"))
        .unwrap();
    let paths = [("old", &text), ("new", &changed)].map(|(name, text)| {
        let path = folder.join(format!("{name}.rulebook"));
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    });
    let grove = format!("{top}/examples/mixed-grove");
    let (out, _) = ran(&["compare", &paths[0], &paths[1], "--on", &grove, "--format", "json"], 1);
    let found: Value = serde_json::from_str(&out).unwrap();
    let list = |value: &Value| value.as_array().unwrap().clone();
    assert_eq!(found["more_regions"], false);
    assert!(list(&found["trees"]).len() >= 5, "{out}");
    for tree in list(&found["trees"]) {
        assert_eq!(
            (&tree["was"], &tree["now"]),
            (&"spray copper 1200 ppm copper".into(), &"spray copper 600 ppm copper".into())
        );
        let regions = list(&found["regions"])
            .into_iter()
            .filter(|region| list(&region["trees"]).iter().any(|it| it["tree"] == tree["tree"]));
        let strengths: Vec<_> = regions
            .map(|it| (it["was"]["spray"][0]["strength"].clone(), it["now"]["spray"][0]["strength"].clone()))
            .collect();
        assert_eq!(strengths, [("full".into(), "reduced".into())], "{}", tree["tree"]);
    }
}

/// An overlay that leaves a caution of its base out differs by that item, and one that adds its own by that.
#[test]
fn a_caution_left_out_or_added_is_an_item() {
    let folder = folder("a_caution_left_out");
    let write = |name: &str, text: &str| {
        let path = folder.join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let base = "rulebook \"Base\"\n  caution \"Follow the label.\"\n  caution \"Wear gloves.\"\nsource own \"made\"\n";
    write("base.rulebook", &format!("{base}{BASIS}{RULES}"));
    let head = "rulebook \"Test\"\n  builds-on \"base.rulebook\"\n";
    let old = write("old.rulebook", head);
    let new =
        format!("{head}  caution \"Wear goggles.\"\nomit caution \"Wear gloves.\" because \"goggles do\"\n");
    let new = write("new.rulebook", &new);
    let (out, _) = ran(&["compare", &old, &new, "--format", "json"], 1);
    let json: Value = serde_json::from_str(&out).unwrap();
    let item = |it: &Value| format!("{} {}", it["change"].as_str().unwrap(), it["item"].as_str().unwrap());
    let items: Vec<String> = json["items"].as_array().unwrap().iter().map(item).collect();
    assert_eq!(items, ["omitted caution \"Wear gloves.\"", "added caution \"Wear goggles.\""]);
    let (out, _) = ran(&["compare", &old, &new, "--format", "markdown"], 1);
    assert!(out.contains("`caution \"Wear gloves.\"`: omitted"), "{out}");
    assert!(out.contains("left out because: goggles do"), "{out}");
    ran(&["compare", &old, &old], 0);
}

/// Trees are counted by what is sprayed, as everything else is: a strength that becomes more changes them, another name of the
/// same amount does not.
#[test]
fn trees_are_counted_by_figures() {
    let folder = folder("trees_by_figures");
    let head = "rulebook \"T\"\n  caution \"x\"\nsource own \"made\"\n";
    let write = |name: &str, rules: &str| {
        let path = folder.join(name);
        std::fs::write(&path, format!("{head}{rules}")).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let rules = format!(
        "{BASIS}choice fight\n  advise sulfur at high\n  if spots at least 2\n  outranks rest\n  cites own\n\
         choice rest\n  advise hold\n  cites own\n"
    );
    let old = write("old.rulebook", &rules);
    let sulfur = rules.find("product sulfur").unwrap();
    let (before, rest) = rules.split_at(sulfur);
    let more = write("more.rulebook", &format!("{before}{}", rest.replacen("high 2 g/L", "high 3 g/L", 1)));
    let name = write("name.rulebook", &format!("{before}{}", rest.replace("high", "full")));
    let grove = "grove: T\nrulebook: old.rulebook\nsprays: none yet\nseen: 2027-02-10\nas-of: 2027-02-11T05:30\n\
        place: { latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }\n\
        trees:\n  - { tree: A1, spots: 3 }\n  - { tree: A2, spots: 0 }\n  - { tree: A3, spots: 4 }\n  - { tree: A4 }\n";
    std::fs::write(folder.join("grove.yaml"), grove).unwrap();
    let trees = |new: &str, status: i32| {
        let on = ["--on", folder.to_str().unwrap(), "--format", "json"];
        let (out, _) = ran(&[&["compare", &old, new], &on[..]].concat(), status);
        let json: Value = serde_json::from_str(&out).unwrap();
        let of = |tree: &Value, key: &str| tree[key].as_str().unwrap().to_owned();
        let trees = json["trees"].as_array().unwrap();
        trees.iter().map(|it| ["tree", "was", "now"].map(|key| of(it, key)).join(": ")).collect::<Vec<_>>()
    };
    let turn = |tree: &str| format!("{tree}: spray sulfur 2 g/L: spray sulfur 3 g/L");
    assert_eq!(trees(&more, 1), [turn("A1"), turn("A3")]);
    assert_eq!(trees(&name, 0), [""; 0]);
}
