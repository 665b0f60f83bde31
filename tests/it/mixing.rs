//! `mix` as a grower types it: words with and without quotes, any jug, both systems, limits, and what is refused.

use crate::cli::{folder, ran};
use serde_json::Value;
use std::fs;

const GROVE: &str = "examples/mixed-grove";

#[track_caller]
fn json(arguments: &[&str]) -> Value {
    let (out, _) = ran(&[&["mix"], arguments, &["--format", "json"]].concat(), 0);
    serde_json::from_str(&out).unwrap()
}

/// The worked figure of the design: 25 gal at 600 ppm from a powder of half metal need 113.56 g.
#[test]
fn copper_at_600_ppm_in_the_example_grove() {
    let mix = json(&[GROVE, "copper", "600 ppm copper", "25 gal"]);
    assert_eq!(mix["format"], "bloomward.mix/1");
    assert_eq!(mix["product"], "copper");
    assert_eq!(mix["jug"], "basic copper powder");
    assert_eq!(mix["strength"], "600 ppm copper");
    assert_eq!(mix["volume"], serde_json::json!({ "value": 25, "unit": "gal" }));
    assert!((mix["amount"]["value"].as_f64().unwrap() - 113.56235352).abs() < 1e-6);
    assert_eq!(mix["amount"]["unit"], "g");
    assert_eq!(mix["shown"], serde_json::json!(["113 g", "4.0 oz"]));
    assert_eq!(mix["strength_shown"], "597 ppm copper");
}

#[test]
fn words_need_no_quotes_and_a_strength_may_be_a_name() {
    let quoted = json(&[GROVE, "copper", "600 ppm copper", "25 gal"]);
    assert_eq!(json(&[GROVE, "copper", "600", "ppm", "copper", "25", "gal"]), quoted);
    assert_eq!(json(&[GROVE, "copper", "reduced", "25", "gal"])["shown"], quoted["shown"]);
    // 2 lb in 100 gal is half a pound in 25 gal.
    let label = json(&[GROVE, "copper", "2", "lb", "/", "100", "gal", "25", "gal"]);
    assert_eq!(label["shown"], serde_json::json!(["226 g", "8.0 oz"]));
}

/// A jug of the shed is taken by its name, in place of its product.
#[test]
fn a_jug_is_named_in_place_of_its_product() {
    let by_product = json(&[GROVE, "copper", "full", "4 gal"]);
    assert_eq!(json(&[GROVE, "basic copper powder", "full", "4 gal"]), by_product);
    assert_eq!(json(&[GROVE, "Wettable Sulfur", "full", "4 gal"])["product"], "sulfur");
}

#[test]
fn the_page_says_each_amount_twice_and_keeps_its_width() {
    for width in ["80", "40"] {
        let (page, _) = ran(&["mix", GROVE, "copper", "reduced", "2 gal", "--width", width], 0);
        assert!(page.lines().all(|line| line.chars().count() <= width.parse().unwrap()), "{page}");
        for words in
            ["0.32 oz (9.0 g)", "2 gal (7.57 L)", "demo-0001", "label in force", "Next: read the label"]
        {
            assert!(page.replace("\n ", "").replace("  ", " ").contains(words), "{words}: {page}");
        }
    }
}

#[test]
fn what_cannot_be_mixed_is_refused_with_the_words_to_write() {
    let refused = |arguments: &[&str], words: &str| {
        let (out, error) = ran(&[&["mix", GROVE], arguments, &["--width", "200"]].concat(), 2);
        assert_eq!(out, "");
        assert!(error.contains(words), "{error}");
    };
    refused(&["cooper", "reduced", "25 gal"], "did you mean `copper`?");
    refused(&["copper", "reducd", "25 gal"], "did you mean `reduced`?");
    refused(&["copper", "2 fl oz/gal", "25 gal"], "write `oz`");
    refused(&["copper", "reduced", "25"], "`25` has no unit");
    refused(&["copper", "40 lb/gal", "25 gal"], "more product than spray");
    refused(&["azoxystrobin", "label-rate", "25 gal"], "no jug of `azoxystrobin` in the shed");
    refused(
        &["copper", "reduced", "25 gal", "--jug", "basic coper powder"],
        "did you mean `basic copper powder`?",
    );
    refused(&["copper", "3 lb/ac", "25 gal", "--block", "teras"], "there is no block `teras`");
    // copper_fraction.csv, CU1: copper hydroxide is 65.1 % copper.
    let hydroxide = ["--contains", "copper: 70 %", "--named", "copper hydroxide"];
    refused(&[&["copper", "reduced", "25 gal"], &hydroxide[..]].concat(), "holds at most 65.1 % of metal");
}

/// copper_label.csv, CL2: 53.8 % of copper hydroxide is 35.043 % of metal.
#[test]
fn a_jug_that_is_not_in_the_shed_is_described() {
    let content = ["--contains", "copper: 35.043 %", "--named", "copper hydroxide"];
    let mix = json(&[&[GROVE, "copper", "600 ppm copper", "100 gal"], &content[..]].concat());
    // 100 gal are 378.5411784 L; at 0.6 g/L that is 227.1247 g of metal.
    assert!((mix["amount"]["value"].as_f64().unwrap() - 227.12470704 / 0.35043).abs() < 1e-6);
    let liquid = ["--liquid", "--contains", "2.08 lb/gal azoxystrobin"];
    let mix = json(&[&[GROVE, "azoxystrobin", "1 mL/L", "25 L"], &liquid[..]].concat());
    assert_eq!(mix["shown"][0], "25.0 mL");
}

/// tank_mix.csv, TM16 and TM17: 1.5 lb in 100 gal under a cap of 4 lb/ac, at 200 and at 350 gal/ac.
#[test]
fn a_label_s_limit_on_one_spray_is_told_and_a_broken_one_ends_with_one() {
    let folder = folder("mixing_limits").join("grove");
    let path = folder.to_str().unwrap();
    ran(&["start", path, "--example", "garden"], 0);
    let yaml = fs::read_to_string(folder.join("grove.yaml")).unwrap();
    let with = |volume: &str| {
        let text = yaml
            .replace("per-tree: 1 gal", &format!("volume: {volume}"))
            .replace("    name: wettable sulfur\n", "    name: wettable sulfur\n    single: 4 lb/ac\n");
        assert!(text.contains(volume) && text.contains("single:"));
        fs::write(folder.join("grove.yaml"), text).unwrap();
        ["mix", path, "sulfur", "1.5 lb / 100 gal", "100 gal", "--format", "json"]
    };
    let kept = |out: &str| {
        let mix: Value = serde_json::from_str(out).unwrap();
        let limits = mix["limits"].as_array().unwrap().clone();
        let single: Vec<&Value> =
            limits.iter().filter(|it| it["limit"].as_str().unwrap().contains("4 lb/ac")).collect();
        assert_eq!(single.len(), 1, "{limits:?}");
        single[0]["kept"].clone()
    };
    assert_eq!(kept(&ran(&with("200 gal/ac"), 0).0), true);
    assert_eq!(kept(&ran(&with("350 gal/ac"), 1).0), false);
}

/// More than the guide's strongest: nothing is said that could be measured out.
#[test]
fn a_mix_above_a_limit_is_not_to_be_made() {
    let typed = ["mix", GROVE, "sulfur", "20 lb/ac", "25 gal"];
    for width in ["80", "40"] {
        let (page, _) = ran(&[&typed[..], &["--width", width]].concat(), 1);
        assert!(page.contains("DO NOT MIX THIS") && page.contains("ABOVE "), "{page}");
        for words in ["\n  Take   ", "Per gallon", "Per liter", "That makes", "add this", "fill up", " oz"] {
            assert!(!page.contains(words), "{words}: {page}");
        }
    }
    let (out, _) = ran(&[&typed[..], &["--format", "json"]].concat(), 1);
    let mix: Value = serde_json::from_str(&out).unwrap();
    crate::schema::assert_holds(bloomward::report::schemas::MIX, &mix);
    assert_eq!(mix["do_not_mix"], true);
    assert_eq!(mix["amount"], Value::Null);
    assert_eq!(mix["shown"], serde_json::json!([]));
    assert_eq!(json(&[GROVE, "sulfur", "reduced", "25 gal"])["do_not_mix"], false);
}

/// What a scale shows as nothing is refused, and so is what no tank holds; a small part beside it is not said to be zero.
#[test]
fn very_little_and_very_much_is_said() {
    let refused = |arguments: &[&str], words: &str| {
        let (out, error) = ran(&[&["mix", GROVE], arguments, &["--width", "200"]].concat(), 2);
        assert_eq!(out, "");
        assert!(error.contains(words), "{error}");
    };
    refused(&["sulfur", "2 g/L", "0.001 mL"], "less than 0.1 g of the product");
    refused(&["oil", "1 mL/L", "50 mL", "--liquid", "--contains", "oil: 98 %"], "less than 0.1 mL");
    refused(&["sulfur", "2 g/L", "1e300 gal"], "no sprayer puts out so much");
    // 2 g in 10 L are 0.2 g in a litre, of which a hundredth of an ounce (0.28 g) is more.
    let page = ran(&["mix", GROVE, "sulfur", "2 g/10 L", "25 gal"], 0).0;
    assert!(page.contains("less than 0.01 oz (0.2 g)") && !page.contains("0.00 oz"), "{page}");
    // 600 mg/L in 25 gal (94.635 L) are 56.78 g: no scale shows the milligrams.
    assert_eq!(
        json(&[GROVE, "copper", "600 mg/L", "25 gal"])["shown"],
        serde_json::json!(["56.7 g", "2.0 oz"])
    );
}

/// A volume is filled up to as it was said: two cups are not 0.12 gal, and an imperial gallon is none of the US.
#[test]
fn a_volume_in_another_unit_stays_as_it_was_said() {
    let page = |volume: &str| {
        let page = ran(&["mix", GROVE, "copper", "2 lb / 100 gal", volume], 0).0;
        page.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(page("2 cups").contains("fill up to 2 cups (0.12 gal, 0.47 L)"), "{}", page("2 cups"));
    // units_exact.csv, UC16: 4.54609 L.
    assert!(page("25 imp gal").contains("for 25 imp gal (30.02 gal, 113.65 L) of spray"));
    assert!(page("16 L").contains("fill up to 4.23 gal (16 L)"));
}

#[test]
fn words_are_taken_as_they_are_pasted_and_one_product_at_a_time() {
    let plain = json(&[GROVE, "copper", "600 ppm copper", "25 gal"]);
    assert_eq!(json(&[GROVE, "\u{201c}copper\u{201d}", "\u{201c}600 ppm copper\u{201d}", "'25 gal'"]), plain);
    let refused = |arguments: &[&str]| ran(&[&["mix", GROVE], arguments, &["--width", "200"]].concat(), 2).1;
    assert!(refused(&["copper with sulfur", "reduced", "25 gal"]).contains("one after the other"));
    assert!(refused(&["sulfur", "1 tsp/gal", "25 gal"]).contains("a spoonful weighs more of one powder"));
    let error = refused(&["xyzzy", "reduced", "25 gal"]);
    assert_eq!(error.matches("copper,").count(), 1, "{error}");
}
