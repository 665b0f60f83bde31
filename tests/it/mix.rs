//! Amounts: what growers say, what goes into a tank, and the published tables of extension services.

use bloomward::grove::{
    Block, Canopy, Contained, Content, Form, Jug, JugLabel, Output, Spacing, Sprayer, canopy_spray_per_tree,
    copper_share, row_volume_per_area,
};
use bloomward::labels::{first_picking, re_entry};
use bloomward::source::Span;
use bloomward::sprayday::{MixTrouble, ShownAmount, Spray, WantedStrength, loads, mix, whole_times};
use bloomward::units::{Unit, spoken};
use bloomward::words::Language;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// A table of published or recomputed values; each row by the names of its columns.
pub fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(format!("tests/reference/{name}.csv")).unwrap();
    let rows: Vec<BTreeMap<String, String>> = reader.deserialize().map(Result::unwrap).collect();
    assert!(!rows.is_empty());
    rows
}

fn number(row: &BTreeMap<String, String>, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{row:?} has no number `{column}`"))
}

#[track_caller]
fn close(found: f64, expected: f64, relative: f64, what: &str) {
    let off = (found - expected).abs() / expected.abs().max(1e-300);
    assert!(off <= relative, "{what}: {found}, expected {expected}");
}

#[track_caller]
fn base(text: &str) -> f64 {
    spoken::parse(text).unwrap_or_else(|error| panic!("`{text}`: {error:?}")).amount()
}

fn powder(ingredient: &str, share: f64) -> Jug {
    jug(Form::Powder, ingredient, Contained::OfMass(share))
}

fn jug(form: Form, ingredient: &str, amount: Contained) -> Jug {
    Jug {
        word: "product".into(),
        product: None,
        name: "a jug".into(),
        registration: None,
        form,
        contains: vec![Content { ingredient: ingredient.into(), amount, span: Span::default() }],
        label: JugLabel::default(),
        label_read: None,
        span: Span::default(),
    }
}

fn liquid() -> Jug {
    jug(Form::Liquid(None), "oil", Contained::OfVolume(base("7 lb/gal")))
}

#[track_caller]
fn amount(jug: &Jug, strength: &str, volume: &str, per_area: Option<&str>) -> f64 {
    let spray = Spray { volume: base(volume), per_area: per_area.map(base), per_tree: None };
    let wanted = WantedStrength::spoken(strength).unwrap();
    mix(jug, &wanted, &spray).unwrap_or_else(|trouble| panic!("{strength}: {trouble:?}")).amount
}

fn in_unit(amount: f64, unit: &str) -> f64 {
    amount / spoken::unit(unit).unwrap().factor
}

/// The worked figures of the design: copper at 600 ppm from a powder of 50 % metallic copper.
#[test]
fn copper_at_600_ppm_from_half_metal() {
    let jug = powder("copper", 0.5);
    let shown = |volume: &str| {
        let spray = Spray { volume: base(volume), ..Spray::default() };
        mix(&jug, &WantedStrength::spoken("600 ppm copper").unwrap(), &spray)
            .unwrap()
            .shown
            .iter()
            .map(ShownAmount::figure)
            .collect::<Vec<_>>()
    };
    assert_eq!(shown("2 gal"), ["9.0 g", "0.32 oz"]);
    assert_eq!(shown("25 gal"), ["113 g", "4.0 oz"]);
    assert_eq!(shown("100 gal"), ["454 g", "1.00 lb"]);
}

#[test]
fn an_amount_is_rounded_down_and_says_what_it_makes() {
    let jug = powder("copper", 0.5);
    let spray = Spray { volume: base("25 gal"), ..Spray::default() };
    let mix = mix(&jug, &WantedStrength::spoken("600 ppm copper").unwrap(), &spray).unwrap();
    // 25 gal are 94.635 L; at 0.6 g/L and half metal that is 113.562 g, and 113 g make 597 ppm.
    close(mix.amount, 113.56235352, 1e-9, "amount");
    assert_eq!(mix.unit, "g");
    assert_eq!(mix.strength_shown, "597 ppm copper");
    let figures = |shown: &[ShownAmount]| shown.iter().map(ShownAmount::figure).collect::<Vec<_>>();
    assert_eq!(figures(&mix.per_gallon), ["4.5 g", "0.16 oz"]);
    assert_eq!(figures(&mix.per_litre), ["1.2 g", "0.04 oz"]);
}

#[test]
fn an_ounce_of_the_wrong_kind_names_the_other() {
    let spray = Spray { volume: base("10 gal"), ..Spray::default() };
    let say = |jug: &Jug, strength: &str| {
        let trouble = mix(jug, &WantedStrength::spoken(strength).unwrap(), &spray).unwrap_err();
        Language::English.mix_trouble(&trouble)
    };
    assert_eq!(
        say(&liquid(), "2 oz/gal"),
        "`2 oz/gal` is a weight, but this jug is a liquid: `oz` is a weight, write `fl oz`"
    );
    assert_eq!(
        say(&powder("sulfur", 0.8), "2 fl oz per gallon"),
        "`2 fl oz per gallon` is a volume, but this jug is a powder: `fl oz` is a volume, write `oz`"
    );
    assert_eq!(
        say(&powder("sulfur", 0.8), "600 ppm copper"),
        "the jug does not say how much `copper` it holds: write `contains: { copper: 50 % }`"
    );
    assert!(matches!(WantedStrength::spoken("12"), Err(MixTrouble::NoStrength(_))));
    assert!(matches!(WantedStrength::spoken("5 %"), Err(MixTrouble::NoStrength(_))));
    assert!(matches!(WantedStrength::spoken("600 ppm"), Err(MixTrouble::NoStrength(_))));
}

/// 400 ppm of copper in 100 gal are 151.416 g; a liquid of 10 lb/gal with 10 % of copper holds 1 lb in a gallon.
#[test]
fn a_liquid_whose_contents_are_in_percent_needs_its_weight() {
    let of = |form: Form| jug(form, "copper", Contained::OfMass(0.1));
    let heavy = of(Form::Liquid(Some(base("10 lb/gal"))));
    let millilitres = amount(&heavy, "400 ppm copper", "100 gal", None);
    close(millilitres, 151.41647136 / 453.59237 * 3785.411784, 1e-9, "copper by volume");
    // Of the product by weight: 20 lb are 2 gal.
    close(amount(&heavy, "20 lb / 100 gal", "100 gal", None) * 1e3, base("2 gal"), 1e-9, "product by weight");
    let spray = Spray { volume: base("100 gal"), ..Spray::default() };
    let light = of(Form::Liquid(None));
    let say = |strength: &str| mix(&light, &WantedStrength::spoken(strength).unwrap(), &spray).unwrap_err();
    assert_eq!(say("400 ppm sulfur"), MixTrouble::NoContent("sulfur".into()));
    assert_eq!(
        Language::English.mix_trouble(&say("400 ppm copper")),
        "`400 ppm copper` counts by weight, and what a volume of this liquid weighs is not known: write its \
         `density: 10.4 lb/gal`"
    );
    assert!(matches!(say("2 lb / 100 gal"), MixTrouble::NoWeight(_)));
    assert!(matches!(say("3 pt/ac"), MixTrouble::NoArea(_)));
    assert!(matches!(say("3 mL per tree"), MixTrouble::NoTree(_)));
    let none = Spray::default();
    assert_eq!(mix(&light, &WantedStrength::spoken("1 % v/v").unwrap(), &none), Err(MixTrouble::NoVolume));
}

#[test]
fn the_label_s_own_unit_is_shown_too() {
    let spray = Spray { volume: base("40 gal"), ..Spray::default() };
    let shown = |jug: &Jug, strength: &str| {
        let mix = mix(jug, &WantedStrength::spoken(strength).unwrap(), &spray).unwrap();
        mix.shown.iter().map(ShownAmount::figure).collect::<Vec<_>>()
    };
    assert_eq!(shown(&liquid(), "2 pt / 100 gal"), ["378 mL", "12.8 fl oz", "0.80 pt"]);
    assert_eq!(shown(&liquid(), "1 tbsp/gal"), ["591 mL", "20.0 fl oz", "40.00 tbsp"]);
    assert_eq!(shown(&powder("sulfur", 0.8), "1 kg / 1000 L"), ["151 g", "5.3 oz", "0.15 kg"]);
}

/// tank_mix.csv: extension worksheets and recomputed cases; the source of each stands in its row.
#[test]
fn tank_mixes_of_extension_worksheets() {
    let found = |case: &str| -> Option<f64> {
        let any = powder("ai", 0.8);
        let thirty = powder("copper", 0.3);
        Some(match case {
            "TM01" => in_unit(amount(&any, "2 lb / 100 gal", "300 gal", None), "lb"),
            "TM02" => in_unit(amount(&any, "2 lb / 100 gal", "20 gal", None), "oz"),
            "TM04" => in_unit(amount(&liquid(), "2 pt/100 gal", "20 gal", None) * 1e3, "fl oz"),
            "TM05" => in_unit(base("15 gal/ac") * base("3.5 ac"), "gal"),
            "TM07" => in_unit(amount(&any, "2 lb/ac ai", "15 gal", Some("15 gal/ac")), "lb"),
            "TM08" => in_unit(amount(&powder("ai", 0.05), "10 lb/ac ai", "50 gal", Some("50 gal/ac")), "lb"),
            "TM11" => in_unit(amount(&any, "2 lb per 100 gallons", "500 gal", None), "lb"),
            "TM13" => in_unit(amount(&any, "3.5 lb/ac", "400 gal", Some("80 gal/ac")), "lb"),
            "TM19" => in_unit(amount(&any, "3 lb/ac", "100 gal", Some("50 gal/ac")), "lb"),
            "TM20" => in_unit(amount(&thirty, "1 lb / 100 gal", "1 L", None) * 0.3, "mg"),
            "TM22" => in_unit(amount(&thirty, "6 lb/ac", "50 gal", Some("50 gal/ac")) * 0.3, "lb"),
            "TM23" => {
                in_unit(amount(&powder("copper", 0.35), "5 kg/ha", "500 L", Some("500 L/ha")) * 0.35, "kg")
            }
            "TM25" => whole_times(4.0, 0.45) as f64,
            "TM26" => whole_times(0.6, 0.2) as f64,
            "TM28" => base("16 fl oz / 100 gal") / base("1 % v/v"),
            "TM29" => amount(&any, "500 mg/L of ai", "1000 L", None),
            "TM31" => {
                let jug = jug(Form::Liquid(None), "ai", Contained::OfVolume(base("2.08 lb/gal")));
                let millilitres = amount(&jug, "15.5 fl oz/ac", "30 gal", Some("30 gal/ac"));
                in_unit(millilitres * 1e3 * jug.strength("ai").unwrap(), "lb")
            }
            "TM32" => in_unit(amount(&liquid(), "2.5 mL/L", "1 gal", None) * 1e3, "fl oz"),
            "TM38" => whole_times(base("300 gal"), base("6.5 gal")) as f64,
            _ => return None,
        })
    };
    let mut checked = 0;
    for row in table("tank_mix") {
        if let Some(found) = found(&row["case_id"]) {
            close(found, number(&row, "expected"), 1e-6, &row["kind"]);
            checked += 1;
        }
    }
    assert_eq!(checked, 19);
}

/// TM10 of tank_mix.csv: 1 % of ingredient in 100 gal from a liquid of 1 lb/gal. The table takes a gallon of spray for
/// 8.34 lb of water; by weight in volume a gallon of 1 % holds 37.854 g, 8.3454 gal in all, which agree in a thousandth.
#[test]
fn a_percentage_of_ingredient_is_by_weight_in_volume() {
    let row = table("tank_mix").into_iter().find(|row| row["case_id"] == "TM10").unwrap();
    let jug = jug(Form::Liquid(None), "ai", Contained::OfVolume(base("1 lb/gal")));
    let gallons = in_unit(amount(&jug, "1 % w/v of ai", "100 gal", None) * 1e3, "gal");
    close(gallons, number(&row, "expected"), 1e-3, "TM10");
    // 10 g/L in 378.5411784 L, from 119.826427 g/L.
    close(gallons, 3785.411784 / 119.826427 / 3.785411784, 1e-7, "by weight in volume");
}

/// The cases of tank_mix.csv whose expectation is a phrase.
#[test]
fn loads_of_extension_worksheets() {
    let phrase = |case: &str| {
        table("tank_mix").into_iter().find(|row| row["case_id"] == case).unwrap()["expected"].clone()
    };
    let job = loads(22.0 * 80.0, 400.0);
    assert_eq!(format!("{} full + {} gal", job.full, job.last), phrase("TM14"));
    // 3 ac at 250 gal/ac in a tank of 500 gal, held to 4 lb/ac.
    let any = powder("ai", 0.8);
    let job = loads(750.0, 500.0);
    let of = |gallons: f64| {
        in_unit(amount(&any, "4 lb/ac", &format!("{gallons} gal"), Some("250 gal/ac")), "lb").round()
    };
    assert_eq!((job.full, job.last), (1, 250.0));
    assert_eq!(format!("tank1 {} lb, tank2 {} lb", of(500.0), of(job.last)), phrase("TM34"));
    // By volume of finished spray, not of water.
    let oil = in_unit(amount(&liquid(), "2 % v/v", "100 gal", None) * 1e3, "gal");
    close(oil, 2.0, 1e-9, "oil");
    assert_eq!(format!("{:.0} gal oil + {:.0} gal water", oil, 100.0 - oil), phrase("TM35"));
}

#[test]
fn a_last_load_is_exact_and_a_missing_tank_is_one_load() {
    assert_eq!(loads(90.0, 25.0), bloomward::sprayday::Loads { full: 3, last: 15.0 });
    assert_eq!(loads(0.3, 0.1), bloomward::sprayday::Loads { full: 3, last: 0.0 });
    assert_eq!(loads(20.0, 25.0), bloomward::sprayday::Loads { full: 0, last: 20.0 });
    assert_eq!(loads(20.0, 0.0), bloomward::sprayday::Loads { full: 0, last: 20.0 });
}

/// copper_fraction.csv: stoichiometry from IUPAC abridged atomic masses; copper_label.csv rounds the fractions
/// to five digits.
#[test]
fn metal_in_copper_compounds() {
    for row in table("copper_fraction") {
        let share = copper_share(&row["compound"]).unwrap_or_else(|| panic!("{}", row["compound"]));
        close(share, number(&row, "metallic_cu_mass_fraction"), 3e-5, &row["compound"]);
    }
    for row in table("copper_label") {
        let share = copper_share(&row["compound"]).unwrap() * number(&row, "compound_pct_in_product");
        assert!((share - number(&row, "metallic_cu_pct")).abs() < 0.001, "{row:?}: {share}");
    }
    assert_eq!(copper_share("wettable sulfur"), None);
}

/// units_exact.csv: NIST SP 811 and Handbook 44. The survey acre, psi and bar are not spoken here.
#[test]
fn units_are_exact() {
    let spoken = |row: &BTreeMap<String, String>| -> Option<(&'static str, &'static str)> {
        Some(match row["case_id"].as_str() {
            "UC01" => ("1 in", "m"),
            "UC02" => ("1 ft", "m"),
            "UC03" => ("1 mile", "m"),
            "UC04" => ("1 ft²", "m²"),
            "UC05" => ("1 cu ft", "L"),
            "UC06" => ("1 acre", "m²"),
            "UC08" => ("1 ha", "m²"),
            "UC09" => ("1 gal", "L"),
            "UC10" => ("1 fl oz", "mL"),
            "UC11" => ("1 pint", "L"),
            "UC12" => ("1 Quart", "L"),
            "UC13" => ("1 TBSP", "mL"),
            "UC14" => ("1 teaspoon", "mL"),
            "UC15" => ("1 cup", "mL"),
            "UC16" => ("1 imperial gallon", "L"),
            "UC18" => ("1 lb", "g"),
            "UC19" => ("1 oz", "g"),
            "UC20" => ("1 mph", "m/s"),
            "UC21" => ("1 knot", "m/s"),
            "UC22" => ("1 km/h", "m/s"),
            "UC25" => ("1 inch", "mm"),
            "UC26" => ("1 °F", "°C"),
            "UC27" => ("1 lb/acre", "kg/ha"),
            "UC28" => ("1 gal/ac", "L/ha"),
            "UC29" => ("1 lb / 100 gal", "g/L"),
            "UC30" => ("1 oz/gal", "g/L"),
            "UC31" => ("1 fl oz/gal", "% v/v"),
            "UC32" => ("1 gal / 1000 ft³", "L/m³"),
            "UC33" => ("1 oz/ac", "g/ha"),
            "UC34" => ("1 fl oz/ac", "mL/ha"),
            "UC35" => ("1 pint/acre", "L/ha"),
            _ => return None,
        })
    };
    let mut checked = 0;
    for row in table("units_exact") {
        if let Some((from, to)) = spoken(&row) {
            close(in_unit(base(from), to), number(&row, "value_si"), 1e-12, &row["name"]);
            checked += 1;
        }
    }
    assert_eq!(checked, 31);
}

/// unit_conversions.csv, with the tolerance of each row; psi is not spoken here.
#[test]
fn conversions_of_spoken_units() {
    let mut checked = 0;
    for row in table("unit_conversions") {
        if row["from_unit"] == "psi" {
            continue;
        }
        let plain = |unit: &str| unit.replace(" (mass)", "");
        let from = spoken::parse(&format!("{} {}", row["value"], plain(&row["from_unit"]))).unwrap();
        let to: Unit = spoken::unit(&plain(&row["to_unit"])).unwrap();
        let found =
            if to.is_temperature() { to.point_from_base(from.point()) } else { from.amount() / to.factor };
        close(found, number(&row, "expected"), number(&row, "tolerance_relative").max(1e-9), &row["case_id"]);
        checked += 1;
    }
    assert_eq!(checked, 20);
}

/// tree_row_volume.csv: published worksheets and constructed rows in both systems of units.
#[test]
fn tree_row_volumes() {
    for row in table("tree_row_volume") {
        let length = |column: &str| base(&format!("{} {}", row[column], row["length_unit"]));
        let canopy = Canopy {
            height: length("height"),
            skirt: length("skirt_height"),
            spread: length("cross_row_spread"),
            density: Some(base(&format!("{} {}", row["density"], row["density_unit"].replace("ft3", "ft³")))),
        };
        let spacing = Spacing { rows: length("row_spacing"), trees: base("5 m") };
        let volume = row_volume_per_area(spacing, &canopy);
        let per = |unit: &str| volume / spoken::unit(unit).unwrap().factor;
        close(per("ft³/ac"), number(&row, "trv_ft3_per_acre"), 1e-6, &row["case_id"]);
        close(per("m³/ha"), number(&row, "trv_m3_per_ha"), 1e-6, &row["case_id"]);
        let sprayer = Sprayer { output: Output::OfCanopy, ..Sprayer::default() };
        let block = Block {
            name: "block".into(),
            spacing: Some(spacing),
            canopy: Some(canopy),
            harvest: None,
            span: Span::default(),
        };
        let spray = sprayer.volume_per_area(&block).unwrap();
        close(in_unit(spray, "gal/ac"), number(&row, "dilute_gal_per_acre"), 1e-6, &row["case_id"]);
        close(in_unit(spray, "L/ha"), number(&row, "dilute_l_per_ha"), 1e-6, &row["case_id"]);
        let each = canopy_spray_per_tree(spacing, &canopy).unwrap();
        close(each, spray * spacing.area(), 1e-12, "per tree");
    }
}

/// sprayer_calibration.csv: the rows that speak of trees and land.
#[test]
fn volumes_of_trees_and_land() {
    let expected = |case: &str| {
        let row = table("sprayer_calibration").into_iter().find(|row| row["case_id"] == case).unwrap();
        number(&row, "expected")
    };
    let block = |spacing: f64| Block {
        name: "block".into(),
        spacing: Some(Spacing { rows: spacing, trees: spacing }),
        canopy: None,
        harvest: None,
        span: Span::default(),
    };
    let per_acre = |spacing: &str| base("1 ac") / block(base(spacing)).spacing.unwrap().area();
    close(per_acre("6 ft"), expected("CA10"), 1e-6, "CA10");
    close(per_acre("5 ft"), expected("CA13"), 1e-6, "CA13");
    let sprayer = Sprayer { output: Output::PerArea(base("100 gal/ac")), ..Sprayer::default() };
    let each = sprayer.volume_per_tree(&block(base("6 ft"))).unwrap();
    close(in_unit(each, "gal"), expected("CA11"), 1e-6, "CA11");
    // 3 gal on 100 trees, on land that bears 1742 of them to the acre.
    let side = (base("1 ac") / 1742.0).sqrt();
    let sprayer = Sprayer { output: Output::PerTree(base("3 gal") / 100.0), ..Sprayer::default() };
    let on_acre = sprayer.volume_per_area(&block(side)).unwrap();
    close(in_unit(on_acre, "gal/ac"), expected("CA14"), 1e-6, "CA14");
}

/// rei_entry.csv: elapsed hours from the end of the spray, the longest of a mix (40 CFR 170).
#[test]
fn re_entry_counts_elapsed_hours() {
    for row in table("rei_entry") {
        let zone: Tz = row["iana_tz"].parse().unwrap();
        let end = DateTime::parse_from_rfc3339(&row["application_end_local"]).unwrap().with_timezone(&zone);
        let hours = row["rei_hours_of_each_product"].split('+').map(|hours| hours.parse::<f64>().unwrap());
        let open = re_entry(end, hours.fold(0.0, f64::max));
        assert_eq!(open.to_rfc3339(), row["earliest_entry_local"], "{}", row["case_id"]);
    }
}

/// phi_harvest.csv, by the calendar rule, which is the one of the language.
#[test]
fn days_before_harvest_are_calendar_days() {
    for row in table("phi_harvest") {
        let zone: Tz = row["iana_tz"].parse().unwrap();
        let end = DateTime::parse_from_rfc3339(&row["application_end_local"]).unwrap().with_timezone(&zone);
        let expected: NaiveDate = row["earliest_harvest_date_calendar_rule"].parse().unwrap();
        assert_eq!(first_picking(end.date_naive(), number(&row, "phi_days")), expected, "{}", row["case_id"]);
    }
}

/// Spaces, capitals and plurals do not matter.
#[test]
fn quantities_as_growers_say_them() {
    let same = [
        ("2 TBSP per Gallon", "1 fl oz/gal"),
        ("½ oz / gal", "0.5 ounces per gallon"),
        ("2 tbsp / gal", "2 tablespoons a gallon"),
        ("1 1/2 cups", "12 fl. oz."),
        ("1/4 lb", "4 OZ"),
        ("3 tsp", "1 tablespoon"),
        ("1:100", "1 % v/v"),
        ("1 % w/v", "10 g/L"),
        ("600ppm copper", "600 mg/L of copper"),
        ("2 lbs/100gal", "2 pounds per 100 gallons"),
        ("48h", "2 days"),
        ("10 kts", "18.52 kph"),
        ("5 L per 1000 m²", "50 L/ha"),
        ("4 quarts", "1 Gal"),
        ("1 gallon of water", "3785.411784 ml"),
        ("3 feet", "1 yd"),
        ("2.5E1 mm", "2.5 cm"),
        ("1 g / 10 L", "0.1 g/l"),
    ];
    for (said, as_well) in same {
        close(base(said), base(as_well), 1e-12, said);
        assert_eq!(
            spoken::parse(said).unwrap().unit.dimension,
            spoken::parse(as_well).unwrap().unit.dimension,
            "{said}"
        );
    }
    let tree = spoken::parse("1.5 gal / tree").unwrap();
    assert!(tree.per_tree);
    close(tree.amount(), base("1.5 gal"), 1e-12, "per tree");
    assert_eq!(spoken::parse("3 lb/ac copper").unwrap().of.as_deref(), Some("copper"));
    assert_eq!(&*spoken::parse("600 ppm copper").unwrap().unit.symbol, "ppm copper");
    close(spoken::parse("-10 °F").unwrap().point(), -23.333333333333332, 1e-12, "°F");
}

#[test]
fn what_is_not_a_quantity() {
    use spoken::Unspoken;
    assert_eq!(spoken::parse(""), Err(Unspoken::NoNumber));
    assert_eq!(spoken::parse("about 3 gal"), Err(Unspoken::NoNumber));
    assert!(matches!(spoken::parse("1,5 gal"), Err(Unspoken::Number(_))));
    assert!(matches!(spoken::parse("1e999 gal"), Err(Unspoken::Number(_))));
    assert_eq!(spoken::parse("3 gallns"), Err(Unspoken::Unit("gallns".into(), Some("gal"))));
    assert!(matches!(spoken::parse("3 lb / 0 gal"), Err(Unspoken::Number(_))));
    assert!(matches!(spoken::parse("1:0"), Err(Unspoken::Number(_))));
}
