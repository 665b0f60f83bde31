//! The spray log: what counts, what a correction does, and how much was put on an area.

use crate::grove::{GROVE, Read, read, read_at};
use bloomward::grove::{AmountUnknown, Counting, LastSpray, UnknownNames};
use bloomward::plan::{DosePer, Sprayed};
use bloomward::units::spoken;
use chrono::{NaiveDate, TimeZone};

const HEAD: &str = "start,end,on,product,jug,registration,strength,rate,volume,area,sheet,note\n";

fn logged(rows: &str) -> Read {
    read(&[("sprays.csv", &format!("{HEAD}{rows}"))])
}

/// Returns the sprays of a tree, each as its day and its products.
#[track_caller]
fn of_tree(read: &Read, tree: &str) -> Vec<String> {
    let grove = read.whole();
    let tree = grove.trees.find(tree).expect("a tree");
    let words = |row: &bloomward::grove::SprayRow| {
        row.parts.iter().map(|part| part.word.to_string()).collect::<Vec<_>>().join(" with ")
    };
    grove.log.of_tree(tree).map(|row| format!("{} {}", row.day(), words(row))).collect()
}

fn year() -> (NaiveDate, NaiveDate) {
    (NaiveDate::from_ymd_opt(2027, 1, 1).unwrap(), NaiveDate::from_ymd_opt(2027, 12, 31).unwrap())
}

/// Returns the amount of an ingredient put on the area of a tree, in a unit.
#[track_caller]
fn amount(read: &Read, tree: &str, ingredient: &str, unit: &str) -> Option<f64> {
    let grove = read.whole();
    let tree = grove.trees.find(tree).expect("a tree");
    let found = grove.amount_sprayed(tree, Counting::Ingredient(ingredient), year(), &read.plan);
    found.ok().map(|amount| bloomward::units::clean(amount / spoken::unit(unit).unwrap().factor))
}

#[track_caller]
fn near(found: Option<f64>, expected: f64) {
    let found = found.expect("an amount");
    assert!((found - expected).abs() < 1e-6 * expected, "{found}, expected {expected}");
}

#[test]
fn a_log_left_out_is_unknown_and_none_yet_is_empty() {
    let unknown = read(&[("grove.yaml", &GROVE.replace("sprays: sprays.csv\n", ""))]);
    assert!(!unknown.whole().log.is_known());
    let log = &unknown.whole().log;
    assert!(matches!(log.last(0, &Sprayed::Any, unknown.whole().as_of, &unknown.plan), LastSpray::Unknown));
    assert_eq!(log.count(0, &Sprayed::Any, year(), &unknown.plan), None);
    assert_eq!(
        unknown.whole().amount_sprayed(0, Counting::Ingredient("copper"), year(), &unknown.plan),
        Err(AmountUnknown::NoLog)
    );
    let empty = read(&[("grove.yaml", &GROVE.replace("sprays: sprays.csv", "sprays: none yet"))]);
    let log = &empty.whole().log;
    assert!(log.is_known());
    assert!(matches!(log.last(0, &Sprayed::Any, empty.whole().as_of, &empty.plan), LastSpray::Never));
    assert_eq!(log.count(0, &Sprayed::Any, year(), &empty.plan), Some(0));
    assert_eq!(amount(&empty, "A01", "copper", "lb/ac"), Some(0.0));
}

#[test]
fn trees_sprayed_alike_share_a_history() {
    let read = logged(
        "2027-01-20T05:00,2027-01-20T06:00,grove,copper,,,full,,,,,\n\
         2027-01-10T05:00,2027-01-10T06:00,terrace,sulfur,,,reduced,,,,,\n\
         2027-01-30T05:00,06:30,A02-A03; B02,oil,,,light,,,,,\n\
         2027-02-11T06:00,2027-02-11T07:00,grove,copper,,,full,,,,,\n",
    );
    assert_eq!(of_tree(&read, "A01"), ["2027-01-10 sulfur", "2027-01-20 copper"]);
    assert_eq!(of_tree(&read, "A03"), ["2027-01-10 sulfur", "2027-01-20 copper", "2027-01-30 oil"]);
    assert_eq!(of_tree(&read, "B01"), ["2027-01-20 copper"]);
    assert_eq!(of_tree(&read, "B02"), ["2027-01-20 copper", "2027-01-30 oil"]);
    let log = &read.whole().log;
    assert_eq!((log.rows().len(), log.histories()), (3, 4));
    assert_eq!(log.history_of(1), log.history_of(2));
    // The last row begins after the moment of the advice, and an end may be a time of day alone.
    assert_eq!(log.rows()[2].end.to_string(), "2027-01-30 06:30:00 AST");
}

#[test]
fn what_a_history_says() {
    let read = logged(
        "2027-01-10T05:00,2027-01-10T06:00,grove,sulfur,,,reduced,,,,,\n\
         2027-01-20T05:00,2027-01-20T06:00,grove,copper,,,full,,,,,\n\
         2027-01-20T05:00,2027-01-20T06:00,grove,oil,,,light,,,,,\n\
         2027-02-01T05:00,2027-02-01T06:00,grove,copper with oil,,,reduced with light,,,,,\n",
    );
    let (log, plan, now) = (&read.whole().log, &read.plan, read.whole().as_of);
    let copper = Sprayed::Product(plan.product("copper").unwrap());
    let sulfur = Sprayed::Product(plan.product("sulfur").unwrap());
    let group = Sprayed::Group("M01".into());
    let last = |what: &Sprayed| match log.last(0, what, now, plan) {
        LastSpray::Row(row) => row.day().to_string(),
        LastSpray::Never => "never".to_string(),
        LastSpray::Unknown => "unknown".to_string(),
    };
    assert_eq!(last(&copper), "2027-02-01");
    assert_eq!(last(&sulfur), "2027-01-10");
    assert_eq!(last(&group), "2027-02-01");
    assert_eq!(last(&Sprayed::Group("11".into())), "never");
    // Two rows of one tank are one spray.
    assert_eq!(log.count(0, &Sprayed::Any, year(), plan), Some(3));
    assert_eq!(log.count(0, &copper, year(), plan), Some(2));
    let january = (year().0, NaiveDate::from_ymd_opt(2027, 1, 31).unwrap());
    assert_eq!(log.count(0, &copper, january, plan), Some(1));
    assert_eq!(log.in_a_row(0, &copper, now, plan), Some(2));
    assert_eq!(log.in_a_row(0, &sulfur, now, plan), Some(0));
    assert_eq!(log.in_a_row(0, &Sprayed::Any, now, plan), Some(3));
    let earlier = now.timezone().with_ymd_and_hms(2027, 1, 25, 0, 0, 0).unwrap();
    assert_eq!(log.in_a_row(0, &copper, earlier, plan), Some(1));
}

#[test]
fn a_correction_stands_in_for_the_row_that_it_names() {
    let read = logged(
        "2027-01-10T05:00,2027-01-10T06:00,grove,sulfur,,,reduced,,,,s1,\n\
         2027-01-20T05:00,2027-01-20T06:00,grove,copper,,,full,,,,s2,\n\
         2027-01-21T05:00,2027-01-21T06:00,terrace,copper,,,full,,,,s2,\n\
         2027-01-25T05:00,2027-01-25T06:00,grove,oil,,,light,,,,s3,\n\
         2027-01-11T05:00,2027-01-11T06:00,A01,sulfur,,,reduced,,,,s1,corrects 2\n\
         2027-01-22T05:00,2027-01-22T06:00,A02,copper,,,full,,,,s9,corrects sheet s2: wrong day\n\
         2027-01-25T05:00,2027-01-25T06:00,grove,none,,,,,,,,corrects 5\n",
    );
    assert_eq!(of_tree(&read, "A01"), ["2027-01-11 sulfur"]);
    assert_eq!(of_tree(&read, "A02"), ["2027-01-22 copper"]);
    assert_eq!(of_tree(&read, "B01"), Vec::<String>::new());
}

/// 600 ppm of copper in 1.5 gal on a tree that has 24 ft by 20 ft of land: 1.5 gal are 5.678 L, that is 3.407 g of copper
/// on 480 ft², 0.6817 lb on an acre.
#[test]
fn copper_on_an_area_from_ppm_and_the_sprayer() {
    let read = logged("2027-01-20T05:00,2027-01-20T06:00,terrace,copper,,,reduced,,,,,\n");
    let gallons = 43560.0 / 480.0 * 1.5;
    let pounds = gallons * 3.785411784 * 0.6 / 453.59237;
    near(amount(&read, "A01", "copper", "lb/ac"), pounds);
    assert_eq!(amount(&read, "B01", "copper", "lb/ac"), Some(0.0));
    assert_eq!(amount(&read, "A01", "sulfur", "lb/ac"), Some(0.0));
    let copper = read.plan.product("copper").unwrap();
    let dose = read.whole().dose(0, &read.plan, (copper, 0), Some("copper"), DosePer::Area);
    near(dose.map(|dose| dose / spoken::unit("lb/ac").unwrap().factor), pounds);
    // Of the product it is twice as much, since the jug holds half copper.
    let dose = read.whole().dose(0, &read.plan, (copper, 0), None, DosePer::Area);
    near(dose.map(|dose| dose / spoken::unit("lb/ac").unwrap().factor), pounds * 2.0);
}

#[test]
fn copper_on_an_area_from_each_way_to_say_a_rate() {
    let of = |cells: &str| {
        let read = logged(&format!("2027-01-20T05:00,2027-01-20T06:00,terrace,copper,,,{cells},,\n"));
        amount(&read, "A01", "copper", "lb/ac")
    };
    // Product by area: half of it is copper.
    near(of(",3 lb/ac,,"), 1.5);
    // Copper by area.
    near(of(",3 lb/ac copper,,"), 3.0);
    // By volume of spray, with the volume on an area from the row.
    near(of(",2 lb / 100 gal,150 gal/ac,"), 1.5);
    // With the volume in all, and the area from the row.
    near(of(",2 lb / 100 gal,300 gal,2 ac"), 1.5);
    // With the volume in all, on three trees of 480 ft² each.
    near(of(",2 lb / 100 gal,4.5 gal,"), 4.5 * 0.01 * 43560.0 / 1440.0);
    // With the volume on a tree.
    near(of(",2 lb / 100 gal,2 gal/tree,"), 2.0 * 0.01 * 43560.0 / 480.0);
    // By tree.
    near(of(",1 oz/tree,,"), 0.5 / 16.0 * 43560.0 / 480.0);
    // In all.
    near(of(",4 lb,,0.5 ac"), 4.0);
    // A strength by its name, at the row's own volume: 1200 mg/L in 100 gal.
    near(of("full,,100 gal/ac,"), 1.2 * 378.5411784 / 453.59237);
}

/// A strength of 600 mg of copper in a litre is 1.2 g of a powder of half copper; 1 lb / 100 gal is 1.198 g/L (NIST SP
/// 811), 2 lb twice that.
#[test]
fn a_strength_and_a_rate_that_disagree_are_said_and_the_rate_counts() {
    let of = |cells: &str| {
        let read =
            logged(&format!("2027-01-20T05:00,2027-01-20T06:00,terrace,copper,,,{cells},150 gal/ac,,,\n"));
        let notes: Vec<String> = read.problems.iter().map(|note| note.message.to_string()).collect();
        (amount(&read, "A01", "copper", "lb/ac"), notes)
    };
    let none: Vec<String> = Vec::new();
    assert_eq!(of("reduced,1 lb / 100 gal").1, none);
    assert_eq!(of("reduced,600 ppm copper").1, none);
    let (sprayed, notes) = of("reduced,2 lb / 100 gal");
    near(sprayed, 1.5);
    let said = "the strength `reduced` of copper is 600 ppm copper, but the rate says 2 lb / 100 gal: the rate counts";
    assert_eq!(notes, [said]);
    assert_eq!(of("full,600 ppm copper").1.len(), 1);
    // By area, by tree or in all there is nothing to hold it against without the volume.
    assert_eq!(of("reduced,1 oz/tree").1, none);
    assert_eq!(of("reduced,4 lb/ac").1, none);
}

/// What is logged by its registration alone may have held anything, unless its jug says what.
#[test]
fn what_a_foreign_product_held_is_known_from_its_jug_alone() {
    let rows = format!("{HEAD}2027-01-20T05:00,2027-01-20T06:00,grove,bluestone,,demo-0077,,3 lb/ac,,,,\n");
    let with = |jug: &str| {
        let grove = GROVE.replace("sprayer:", &format!("{jug}sprayer:"));
        read(&[("grove.yaml", &grove), ("sprays.csv", &rows)])
    };
    let none = with("");
    let grove = none.whole();
    let found = grove.amount_sprayed(0, Counting::Ingredient("copper"), year(), &none.plan);
    assert!(matches!(found, Err(AmountUnknown::Content(word, _)) if &**word == "bluestone"), "{found:?}");
    // It is no spray of the rulebook's own products.
    let copper = none.plan.product("copper").unwrap();
    assert_eq!(grove.amount_sprayed(0, Counting::Product(copper), year(), &none.plan), Ok(0.0));
    let quarter =
        "  bluestone: { name: b, registration: demo-0077, form: powder, contains: { copper: 25 % } }\n";
    near(amount(&with(quarter), "A01", "copper", "lb/ac"), 0.75);
    let sulfur =
        "  bluestone: { name: b, registration: demo-0077, form: powder, contains: { sulfur: 80 % } }\n";
    assert_eq!(amount(&with(sulfur), "A01", "copper", "lb/ac"), Some(0.0));
    let unsaid = "  bluestone: { name: b, registration: demo-0077, form: powder }\n";
    assert_eq!(amount(&with(unsaid), "A01", "copper", "lb/ac"), None);
}

#[test]
fn what_a_row_does_not_say_is_unknown() {
    // No spacing, so the sprayer's gallons for a tree say nothing of an acre.
    let grove = GROVE.replace("spacing: 6 m x 5 m", "canopy: { height: 4 m, spread: 3 m }");
    let rows = format!("{HEAD}2027-01-20T05:00,2027-01-20T06:00,grove,copper,,,reduced,,,,,\n");
    let read = read(&[("grove.yaml", &grove), ("sprays.csv", &rows)]);
    let grove = read.whole();
    let tree = grove.trees.find("B01").unwrap();
    let found = grove.amount_sprayed(tree, Counting::Ingredient("copper"), year(), &read.plan);
    assert!(matches!(found, Err(AmountUnknown::Row(on, _)) if &**on == "grove"));
    assert!(amount(&read, "A01", "copper", "lb/ac").is_some());
    // Sulfur by weight of product needs the jug's contents, and there is no jug of sulfur.
    let read = logged("2027-01-20T05:00,2027-01-20T06:00,grove,sulfur,,,full,,,,,\n");
    assert_eq!(amount(&read, "A01", "sulfur", "lb/ac"), None);
    let sulfur = read.plan.product("sulfur").unwrap();
    let tree = read.whole().amount_sprayed(0, Counting::Product(sulfur), year(), &read.plan).unwrap();
    near(Some(tree / spoken::unit("lb/ac").unwrap().factor), 6.0);
}

#[test]
fn a_jug_is_found_by_its_name_or_its_registration() {
    let grove = GROVE.replace(
        "shed:\n",
        "shed:\n  lime: { form: powder, registration: demo-0009, contains: { copper: 10 % } }\n",
    );
    let grove = grove.replace(
        "  copper: {",
        "  copper:\n    - { name: weak copper, registration: demo-0008, form: powder, contains: { copper: 20 % } }\n    - {",
    );
    let of = |cells: &str| {
        let rows = format!("{HEAD}2027-01-20T05:00,2027-01-20T06:00,terrace,{cells},,10 lb/ac,,,,\n");
        let files = [("grove.yaml", grove.as_str()), ("sprays.csv", rows.as_str())];
        let read = read_at(&files.into_iter().collect(), None, UnknownNames::Refuse);
        amount(&read, "A01", "copper", "lb/ac")
    };
    near(of("copper,,"), 2.0);
    near(of("copper,weak copper,"), 2.0);
    near(of("copper,basic copper powder,"), 5.0);
    near(of("copper,,demo-0001"), 5.0);
    // A product that the rulebook does not know counts where its jug says what it holds.
    near(of("lime,,demo-0009"), 1.0);
    assert_eq!(of("zinc,,demo-0077"), None);
    // A jug that is not on the shelf is unknown.
    assert_eq!(of("copper,another copper,"), None);
}

#[test]
fn a_spray_that_broke_a_label_is_a_spray() {
    let read = logged(
        "2027-01-20T05:00,2027-01-20T06:00,grove,copper,,,full,,,,,\n\
         2027-01-21T05:00,2027-01-21T06:00,grove,copper,,,full,,,,,\n",
    );
    assert_eq!(of_tree(&read, "A01").len(), 2);
    assert!(read.problems.is_empty(), "{}", read.problems.plain(&read.sources));
}

/// `1.5 g` at the end of a log may be `1.5 gal` torn off (design: a torn or half-written last row is found and reported,
/// never read as a spray).
#[test]
fn a_last_row_without_a_line_break_is_never_read_as_a_spray() {
    let first = "2027-01-20T06:00,2027-01-20T07:00,A01,copper,,,full,,4 gal,,,\n";
    let last = "2027-02-01T06:00,2027-02-01T07:00,A01,sulfur,,,full,,4 gal,,,left of the row";
    let said = |read: &Read| read.problems.plain(&read.sources);
    assert_eq!(said(&logged(&format!("{first}{last}\n"))), "");
    let torn = logged(&format!("{first}{last}"));
    assert!(torn.problems.any_error());
    assert!(
        said(&torn).starts_with("sprays.csv:3:1: error[input]: the last row is not ended"),
        "{}",
        said(&torn)
    );
    assert!(said(&torn).contains("if it is whole, end it with a line break"), "{}", said(&torn));
}
