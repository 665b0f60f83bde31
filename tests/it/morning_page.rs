//! The page of the morning: its first screen is everything that one does, nothing that protects is left out of the rest, and it
//! says what the JSON form, the long page and the plan of the day say.

use crate::cli::{folder, ran};
use crate::schema::assert_holds;
use crate::spanish::{MORNINGS, assert_spanish, page};
use bloomward::report::schemas;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use textwrap::core::display_width;

const GROVE: &str = "examples/mixed-grove";
const DAWN: &str = "2027-02-09T04:30";

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json(command: &str, grove: &str, at: &str) -> Value {
    serde_json::from_str(&ran(&[command, grove, "--as-of", at, "--format", "json"], 0).0).unwrap()
}

/// Returns how many trees the JSON form gives each verdict.
fn verdicts(advice: &Value) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    for tree in advice["trees"].as_array().unwrap() {
        *counts
            .entry(tree["verdict"]["kind"].as_str().or(tree["verdict"].as_str()).unwrap().to_owned())
            .or_default() += 1;
    }
    counts
}

/// Returns what stands under a heading.
fn section<'p>(page: &'p str, heading: &str) -> &'p str {
    let (_, rest) =
        page.split_once(&format!("\n{heading} -")).unwrap_or_else(|| panic!("{heading} in {page}"));
    let (_, rest) = rest.split_once('\n').unwrap();
    rest.split("\n\n").next().unwrap()
}

/// A copy of an example in which words of a file are others.
fn changed(test: &str, example: &str, file: &str, change: impl Fn(String) -> String) -> String {
    let grove = folder(test).join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", example], 0);
    let file = grove.join(file);
    let text = std::fs::read_to_string(&file).unwrap();
    let made = change(text.clone());
    assert_ne!(made, text);
    std::fs::write(&file, made).unwrap();
    grove.to_str().unwrap().to_owned()
}

#[test]
fn its_head_counts_what_the_json_form_and_the_plan_of_the_day_count() {
    for (grove, _, at) in MORNINGS {
        let counts = verdicts(&json("advise", grove, at));
        let of = |verdict: &str| counts.get(verdict).copied().unwrap_or(0);
        let said = flat(&ran(&["advise", grove, "--as-of", at], 0).0);
        let plan: Value = serde_json::from_str(
            &ran(&["sprayday", "--look", grove, "--as-of", at, "--format", "json"], 0).0,
        )
        .unwrap();
        let rounds = plan["sheets"].as_array().unwrap().len();
        let trees = |count: usize| if count == 1 { "1 tree".to_owned() } else { format!("{count} trees") };
        if of("spray") > 0 {
            let mixes = if rounds == 1 { "one mix".to_owned() } else { format!("{rounds} mixes") };
            assert!(said.contains(&format!("spray {} in {mixes}:", trees(of("spray")))), "{counts:?} {said}");
        }
        if of("look") > 0 {
            assert!(said.contains(&format!("look first at {}", trees(of("look")))), "{counts:?} {said}");
        }
        let rest: usize =
            counts.iter().filter(|(it, _)| !["spray", "look"].contains(&&***it)).map(|it| it.1).sum();
        if rest > 0 {
            assert!(said.contains(&format!("leave {} alone", trees(rest))), "{counts:?} {said}");
        }
    }
}

#[test]
fn nothing_to_take_care_of_is_lost_beside_the_long_page() {
    for (grove, _, at) in MORNINGS {
        let long = ran(&["advise", "--long", grove, "--as-of", at, "--width", "200"], 0).0;
        let short = flat(&ran(&["advise", grove, "--as-of", at, "--width", "200"], 0).0);
        let headings = ["\nWHEN YOU SPRAY\n", "\nALWAYS\n"];
        let (_, cautions) = headings.iter().find_map(|heading| long.split_once(heading)).expect("cautions");
        let sentences: Vec<&str> = cautions.lines().skip(1).take_while(|line| !line.is_empty()).collect();
        assert!(sentences.len() >= 3, "{cautions}");
        for line in sentences {
            assert!(short.contains(&flat(line)), "{line}");
        }
    }
}

#[test]
fn each_mix_says_how_long_people_and_pickers_stay_out() {
    let plan: Value =
        serde_json::from_str(&ran(&["sprayday", "--look", GROVE, "--as-of", DAWN, "--format", "json"], 0).0)
            .unwrap();
    let page = ran(&["advise", GROVE, "--as-of", DAWN, "--width", "200"], 0).0;
    let mixes = section(&page, "THE MIXES");
    let rounds = plan["sheets"].as_array().unwrap();
    let is_title = |line: &&str| line.starts_with(|sign: char| sign.is_ascii_digit());
    assert_eq!(mixes.lines().filter(is_title).count(), rounds.len(), "{mixes}");
    // Two of them are picked later than people go in again: mancozeb's label asks for 14 days, the others' for one.
    assert_eq!(mixes.matches("Keep out and pick nothing until ").count(), rounds.len() - 2, "{mixes}");
    assert_eq!(mixes.matches("Keep out until ").count(), 2, "{mixes}");
    assert_eq!(mixes.matches(" Pick from Wed, Feb 24.").count(), 2, "{mixes}");
    // The label of the example's sulfur asks for two weeks between it and oil.
    let oil =
        "No horticultural oil before Tue, Feb 23 after mixes 2, 3, 5, before Wed, Feb 24 after mixes 7, 8.";
    assert!(mixes.contains(oil), "{mixes}");
}

#[test]
fn it_says_what_is_open_now_and_when_nothing_is_when_the_first_hours_open() {
    let at = |moment: &str| flat(&ran(&["advise", GROVE, "--as-of", moment], 0).0);
    let dawn = at(DAWN);
    assert!(
        dawn.contains("NOW open until 6:00 am, 1 h 30 min; the guide asks for 2 h; mix 1 fits"),
        "{dawn}"
    );
    let noon = at("2027-02-09T12:00");
    assert!(noon.contains("NOW nothing is open; the first hours open Tue 7:00 pm"), "{noon}");
    // 0.32 in are 8.1 mm: the sum of the forecast's four rainy hours in the example's weather.csv.
    assert!(dawn.contains("RAIN Wed 3:00–7:00 pm, 0.32 in: be dry before it"), "{dawn}");
}

#[test]
fn what_must_not_be_overlooked_stands_at_the_top() {
    let late = ran(&["advise", GROVE, "--as-of", "2027-10-09T04:30"], 0).0;
    let (top, _) = late.split_once("===").unwrap();
    assert!(top.contains("NO LONGER IN FORCE"), "{late}");
    assert!(flat(top).contains("NOT TODAY: this is advice for Sat, Oct 9, 2027, 4:30 am"), "{late}");
}

#[test]
fn remarks_on_the_files_are_counted_and_told_where_they_are_asked_for() {
    let short = ran(&["advise", GROVE, "--as-of", DAWN], 0).0;
    assert!(flat(&short).contains("5 remarks on your files (`--data`)"), "{short}");
    assert!(!short.contains("140 %"), "{short}");
    let told = flat(&ran(&["advise", GROVE, "--as-of", DAWN, "--data"], 0).0);
    assert!(told.contains("a humidity of 140 % is not possible"), "{told}");
}

#[test]
fn it_keeps_its_width_and_stays_far_shorter_than_the_long_page() {
    for (width, most) in [("80", 121), ("40", 200)] {
        for (grove, _, at) in MORNINGS {
            let page = ran(&["advise", grove, "--as-of", at, "--width", width], 0).0;
            for line in page.lines() {
                assert!(display_width(line) <= width.parse().unwrap(), "{line}");
            }
            assert!(page.lines().count() <= most, "{} lines in {width} columns", page.lines().count());
        }
    }
}

#[test]
fn it_is_spanish() {
    for (grove, name, at) in MORNINGS {
        let spanish = page("es", "200", &["advise", grove, "--as-of", at]);
        assert_spanish(&spanish, name);
        assert!(spanish.contains("HOY"), "{spanish}");
    }
}

/// What HTML allows without an end is not used, so every tag that begins must end.
#[test]
fn its_html_is_one_file_that_unfolds_without_a_script() {
    let out = folder("morning_html").join("page.html");
    ran(&["advise", GROVE, "--as-of", DAWN, "--format", "html", "--out", out.to_str().unwrap()], 0);
    let html = std::fs::read_to_string(&out).unwrap();
    let rounds = html.matches("<details>").count();
    assert!(rounds >= 8 && html.contains("</details>"), "{rounds}");
    assert!(!html.contains("<script") && !html.contains("http"), "nothing runs, nothing is fetched");
    for tag in ["article", "section", "details", "dl", "dd", "dt", "p", "h1", "h2", "h3"] {
        let begins = html.matches(&format!("<{tag}>")).count() + html.matches(&format!("<{tag} ")).count();
        assert_eq!(begins, html.matches(&format!("</{tag}>")).count(), "{tag}");
    }
    let unfolded: BTreeSet<&str> =
        html.split("<dt>").skip(1).filter_map(|rest| rest.split('<').next()).collect();
    for label in ["Why", "Source", "How", "Would change"] {
        assert!(unfolded.contains(label), "{label} {unfolded:?}");
    }
}

#[test]
fn one_tree_is_answered_first_and_all_of_it_is_told_where_it_is_asked_for() {
    for (grove, name, at) in [MORNINGS[0], MORNINGS[2], MORNINGS[4]] {
        for tree in json("advise", grove, at)["trees"].as_array().unwrap().iter().step_by(7) {
            let tree = tree["tree"].as_str().unwrap();
            let asked = ["why", grove, tree, "--as-of", at];
            let (short, all) =
                (page("en", "80", &asked), page("en", "80", &[&asked[..], &["--all"]].concat()));
            assert!(
                short.lines().count() <= 45 && short.lines().count() * 2 < all.lines().count(),
                "{short}"
            );
            let verdict = |page: &str| {
                let (_, after) = page.split_once("===\n").unwrap();
                after
                    .lines()
                    .find(|line| {
                        line.starts_with(|it: char| it.is_uppercase()) && !line.contains("NOT TODAY")
                    })
                    .map(str::to_owned)
            };
            assert_eq!(verdict(&short), verdict(&all));
            for label in ["Keep out", "Pick"] {
                let of = |page: &str| {
                    page.lines().find(|line| line.trim_start().starts_with(label)).map(str::to_owned)
                };
                assert_eq!(of(&short), of(&all), "{tree}");
            }
            assert!(short.contains(&format!("`bloomward why {tree} --all`")), "{short}");
            assert_spanish(&page("es", "200", &asked), name);
        }
    }
}

#[test]
fn trees_are_named_as_in_notes() {
    let trees = |asked: &str| {
        let (json, _) = ran(&["advise", GROVE, "--as-of", DAWN, "--tree", asked, "--format", "json"], 0);
        let json: Value = serde_json::from_str(&json).unwrap();
        let names =
            json["trees"].as_array().unwrap().iter().map(|tree| tree["tree"].as_str().unwrap().to_owned());
        names.collect::<Vec<_>>()
    };
    assert_eq!(trees("a3"), ["A03"]);
    assert_eq!(trees("A13-A15,d5"), ["A13", "A14", "A15", "D05"]);
    let (page, _) = ran(&["why", GROVE, "d5", "--as-of", DAWN], 0);
    assert!(page.starts_with("Loma Serena teaching orchard: tree D05"), "{page}");
    let (_, error) = ran(&["why", GROVE, "A01-A03", "--as-of", DAWN], 2);
    assert!(flat(&error).contains("`A01-A03` is 3 trees, and this page is of one"), "{error}");
    let (_, error) = ran(&["advise", GROVE, "--tree", "A01-A99"], 2);
    assert!(flat(&error).contains("write `A01-A15`"), "{error}");
}

/// A copy of the example.
fn copy(test: &str) -> String {
    let grove = folder(test).join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", "mixed-grove"], 0);
    grove.to_str().unwrap().to_owned()
}

/// Copper on D01–D09 keeps people out for 48 h, azoxystrobin a day later for 4 h only: the row stays closed for the copper.
#[test]
fn an_earlier_spray_keeps_a_row_closed_wherever_that_is_said() {
    let grove = copy("an_earlier_spray");
    let spray = |product: &str, strength: &str, from: &str, to: &str| {
        let what = ["sprayed", &grove, "--on", "D01-D09", "--product", product, "--strength", strength];
        let when = ["--start", from, "--end", to, "--volume", "13.5 gal", "--operator", "T. R.", "--yes"];
        flat(&ran(&[&what[..], &when, &["--as-of", "2027-02-10T06:00"]].concat(), 0).0)
    };
    spray("copper + sulfur", "reduced rate and reduced rate", "2027-02-09 05:20", "2027-02-09 05:50");
    let said = spray("azoxystrobin", "label-rate", "2027-02-10 05:00", "2027-02-10 05:40");
    assert!(said.contains("Keep out until Thu, Feb 11, 2027, 5:50 am"), "{said}");
}

#[test]
fn what_is_not_allowed_for_certain_is_kept_off_trees_that_are_not_settled() {
    // C12 stands beside D12, and of its open flowers only 10 % to 30 % is known: copper may not be allowed there.
    let page = flat(&ran(&["advise", GROVE, "--as-of", DAWN, "--width", "200"], 0).0);
    assert!(page.contains("Keep copper off C11–C15, E11–E15, H01–H10."), "{page}");
}

#[test]
fn a_product_that_is_not_in_the_shed_is_said_in_its_mix() {
    let grove = copy("no_copper");
    let file = std::path::Path::new(&grove).join("grove.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    let (before, from) = text.split_once("  copper:\n").unwrap();
    let (_, after) = from.split_once("  sulfur:\n").unwrap();
    std::fs::write(&file, format!("{before}  sulfur:\n{after}")).unwrap();
    let page = flat(&ran(&["advise", &grove, "--as-of", DAWN], 0).0);
    assert!(!page.contains("from ``"), "{page}");
    assert!(page.contains("Copper: not in your shed, so no amount"), "{page}");
}

#[test]
fn an_old_forecast_gives_no_hours_and_the_first_screen_says_so() {
    let page = flat(&ran(&["advise", GROVE, "--as-of", "2027-02-11T09:30"], 0).0);
    assert!(page.contains("NOW no hours can be given:") && page.contains("TOO OLD"), "{page}");
}

#[test]
fn each_reason_of_a_mix_names_its_trees() {
    let page = flat(&ran(&["advise", GROVE, "--as-of", DAWN, "--width", "200"], 0).0);
    assert!(page.contains("F01–F12: No bloom and no visible disease"), "{page}");
    assert!(page.contains("F13–F15: Young shoots with lesions"), "{page}");
    assert!(page.contains("Tue 7:00 pm to Wed 3:00 am, the last before rain: mixes 1–4"), "{page}");
}

/// 150 gal at 25 gal an hour are 6 h, and eight fills of 15 min are 2 h: the first fill counts as well.
#[test]
fn all_pages_say_one_time_for_all_of_it() {
    let page = flat(&ran(&["advise", GROVE, "--as-of", DAWN], 0).0);
    assert!(page.contains("spray 100 trees in 8 mixes: 150 gal, about 8 h;"), "{page}");
    let long = flat(&ran(&["advise", "--long", GROVE, "--as-of", DAWN], 0).0);
    assert!(long.contains("all 8 mixes together need 8 h, more than"), "{long}");
    let together = &json("advise", GROVE, DAWN)["together"];
    assert_eq!((&together["mixes"], &together["minutes"]), (&Value::from(8), &Value::from(480)));
}

#[test]
fn a_group_keeps_out_as_its_rounds_are_planned() {
    let plan: Value =
        serde_json::from_str(&ran(&["sprayday", "--look", GROVE, "--as-of", DAWN, "--format", "json"], 0).0)
            .unwrap();
    let sheets = plan["sheets"].as_array().unwrap();
    let mut held = 0;
    for group in json("advise", GROVE, DAWN)["groups"].as_array().unwrap() {
        let trees = group["trees"].as_array().unwrap();
        let rounds = sheets
            .iter()
            .filter(|it| trees.iter().any(|tree| it["trees"].as_array().unwrap().contains(tree)));
        let Some(latest) = rounds.filter_map(|it| it["keep_out_until"].as_str()).max() else { continue };
        assert_eq!(group["keep_out_until"], latest, "{group}");
        held += 1;
    }
    assert_eq!(held, 9);
}

/// Page and JSON are made from the same facts: what the one says stands in the other.
#[test]
fn json_says_of_the_morning_what_the_page_says() {
    let advice = json("advise", GROVE, DAWN);
    assert_holds(schemas::ADVICE, &advice);
    let page = ran(&["advise", GROVE, "--as-of", DAWN, "--width", "200"], 0).0;
    let mixes = advice["mixes"].as_array().unwrap();
    let titles: Vec<&str> = section(&page, "THE MIXES").lines().filter(|it| !it.starts_with(' ')).collect();
    for (mix, title) in mixes.iter().zip(&titles) {
        let word = |it: &Value| it.as_str().unwrap().replace('-', " ");
        let dose = |it: &Value| format!("{} ({}", word(&it["product"]), word(&it["strength"]));
        assert!(title.starts_with(&format!("{} {}", mix["number"], dose(&mix["spray"][0]))), "{title}");
        assert!(
            title.contains(&format!(
                "({} trees, {} gal)",
                mix["trees"].as_array().unwrap().len(),
                mix["volume"]["value"]
            )),
            "{title}"
        );
        assert_eq!(mix["before_rain"], true);
    }
    assert_eq!(mixes.len(), 8);
    let open = &advice["now"]["open"][0];
    assert_eq!((&open["until"], &open["short"]), (&"2027-02-09T06:00:00-04:00".into(), &true.into()));
    assert_eq!((&open["minutes"], &open["done"]), (&480.into(), &serde_json::json!([1])));
    assert_eq!(mixes[0]["done_by"], "2027-02-10T03:00:00-04:00");
    let tomorrow = &advice["tomorrow"];
    assert_eq!(tomorrow[0]["trees"], serde_json::json!(["H01", "H02", "H03", "H04", "H05"]));
    assert_eq!(
        (&tomorrow[0]["at"], &tomorrow[0]["then"]),
        (&"2027-02-10T00:00:00-04:00".into(), &"spray mancozeb at label-rate".into())
    );
    assert!(
        page.contains(
            "TOMORROW      Wed, Feb 10, 2027, if the forecast holds: spray mancozeb (label rate): H01–H05"
        ),
        "{page}"
    );
    assert_eq!(advice["closed"], serde_json::json!([]));
    let noon = json("advise", GROVE, "2027-02-09T12:00");
    assert_eq!(
        (&noon["now"]["open"], &noon["now"]["opens"]),
        (&serde_json::json!([]), &"2027-02-09T19:00:00-04:00".into())
    );
    let grove = changed("morning_closed", "mixed-grove", "sprays.csv", |text| {
        let fields: Vec<&str> =
            text.lines().rfind(|row| row.contains("sulfur")).unwrap().split(',').collect();
        let fields = [&["2027-02-08T19:00", "2027-02-08T19:30"], &fields[2..]].concat();
        format!("{text}{}\n", fields.join(","))
    });
    let closed = &json("advise", &grove, DAWN)["closed"];
    let said = flat(&ran(&["advise", &grove, "--as-of", DAWN], 0).0);
    assert_eq!(closed[0]["until"], "2027-02-09T19:30:00-04:00", "{said}");
    assert!(said.contains("CLOSED now, until Tue, Feb 9, 2027, 7:30 pm, after an earlier spray"), "{said}");
}

/// A weather that is not there is one question, and not one of each tree.
#[test]
fn what_the_files_lack_is_said_once() {
    let grove = changed("morning_files", "mixed-grove", "weather.csv", |text| {
        let (head, rest) = text.split_once('\n').unwrap();
        let rows: Vec<&str> = rest.lines().filter(|row| !row.starts_with("2027-02-0")).collect();
        format!("{head}\n{}\n", rows.join("\n"))
    });
    let page = ran(&["advise", &grove, "--as-of", DAWN, "--width", "200"], 0).0;
    let look = section(&page, "LOOK FIRST");
    assert_eq!(look.matches("the hours that `weather.csv` misses or does not reach").count(), 1, "{look}");
}

#[test]
fn what_is_not_in_the_shed_is_said_with_what_is_allowed_that_is() {
    let grove = changed("morning_shed", "mixed-grove", "grove.yaml", |text| {
        let (before, rest) = text.split_once("  mancozeb:\n").unwrap();
        let (_, after) = rest.split_once("  potassium-bicarbonate:\n").unwrap();
        format!("{before}  potassium-bicarbonate:\n{after}")
    });
    let page = flat(&ran(&["advise", &grove, "--as-of", DAWN], 0).0);
    // Of the round that is against mildew too; against anthracnose alone nothing is left.
    assert!(page.contains("Of what is in your shed the guide allows sulfur (reduced rate) or"), "{page}");
    assert!(page.contains("Nothing in your shed that the guide allows works here."), "{page}");
    let (sheets, _) = ran(&["sprayday", "--look", &grove, "--as-of", DAWN], 0);
    assert!(sheets.matches("SPRAY SHEET").count() == 6 && !sheets.contains(" ? "), "{sheets}");
    assert!(flat(&sheets).contains("no sheet: mancozeb"), "{sheets}");
}

#[test]
fn what_opens_on_a_day_is_named_and_answers_that_lead_to_the_same_are_one() {
    let garden = flat(&ran(&["advise", "examples/garden", "--as-of", "2027-03-02T05:00"], 0).0);
    assert!(garden.contains("Until: Sat, Mar 6, 2027; then sulfur (reduced rate)"), "{garden}");
    let long = flat(&ran(&["advise", "--long", GROVE, "--as-of", DAWN, "--tree", "A14,A15"], 0).0);
    assert_eq!(long.matches(": do not spray").count(), 1, "{long}");
    assert!(long.contains("bud burst or lower or stage marble or higher: do not spray"), "{long}");
    for (grove, _, at) in MORNINGS {
        let page = ran(&["advise", grove, "--as-of", at], 0).0;
        assert!(!page.contains("Look again: ."), "{page}");
        assert!(page.lines().all(|line| line.trim_end() != "  Look again"), "{page}");
    }
}
