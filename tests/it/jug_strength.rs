//! A label's own strength: the mix is never stronger than the jug allows, whatever the guide says.

use crate::case::{case, tree, verdict};
use crate::cli::{folder, ran};
use crate::reference_mango::shut_by;
use serde_json::Value;
use std::fs;

/// The figures are made. Of half copper, 1200 mg/L are 2.4 g/L of the powder, and 600 mg/L are 1.2.
const BOOK: &str = "observe spots\n  kind count\n\
    product copper\n  contains copper\n  strength reduced 600 ppm copper\n  strength full 1200 ppm copper\n  cites own\n\
    product oil\n  strength thin 5 mL/L\n  strength thick 20 mL/L\n  cites own\n\
    product dust\n  strength low 1 kg / ha\n  strength high 2 kg / ha\n  cites own\n\
    choice treat\n  advise PRODUCT\n  if spots at least 1\n  cites own\n\
    choice rest\n  advise hold\n  if spots below 1\n  cites own\n";

fn keys(jug: &str, more: &str) -> String {
    format!(
        "sprays: none yet\nseen: 2027-02-10\n{more}shed:\n  {jug}\n\
         trees:\n  - {{ tree: A1, cultivar: Kent, spots: 2 }}\n"
    )
}

#[track_caller]
fn advised(product: &str, jug: &str, more: &str) -> Value {
    case(&BOOK.replace("PRODUCT", product), &keys(jug, more)).advise()
}

const COPPER: &str = "copper: { name: powder, form: powder, contains: { copper: 50 % }";

#[test]
fn the_guides_stronger_mix_is_held_to_the_jug() {
    let of = |strength: &str| advised("copper at full", &format!("{COPPER}, strength: {strength} }}"), "");
    assert_eq!(verdict(&of("2.4 g/L"), "A1"), "spray copper at full");
    for jug in ["2.3 g/L", "at most 1.5 g/L", "0.2 oz per gallon", "700 ppm copper"] {
        let advice = of(jug);
        assert_eq!(verdict(&advice, "A1"), "spray copper at reduced", "{jug}");
        assert!(tree(&advice, "A1").to_string().contains("copper label strength"), "{jug}");
    }
    // No strength of the guide fits: it is shut.
    let none = of("1.1 g/L");
    assert_eq!(verdict(&none, "A1"), "hold");
    assert_eq!(shut_by(&none, "copper"), ["copper label strength"]);
}

/// A tablespoon is 14.8 mL and a gallon 3.785 L: two of them are 7.8 mL/L.
#[test]
fn a_liquid_is_measured_by_volume() {
    let jug = |strength: &str| format!("oil: {{ name: oil, form: liquid, strength: {strength} }}");
    let of = |strength: &str| advised("oil at thick", &jug(strength), "");
    assert_eq!(verdict(&of("2 tbsp a gallon"), "A1"), "spray oil at thin");
    assert_eq!(verdict(&of("20 mL/L"), "A1"), "spray oil at thick");
}

/// 2 kg on a hectare under 1000 L of spray are 2 g/L; under 2000 L, 1 g/L. Without a sprayer it is not known.
#[test]
fn a_strength_by_area_is_reckoned_with_the_sprayer() {
    let jug = "dust: { name: dust, form: powder, strength: 1.5 g/L }";
    let of = |sprayer: &str| advised("dust at high", jug, sprayer);
    let sprayer = |volume: &str| format!("sprayer: {{ kind: airblast, volume: {volume}, tank: 1000 L }}\n");
    assert_eq!(verdict(&of(&sprayer("1000 L/ha")), "A1"), "spray dust at low");
    assert_eq!(verdict(&of(&sprayer("2000 L/ha")), "A1"), "spray dust at high");
    assert_eq!(verdict(&of(""), "A1"), "look");
}

#[test]
fn what_is_no_strength_of_the_jug_is_refused() {
    for (jug, help) in [
        ("copper: { name: x, form: powder, strength: 2 tbsp/gal }", "1.5 g/L"),
        ("copper: { name: x, form: powder, strength: 3 lb/ac }", "1.5 g/L"),
        ("oil: { name: x, form: liquid, strength: 2 g/L }", "2 tbsp/gal"),
        ("oil: { name: x, form: liquid, strength: 2 }", "2 tbsp/gal"),
    ] {
        let problems = case(&BOOK.replace("PRODUCT", "hold"), &keys(jug, "")).try_advise().unwrap_err();
        assert!(
            problems.contains("is no strength of this jug") && problems.contains(help),
            "{jug}: {problems}"
        );
    }
}

/// 2.4 g/L where the jug allows 1.5: no amount is printed, the log says that the label was not followed.
#[test]
fn a_mix_above_the_label_is_not_printed_and_a_spray_above_it_is_said() {
    let folder = folder("jug_strength");
    let head = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n";
    fs::write(folder.join("test.rulebook"), format!("{head}{}", BOOK.replace("PRODUCT", "copper at full")))
        .unwrap();
    fs::write(
        folder.join("grove.yaml"),
        format!(
            "grove: Test\nrulebook: test.rulebook\nas-of: 2027-02-11T07:30\nplace: {{ latitude: 18.05, longitude: -66.50, \
             timezone: America/Puerto_Rico }}\n{}",
            keys(&format!("{COPPER}, strength: 1.5 g/L }}"), "")
        )
        .replace("sprays: none yet", "sprays: sprays.csv"),
    )
    .unwrap();
    fs::write(folder.join("sprays.csv"), "start,end,on,product,strength\n").unwrap();
    let grove = folder.to_str().unwrap();
    let mix = |strength: &str, status: i32| -> Value {
        let (out, _) = ran(&["mix", grove, "copper", strength, "10", "L", "--format", "json"], status);
        serde_json::from_str(&out).unwrap()
    };
    let strong = mix("full", 1);
    assert_eq!((&strong["do_not_mix"], &strong["amount"]), (&Value::Bool(true), &Value::Null));
    assert_eq!(strong["limits"][0]["limit"], "strength at most 1.5 g/L");
    assert_eq!(mix("reduced", 0)["do_not_mix"], false);
    let (page, _) = ran(&["mix", grove, "copper", "full", "10", "L"], 1);
    assert!(page.contains("no stronger than 1.5 g/L"), "{page}");
    let (why, _) = ran(&["why", grove, "A1", "--all"], 0);
    assert!(why.contains("`copper label strength`: copper no stronger than reduced rate"), "{why}");
    // 2.4 g in a liter are 0.32 oz in a gallon.
    let on = ["--on", "A1", "--volume", "10 L", "--operator", "T", "--start", "06:00", "--end", "07:00"];
    let spray =
        [&["sprayed", grove, "--product", "copper", "--strength", "full", "--dry-run"], &on[..]].concat();
    let (out, _) = ran(&spray, 1);
    let said = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains(
            "LABEL NOT FOLLOWED copper, no stronger than 1.5 g/L: 0.32 oz / gal of 0.20 oz / gal (A1)"
        ),
        "{out}"
    );
}
