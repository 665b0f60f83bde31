//! The base rulebook for mango against the rules of the trade.
//!
//! Every check here is common practice: facts that growers hold, without a published source.

use super::case::{tree, value, verdict};
use super::reference_mango::{BASE, CLEAN, base, grove, mildew, quiet, shut_by, weather, weather_of, wet};

/// Writes one more tree into a grove, behind the first.
fn with_tree(grove: &str, name: &str, observations: &str) -> String {
    let (before, after) = grove.split_once("  - { tree: A1,").unwrap();
    format!("{before}  - {{ tree: {name}, block: one, {observations} }}\n  - {{ tree: A1,{after}")
}

/// Common practice: copper on a fully open flower kills its pollen, so none in full open bloom with nothing set.
#[test]
fn no_copper_in_full_open_bloom_with_nothing_set() {
    let advice =
        base(&format!("cultivar: Kent, stage: full-bloom, open-flowers: 90 %, fruit-set: 0, {CLEAN}"), wet());
    assert_eq!(shut_by(&advice, "copper"), ["copper-on-open-bloom"]);
}

/// Common practice: copper is acceptable where the panicles already carry more young fruit than can ripen.
#[test]
fn copper_where_more_is_set_than_can_ripen() {
    let advice =
        base(&format!("cultivar: Kent, stage: full-bloom, open-flowers: 90 %, fruit-set: 9, {CLEAN}"), wet());
    assert!(shut_by(&advice, "copper").is_empty());
    assert_eq!(verdict(&advice, "A1"), "spray copper at reduced");
}

/// Common practice: copper is acceptable where only a few flowers are open, above all where most trees are so.
#[test]
fn copper_where_only_a_few_flowers_are_open() {
    let advice =
        base(&format!("cultivar: Kent, stage: first-open, open-flowers: 5 %, fruit-set: 0, {CLEAN}"), wet());
    assert!(shut_by(&advice, "copper").is_empty());
    let few = format!("cultivar: Kent, stage: first-open, open-flowers: 15 %, fruit-set: 0, {CLEAN}");
    assert!(shut_by(&base(&few, wet()), "copper").is_empty(), "the one tree is most of the grove");
    // The same tree beside two that have no flower open stands alone, and waits.
    let closed = format!("cultivar: Kent, stage: spreading, open-flowers: 0 %, fruit-set: 0, {CLEAN}");
    let mut case = grove(BASE, &few, "sprays: none yet\n", wet());
    for other in ["A2", "A3"] {
        case.grove = with_tree(&case.grove, other, &closed);
    }
    let advice = case.advise();
    assert_eq!(shut_by(&advice, "copper"), ["copper-on-first-flowers"]);
    // Decided tree by tree: the neighbours take copper at the stronger mix on the same day.
    assert_eq!(verdict(&advice, "A2"), "spray copper at full");
}

/// Common practice: a closed flower is not harmed, and without bloom the stronger mix is used.
#[test]
fn closed_flowers_take_the_stronger_mix() {
    let advice =
        base(&format!("cultivar: Kent, stage: spreading, open-flowers: 0 %, fruit-set: 0, {CLEAN}"), wet());
    assert_eq!(verdict(&advice, "A1"), "spray copper at full");
}

/// Common practice: with open bloom or small fruit the weaker mix; sulfur is the one for mildew.
#[test]
fn the_weaker_mix_of_sulfur_in_open_bloom() {
    let seen = "cultivar: Haden, stage: full-bloom, open-flowers: 80 %, fruit-set: 0, mildew: 8 of 40, blight: 0 of 40, dead-wood: no, fruit-touching: no";
    assert_eq!(verdict(&base(seen, mildew()), "A1"), "spray sulfur at reduced");
}

/// Common practice: before bloom, without disease, copper one time and sulfur another, at the stronger mix.
#[test]
fn preventive_sprays_take_turns() {
    let observations = format!("cultivar: Kent, stage: dormant, open-flowers: 0 %, fruit-set: 0, {CLEAN}");
    let first = grove(BASE, &observations, "sprays: none yet\n", quiet()).advise();
    assert_eq!(verdict(&first, "A1"), "spray copper at full");
    let log = "start,end,on,product,strength\n2026-12-30T05:00,2026-12-30T06:00,A1,copper,full\n";
    // The rain since that spray is asked for, too.
    let since = weather_of(45, |_, _| (26.0, 50.0, 0.0, 5.0));
    let second = grove(BASE, &observations, "", since).sprays(log).advise();
    assert_eq!(verdict(&second, "A1"), "spray sulfur at full");
    // A tree with disease to be seen, or in bloom, is no matter of prevention.
    let seen = observations.replace("mildew: 0 of 40", "mildew: 4 of 40");
    let advice = grove(BASE, &seen, "sprays: none yet\n", quiet()).advise();
    assert_eq!(
        tree(&advice, "A1")["choices"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|it| it.as_str().unwrap().starts_with("preventive"))
            .count(),
        0
    );
}

/// Common practice: some cultivars set a good crop unsprayed in weather in which others set none.
#[test]
fn a_tolerant_cultivar_waits_where_a_prone_one_is_sprayed() {
    let of =
        |cultivar: &str| {
            let air = weather(|_, clock| {
                if (7..19).contains(&clock) { (25.0, 60.0, 0.0, 5.0) } else { (22.0, 85.0, 0.0, 5.0) }
            });
            let case = grove(
                BASE,
                &format!("cultivar: {cultivar}, stage: spreading, open-flowers: 0 %, fruit-set: 0, {CLEAN}"),
                "sprays: none yet\n",
                air,
            );
            let advice = case.advise();
            assert_eq!(value(&advice, "mildew-weather")["value"], "building");
            value(&advice, "mildew-need")["value"].as_str().unwrap().to_string()
        };
    assert_eq!(of("Haden"), "protect");
    assert_eq!(of("Tommy Atkins"), "none");
}

/// Common practice: mildew hardly spreads once days and nights stay in the mid-70s °F or above.
#[test]
fn warm_nights_end_the_mildew() {
    let advice = base(
        &format!("cultivar: Haden, stage: full-bloom, open-flowers: 80 %, fruit-set: 0, {CLEAN}"),
        weather(|_, _| (24.5, 85.0, 0.0, 5.0)),
    );
    assert_eq!(value(&advice, "mildew-weather")["value"], "quiet");
}

/// Common practice: one tree may bloom on one side only, and panicles of different age hang side by side; a side in full
/// open bloom with nothing set keeps copper off the whole tree.
#[test]
fn one_side_in_open_bloom_keeps_copper_off_the_tree() {
    let tree_of = |north: &str| {
        let observations = format!(
            "cultivar: Kent, {CLEAN}, panicles: [ \
             {{ share: 60 %, stage: spreading, open-flowers: 0 %, fruit-set: 0 }}, {{ share: 40 %, {north} }} ]"
        );
        shut_by(&base(&observations, wet()), "copper")
    };
    assert_eq!(tree_of("stage: full-bloom, open-flowers: 85 %, fruit-set: 0"), ["copper-on-open-bloom"]);
    assert!(tree_of("stage: bud-burst, open-flowers: 0 %, fruit-set: 0").is_empty());
}

/// Common practice: trees that bloom well ahead of the others can lose every panicle to both diseases, so that even a
/// tolerant cultivar is protected there.
#[test]
fn a_tolerant_tree_that_blooms_alone_is_guarded() {
    let air = || {
        weather(
            |_, clock| {
                if (7..19).contains(&clock) { (25.0, 60.0, 0.0, 5.0) } else { (22.0, 85.0, 0.0, 5.0) }
            },
        )
    };
    let early =
        format!("cultivar: Tommy Atkins, stage: half-open, open-flowers: 35 %, fruit-set: 0, {CLEAN}");
    let need = |others: &str| {
        let mut case = grove(BASE, &early, "sprays: none yet\n", air());
        for number in 2..=8 {
            let observations = format!("cultivar: Tommy Atkins, {others}, fruit-set: 0, {CLEAN}");
            case.grove = with_tree(&case.grove, &format!("A{number}"), &observations);
        }
        let advice = case.advise();
        tree(&advice, "A1")["values"]["mildew-need"]["value"].as_str().unwrap().to_string()
    };
    assert_eq!(need("stage: dormant, open-flowers: 0 %"), "protect");
    assert_eq!(need("stage: half-open, open-flowers: 35 %"), "none");
}

/// Common practice: nights around 48 °F are commonly followed by a new wave of bloom.
#[test]
fn a_cool_spell_brings_buds() {
    let time = |night: f64| {
        let observations =
            format!("cultivar: Kent, stage: dormant, open-flowers: 0 %, fruit-set: 0, {CLEAN}");
        // In August, outside the weeks in which bloom is near by the calendar.
        let air = weather(|hour, clock| {
            let cold = (-24 * 4..-24).contains(&hour) && !(7..19).contains(&clock);
            (if cold { night } else { 24.0 }, 60.0, 0.0, 5.0)
        })
        .replace("2027-01", "2027-07")
        .replace("2027-02", "2027-08");
        let mut case = grove(BASE, &observations, "sprays: none yet\n", air);
        case.grove = case.grove.replace("2027-07-01", "2027-12-01").replace("2027-02", "2027-08");
        let advice = case.advise();
        let tasks = tree(&advice, "A1")["tasks"].as_array().unwrap().clone();
        let buds = tasks.iter().any(|task| task == "look-for-buds");
        (value(&advice, "bloom-time")["value"].as_str().unwrap().to_string(), buds)
    };
    assert_eq!(time(8.0), ("near".to_string(), true));
    assert_eq!(time(14.0), ("far".to_string(), false));
}

/// Common practice: anthracnose goes with humidity and usually with warmth, days and nights in the 70s °F or warmer.
#[test]
fn anthracnose_goes_with_warmth() {
    let weather_of = |fahrenheit: f64| {
        let warm = (fahrenheit - 32.0) / 1.8;
        let air = weather(|hour, _| {
            let (damp, rain) = if (-24..-10).contains(&hour) { (98.0, 1.0) } else { (70.0, 0.0) };
            (warm, damp, rain, 5.0)
        });
        let seen = format!("cultivar: Kent, stage: spreading, open-flowers: 0 %, fruit-set: 0, {CLEAN}");
        value(&base(&seen, air), "anthracnose-weather")["value"].as_str().unwrap().to_string()
    };
    assert_eq!(weather_of(76.0), "severe");
    assert_eq!(weather_of(84.0), "severe");
    assert_eq!(weather_of(52.0), "quiet");
}

/// Common practice: mildew is strongest in the 60s and the upper 50s °F, grows in the low 70s, and wants no rain.
#[test]
fn mildew_goes_with_cool_damp_nights_without_rain() {
    let weather_of = |night: f64, rain: f64| {
        let air = weather(|hour, clock| {
            let warm = if (7..19).contains(&clock) { 75.0 } else { night };
            let damp = if (7..19).contains(&clock) { 60.0 } else { 88.0 };
            ((warm - 32.0) / 1.8, damp, if hour == -20 { rain } else { 0.0 }, 5.0)
        });
        let seen = format!("cultivar: Haden, stage: spreading, open-flowers: 0 %, fruit-set: 0, {CLEAN}");
        value(&base(&seen, air), "mildew-weather")["value"].as_str().unwrap().to_string()
    };
    assert_eq!(weather_of(58.0, 0.0), "severe");
    assert_eq!(weather_of(65.0, 0.0), "severe");
    assert_eq!(weather_of(72.0, 0.0), "building");
    assert_eq!(weather_of(65.0, 12.0), "building");
    assert_eq!(weather_of(76.0, 0.0), "quiet");
}

/// Common practice: copper works on anthracnose and only a little on mildew, sulfur is the one for mildew: with mildew
/// alone no copper is advised, and with anthracnose alone no sulfur.
#[test]
fn each_product_for_its_own_disease() {
    let closed = |seen: &str| {
        format!(
            "cultivar: Kent, stage: spreading, open-flowers: 0 %, fruit-set: 0, {seen}, dead-wood: no, fruit-touching: no"
        )
    };
    let white = closed("mildew: 8 of 40, blight: 0 of 40");
    assert_eq!(verdict(&base(&white, mildew()), "A1"), "spray sulfur at full");
    let black = closed("mildew: 0 of 40, blight: 8 of 40");
    assert_eq!(verdict(&base(&black, wet()), "A1"), "spray copper at full");
}
