//! Numbers near a threshold: every one is on it, below it or above it, in all units and sizes and wherever it is held
//! against one.

use super::case::{Case, case, verdict};
use super::check_plan::plan;
use bloomward::measure::{Extent, Truth, compare, lookup};
use bloomward::plan::{Bound, CellValue, Compare, Datum, Kind, Pattern, Plan};
use bloomward::problems::Finding;
use bloomward::prove;
use bloomward::situation::Axis;
use bloomward::source::Span;
use bloomward::units::{Dimension, Threshold, Unit, plain, symbols};
use proptest::prelude::*;

const DIMENSIONS: &[Dimension] = &[
    Dimension::NONE,
    Dimension::LENGTH,
    Dimension::AREA,
    Dimension::VOLUME,
    Dimension::MASS,
    Dimension::TIME,
    Dimension::TEMPERATURE,
    Dimension::SPEED,
    Dimension::PRESSURE,
];

/// Returns every unit with the kinds of numbers that are written in it: all of the table, and every rate of them.
fn units() -> Vec<(Unit, Kind)> {
    let of = |dimension: Dimension| symbols(dimension).into_iter().map(|symbol| plain(symbol).unwrap());
    let mut all: Vec<(Unit, Kind)> =
        DIMENSIONS.iter().flat_map(|it| of(*it).map(|unit| (unit, Kind::Quantity(*it)))).collect();
    assert_eq!(all.len(), 36, "every unit of the table");
    for amount in of(Dimension::MASS).chain(of(Dimension::VOLUME)) {
        for base in of(Dimension::AREA).chain(of(Dimension::VOLUME)) {
            for per in [1.0, 100.0] {
                let rate = Unit::rate(&amount, per, &base);
                let kind = Kind::Quantity(rate.dimension);
                all.push((rate, kind));
            }
        }
    }
    all.push((Unit::ppm("copper"), Kind::Quantity(Dimension::CONCENTRATION)));
    all.extend(of(Dimension::TEMPERATURE).map(|unit| (unit, Kind::Temperature)));
    all.extend([
        (plain("%").unwrap(), Kind::Share),
        (Unit::none(), Kind::Number),
        (Unit::none(), Kind::Count),
    ]);
    all.push((plain("h").unwrap(), Kind::Clock));
    all
}

fn base(unit: &Unit, kind: Kind, number: f64) -> f64 {
    if kind == Kind::Temperature { unit.point_to_base(number) } else { unit.amount_to_base(number) }
}

fn bound(unit: &Unit, at: Threshold, closed: bool) -> Bound {
    Bound { at, closed, unit: unit.clone(), figure: None, span: Span::default() }
}

fn from(bound: Bound) -> Compare {
    Compare::Numbers { low: Some(bound), high: None }
}

fn to(bound: Bound) -> Compare {
    Compare::Numbers { low: None, high: Some(bound) }
}

/// `at least`, `below`, `at most` and `above` a number.
fn four(unit: &Unit, at: Threshold) -> [Compare; 4] {
    [
        from(bound(unit, at, true)),
        to(bound(unit, at, false)),
        to(bound(unit, at, true)),
        from(bound(unit, at, false)),
    ]
}

/// A table of two rows, whose patterns are put in.
fn two_rows(kind: Kind, patterns: [Pattern; 2]) -> Plan {
    let mut plan = plan("table two\n  of number\n  gives number\n  at least 1 1\n  below 1 2\n");
    let table = &mut plan.tables[0];
    table.keys = vec![kind];
    for (row, pattern) in table.rows.iter_mut().zip(patterns) {
        row.patterns = vec![pattern];
    }
    plan
}

/// Which of the rows of a table give a number: the first, the second, none.
fn row(plan: &Plan, number: f64) -> Option<bool> {
    let (found, _) = lookup(plan, &plan.tables[0], &[Extent::number(number)]);
    match plan.tables[0].rows[0].gives {
        CellValue::One(Datum::Number(first)) => found.one_number().map(|it| it == first),
        _ => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]
    #[test]
    fn of_at_least_and_below_exactly_one_holds_in_every_unit_and_size(
        which in 0..units().len(),
        exponent in -9i32..=9,
        digits in 1.0..10.0f64,
        sign in prop_oneof![Just(1.0), Just(1.0), Just(-1.0), Just(0.0)],
        away in prop_oneof![
            Just(0.0),
            (-30i32..=30).prop_map(|it| f64::from(it) * 1e-9),
            -1e-6..1e-6f64,
            -0.2..0.2f64,
        ],
    ) {
        let (unit, kind) = units()[which].clone();
        let number = sign * digits * 10f64.powi(exponent);
        let reading = number + away * if number == 0.0 { 1.0 } else { number.abs() };
        let at = kind.threshold(&unit, base(&unit, kind, number));
        let value = base(&unit, kind, reading);
        let [least, below, most, above] = four(&unit, at);

        let holds = |with: &Compare| match compare(Extent::number(value), with) {
            Truth::Yes => true,
            Truth::No => false,
            Truth::Open => panic!("one number is settled"),
        };
        prop_assert!(holds(&least) != holds(&below), "{number} {reading} {}", unit.symbol);
        prop_assert!(holds(&most) != holds(&above), "{number} {reading} {}", unit.symbol);
        let on = holds(&least) && holds(&most);
        prop_assert_eq!(on, at.is_on(value));
        // What goes to base units by an offset loses what is far smaller than it.
        if unit.offset == 0.0 || number.abs() > 1e-3 {
            if away.abs() < 0.999e-8 {
                prop_assert!(on, "{number} {reading} {}", unit.symbol);
            }
            if away.abs() > 1.001e-8 {
                prop_assert!(!on, "{number} {reading} {}", unit.symbol);
            }
        }

        let small = plan("");
        let axis = Axis::new(&small, kind, &[&least, &below, &most, &above], false);
        let cells = axis.touched(Extent::number(value));
        prop_assert_eq!(cells.only(), Some(axis.cell(value)));
        for with in [&least, &below, &most, &above] {
            prop_assert_eq!(cells.is_within(&axis.holds(with)), holds(with));
        }

        let numbers = |low, high| Pattern::Numbers { low, high };
        let rows = two_rows(kind, [numbers(Some((at, true)), None), numbers(None, Some((at, false)))]);
        prop_assert_eq!(row(&rows, value), Some(holds(&least)));
        let rows = two_rows(kind, [numbers(Some((at, false)), None), numbers(None, Some((at, true)))]);
        prop_assert_eq!(row(&rows, value), Some(holds(&above)));
    }

    #[test]
    fn every_number_is_in_one_cell(
        which in 0..units().len(),
        exponent in -9i32..=9,
        digits in 1.0..10.0f64,
        apart in prop::collection::vec(
            prop_oneof![Just(0.0), 0.0..3e-8f64, Just(1e-8), Just(2e-8), 0.0..0.5f64, Just(-1.0), Just(-1.0 + 1e-9)],
            1..5,
        ),
        whole in any::<bool>(),
    ) {
        let (unit, kind) = units()[which].clone();
        let whole = whole && kind == Kind::Count;
        let first = digits * 10f64.powi(exponent);
        let thresholds: Vec<Threshold> = apart
            .iter()
            .map(|part| kind.threshold(&unit, base(&unit, kind, first * (1.0 + part))))
            .collect();
        let compares: Vec<Compare> = thresholds.iter().flat_map(|at| four(&unit, *at)).collect();
        let small = plan("");
        let axis = Axis::new(&small, kind, &compares.iter().collect::<Vec<_>>(), whole);

        let mut numbers = vec![f64::NEG_INFINITY, f64::INFINITY, f64::MIN, f64::MAX, 0.0];
        for at in &thresholds {
            let (low, high) = at.on();
            numbers.extend([at.value(), low, high]);
            numbers.extend([low.next_down(), high.next_up(), low.next_up(), high.next_down()]);
        }
        numbers.sort_by(f64::total_cmp);
        let between: Vec<f64> = numbers.windows(2).map(|pair| pair[0] / 2.0 + pair[1] / 2.0).collect();
        numbers.extend(between);
        numbers.sort_by(f64::total_cmp);
        let mut before = 0;
        for number in &numbers {
            let cell = axis.cell(*number);
            prop_assert!(cell >= before && cell < axis.empty(), "cells lie in the order of numbers");
            before = cell;
            prop_assert_eq!(axis.touched(Extent::number(*number)).only(), Some(cell));
            if !whole {
                let (low, high) = axis.part(cell, (*number, *number)).expect("the cell has this number");
                let threshold = thresholds.iter().any(|at| at.value() == low);
                prop_assert!(low == high && (low == *number || (cell % 2 == 1 && threshold)));
            }
            // Of each pair of words exactly one holds here.
            for four in compares.chunks(4) {
                let holds = |at: usize| axis.holds(&four[at]).contains(cell);
                prop_assert!(holds(0) != holds(1) && holds(2) != holds(3) && (holds(0) || holds(2)));
            }
        }
        // A range is in the cells of its ends and of what lies between, and in no other.
        for pair in numbers.windows(2) {
            let touched = axis.touched(Extent::between(pair[0], pair[1]));
            prop_assert!(touched.contains(axis.cell(pair[0])));
            prop_assert!(whole || touched.contains(axis.cell(pair[1])));
            prop_assert!(touched.iter().all(|it| (axis.cell(pair[0])..=axis.cell(pair[1])).contains(&it)));
            let parts = axis.split(Extent::between(pair[0], pair[1]));
            prop_assert!(whole || parts.len() == touched.iter().count());
        }
        // The value of each threshold is on it, also where another lies so near that it is the same.
        for at in &thresholds {
            prop_assert_eq!(axis.cell(at.value()) % 2, 1);
        }
    }
}

/// Copper on land is told at 1 kg/ha; the gate of oil is told by pounds on an acre.
const BOOK: &str = "
product copper
  contains copper
  strength full 1 kg / ha copper
  cites own
product oil
  strength thin 10 mL/L
  cites own
measure put-on = amount of copper this season
choice much
  advise hold
  if put-on at least 1 kg / ha
  because \"x\"
  cites own
choice little
  advise oil at thin
  if put-on below 1 kg / ha
  because \"x\"
  cites own
";

/// A tree of 480 ft² that has had so much copper.
fn sprayed(book: &str, amount: &str) -> Case {
    let keys = "shed:\n  copper: { name: c, registration: demo-0001, form: powder, contains: { copper: 50 % } }\n\
        blocks:\n  - { block: b, spacing: 24 ft x 20 ft }\n\
        trees:\n  - { tree: A1, block: b, cultivar: Kent }\n";
    let row = format!("2027-01-10T05:00,2027-01-10T06:00,A1,copper,,{amount} copper\n");
    case(book, keys).sprays(format!("start,end,on,product,strength,rate\n{row}"))
}

#[test]
fn amounts_on_land_are_told_apart_at_their_threshold() {
    for (amount, then) in [
        ("0.88 kg/ha", "oil"),
        ("0.90 kg/ha", "oil"),
        ("0.999999 kg/ha", "oil"),
        ("1 kg/ha", "hold"),
        ("1.000001 kg/ha", "hold"),
        ("1.11 kg/ha", "hold"),
    ] {
        let verdict = verdict(&sprayed(BOOK, amount).advise(), "A1");
        assert!(verdict.contains(then), "{amount}: {verdict}");
    }
}

#[test]
fn a_gate_on_amounts_on_land_speaks_just_above_its_threshold() {
    let book = BOOK
        .replace("put-on at least 1 kg / ha", "put-on at least 900 lb / ac")
        .replace("put-on below 1 kg / ha", "put-on below 900 lb / ac")
        + "gate enough\n  shuts oil\n  if put-on above 12 lb / ac\n  because \"x\"\n  cites own\n";
    for (amount, shut) in
        [("11.9 lb/ac", false), ("12 lb/ac", false), ("12.0001 lb/ac", true), ("12.08 lb/ac", true)]
    {
        let verdict = verdict(&sprayed(&book, amount).advise(), "A1");
        assert_eq!(!verdict.contains("oil"), shut, "{amount}: {verdict}");
    }
}

#[test]
fn a_strength_just_above_its_label_is_reported_by_the_checker() {
    let of = |strength: &str| {
        let book = BOOK.replace(
            "strength full 1 kg / ha copper",
            &format!("strength full {strength} copper\n  label single at most 1 kg / ha copper"),
        );
        sprayed(&book, "0.5 kg/ha").try_advise()
    };
    for strength in ["1.09 kg / ha", "1.001 kg / ha"] {
        let problems = of(strength).unwrap_err();
        assert!(problems.contains("above its label"), "{strength}: {problems}");
    }
    for strength in ["1 kg / ha", "1000 g / ha", "0.99 kg / ha"] {
        assert!(of(strength).is_ok(), "{strength}");
    }
}

#[test]
fn strengths_on_land_are_listed_weakest_first() {
    let of = |weak: &str| {
        let strengths = format!("strength full 1 kg / ha copper\n  strength more {weak} copper");
        sprayed(&BOOK.replace("strength full 1 kg / ha copper", &strengths), "0.5 kg/ha").try_advise()
    };
    assert!(of("0.97 kg / ha").unwrap_err().contains("weaker than the one before"));
    assert!(of("1.03 kg / ha").is_ok());
}

#[test]
fn a_reading_on_the_rim_of_a_threshold_leads_to_one_verdict() {
    let book = "observe heat\n  kind temperature\n  of tree\n  ask \"How hot?\"\n\
        choice hot\n  advise hold\n  if heat at least 30 °C\n  because \"x\"\n  cites own\n\
        product oil\n  strength thin 10 mL/L\n  cites own\n\
        choice cool\n  advise oil at thin\n  if heat below 30 °C\n  because \"x\"\n  cites own\n";
    for (heat, then) in [
        ("29.99999965 °C", "oil"),
        ("29.99999968 °C", "oil"),
        ("29.99999969 °C", "oil"),
        ("29.9999997 °C", "oil"),
        ("29.99999971 °C", "hold"),
        ("29.99999999 °C", "hold"),
        ("86 °F", "hold"),
        ("30 °C", "hold"),
        ("30.0000003 °C", "hold"),
        ("29 °C to 29.99999965 °C", "oil"),
    ] {
        let keys = format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n  - {{ tree: A1, heat: {heat} }}\n");
        let verdict = verdict(&case(book, &keys).advise(), "A1");
        assert!(verdict.contains(then), "{heat}: {verdict}");
    }
}

/// A guide that sprays where both of two ways to count say the same as the number of hours or days.
fn counted(first: &str, second: &str, all: &str) -> String {
    format!(
        "product oil\n  strength thin 10 mL/L\n  cites own\n\
        daily warmest = highest temperature over that day\n\
        tally hot-days\n  cites own\n  over last 2 days\n  starts 0\n  add 1 if warmest at least 30 °C\n\
        tally cool-days\n  cites own\n  over last 2 days\n  starts 0\n  add 1 if warmest below 30 °C\n\
        measure hot-hours = hours with temperature at least 30 °C over last 24 h\n\
        measure cool-hours = hours with temperature below 30 °C over last 24 h\n\
        measure both = {first} + {second}\n\
        choice right\n  advise oil at thin\n  if both at least {all} and both at most {all}\n  because \"x\"\n  cites own\n\
        choice wrong\n  advise hold\n  if both below {all}\n  because \"x\"\n  cites own\n\
        choice wrong-too\n  advise hold\n  if both above {all}\n  because \"x\"\n  cites own\n"
    )
}

#[test]
fn hours_and_tallies_count_each_reading_on_one_side_of_a_threshold() {
    for heat in ["29.9999996", "29.9999997", "29.99999971", "30", "30.0000003", "30.0000004"] {
        let mut csv = String::from("time,temperature [°C],humidity [%],rain [mm]\n");
        for hour in 0..78u32 {
            csv += &format!("2027-02-{:02}T{:02}:00,{heat},80,0\n", 8 + hour / 24, hour % 24);
        }
        for (first, second, all) in [("hot-hours", "cool-hours", "24 h"), ("hot-days", "cool-days", "2")] {
            let book = counted(first, second, all);
            let keys = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
            let advice = case(&book, keys).measured(csv.clone()).advise();
            let verdict = verdict(&advice, "A1");
            assert!(verdict.contains("oil"), "{heat} {first}: {verdict}");
        }
    }
}

/// Returns whether two choices on amounts on land disagree somewhere: one of each amount below a limit, one of their sum.
fn disagree(each: &str, sum: &str) -> bool {
    let product = |name: &str| {
        format!("product {name}\n  contains {name}\n  strength full 1 kg / ha {name}\n  cites own\n")
    };
    let text = format!(
        "source own \"made for tests\"\n{}{}measure copper-on = amount of copper this season\n\
         measure sulfur-on = amount of sulfur this season\n\
         measure all-on = amount of copper this season + amount of sulfur this season\n\
         choice little\n  advise copper at full\n  if copper-on below {each} and sulfur-on below {each}\n  cites own\n\
         choice much\n  advise hold\n  if all-on at least {sum}\n  cites own\n",
        product("copper"),
        product("sulfur"),
    );
    let found = prove::findings(&plan(&text));
    found.iter().any(|it| it.finding == Finding::Conflict)
}

/// 0.9975 and 0.9975 are 1.995; two amounts below 1 are never 2.
#[test]
fn sums_of_amounts_on_land_are_proved_to_a_small_part_of_them_however_small() {
    for unit in ["kg / ha", "lb / ac", "g / ha", "mg / ha", "mg / ac"] {
        assert!(disagree(&format!("1 {unit}"), &format!("1.995 {unit}")), "below in {unit}");
        assert!(!disagree(&format!("1 {unit}"), &format!("2.001 {unit}")), "above in {unit}");
    }
}
