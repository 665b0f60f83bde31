//! Arithmetic and tables on what is known, not known, and does not exist.

use super::weather_measures::plan;
use bloomward::measure::{Cause, Extent, Possible, Reading, evaluate};
use bloomward::plan::{Origin, Plan};
use proptest::prelude::*;

const ITEMS: &str = r#"
observe a
  kind number
  of tree
  range from -1000 to 1000
observe b
  kind number
  of tree
  range from -1000 to 1000
observe warm
  kind temperature
  of tree
  range from -50 °C to 60 °C
observe wet
  kind duration
  of tree
  range from 0 h to 100 h
observe looked
  kind count
  of tree
  range from 0 to 40

measure added = a + b
measure difference = a - b
measure times = a * b
measure quotient = a / b
measure power-two = a ^ 2
measure power-half = a ^ 0.5
measure power-back = a ^ -1
measure power-of = a ^ b
measure root = square root of a
measure log = natural log of a
measure grown = exponential of (a / 100)
measure bounded = a kept from -5 to 5
measure moving = a kept from b to (b + 10)
measure whole = a rounded to 1
measure tenth = a rounded to 0.1
measure greater-one = greater of a and b
measure lesser-one = lesser of a and b
measure saved = a / b or else 7
measure in-fahrenheit = warm in °F
measure whole-celsius = warm rounded to 1 °C
measure whole-fahrenheit = warm rounded to 1 °F
measure five-fahrenheit = warm rounded to 5 °F
measure hours-plain = wet in h
measure polynomial = ((warm in °C) - 10) * (wet in h) ^ 1.5 / 20 - 3

table exact
  of temperature
  gives count
  15 °C 26
  20 °C 14
  25 °C 10
table straight
  of temperature
  gives duration
  15 °C 26 h
  20 °C 14 h
  25 °C 10 h
  between linear
  beyond empty
table steps
  of temperature
  gives count
  15 °C 26
  20 °C 14
  25 °C 10
  between step
  beyond ends
table cells
  of temperature, duration
  gives count
  from 13 °C to below 18 °C, from 7 h to 15 h 1
  from 13 °C to below 18 °C, above 15 h 2
  from 18 °C to 26 °C, above 3 h 3
  otherwise 0
table counted
  of count
  gives number
  below 3 1
  from 3 to 5 2
  above 5 3

measure at-exact = exact at warm
measure at-straight = straight at warm
measure at-steps = steps at warm
measure at-cells = cells at warm, wet
measure at-counted = counted at looked
"#;

/// What each observation of a test can be.
#[derive(Clone, Copy, Debug)]
struct World {
    a: Extent,
    b: Extent,
    warm: Extent,
    wet: Extent,
    looked: Extent,
}

fn value(plan: &Plan, name: &str, world: &World) -> Reading {
    let id = plan.name(name).unwrap_or_else(|| panic!("no {name}"));
    let Origin::Measure(measure) = &plan[id].origin else { panic!("{name} is no measure") };
    evaluate(&measure.expr, plan, &mut |leaf| {
        let bloomward::plan::ExprNode::Name(name) = &*leaf.node else { panic!("{leaf:?}") };
        Reading::known(match &*plan[*name].word {
            "a" => world.a,
            "b" => world.b,
            "warm" => world.warm,
            "wet" => world.wet,
            _ => world.looked,
        })
    })
}

fn one(number: f64) -> Extent {
    Extent::number(number)
}

const SOME: World = World {
    a: Extent::EMPTY,
    b: Extent::EMPTY,
    warm: Extent::EMPTY,
    wet: Extent::EMPTY,
    looked: Extent::EMPTY,
};

fn of_a(a: f64) -> World {
    World { a: one(a), b: one(0.0), ..SOME }
}

fn at_warm(celsius: f64) -> World {
    World { warm: one(celsius), ..SOME }
}

#[test]
fn halves_round_up_and_binary_noise_is_none() {
    let plan = plan("0 %", ITEMS);
    let a = |name: &str, number: f64| value(&plan, name, &of_a(number)).extent.one_number().unwrap();
    for (number, whole) in
        [(2.5, 3.0), (-2.5, -2.0), (2.499, 2.0), (20.5, 21.0), (20.49999999999999, 21.0), (-0.5, 0.0)]
    {
        assert_eq!(a("whole", number), whole, "{number}");
    }
    // 1.15 and 2.675 have no exact binary form; written, they are halves.
    assert!((a("tenth", 1.15) - 1.2).abs() < 1e-12 && (a("tenth", 2.65) - 2.7).abs() < 1e-12);
    let warm = |name: &str, celsius: f64| value(&plan, name, &at_warm(celsius)).extent.one_number().unwrap();
    assert_eq!(warm("whole-celsius", 17.5), 18.0);
    // 20.5 °C reached through Fahrenheit (68.9 °F) is still a half.
    assert_eq!(warm("whole-celsius", (68.9 - 32.0) * 5.0 / 9.0), 21.0);
    assert_eq!(warm("in-fahrenheit", 100.0), 212.0);
    assert!((warm("whole-fahrenheit", 10.0) - 10.0).abs() < 1e-12);
    // 50.9 °F is nearest to 50 °F on steps of five, which is 10 °C.
    assert!((warm("five-fahrenheit", 10.5) - 10.0).abs() < 1e-12);
}

#[test]
fn what_does_not_exist_is_empty_and_says_why() {
    let plan = plan("0 %", ITEMS);
    for (name, world) in [
        ("quotient", of_a(1.0)),
        ("root", of_a(-1.0)),
        ("log", of_a(0.0)),
        ("power-back", of_a(0.0)),
        ("power-half", of_a(-1.0)),
    ] {
        let reading = value(&plan, name, &world);
        assert!(reading.extent.is_empty() && reading.cause.is_some(), "{name}: {reading:?}");
    }
    assert_eq!(value(&plan, "saved", &of_a(1.0)).extent, one(7.0));
    let maybe = World { a: one(6.0), b: Extent::between(0.0, 2.0), ..SOME };
    let quotient = value(&plan, "quotient", &maybe).extent;
    assert!(
        quotient.may_be_empty
            && quotient.ends().unwrap().0 == 3.0
            && quotient.ends().unwrap().1.is_infinite()
    );
    assert!(!value(&plan, "saved", &maybe).extent.may_be_empty);
    // Empty with unknown is empty, not unknown.
    let mixed = World { a: Extent::EMPTY, b: Extent::between(-1000.0, 1000.0), ..SOME };
    assert!(value(&plan, "added", &mixed).extent.is_empty());
    // Never sprayed is longer than any: nothing comes of it that is not a number.
    let never = World { a: one(f64::INFINITY), b: one(f64::INFINITY), ..SOME };
    assert!(value(&plan, "difference", &never).extent.is_empty());
    assert_eq!(value(&plan, "bounded", &never).extent, one(5.0));
}

#[test]
fn tables_at_their_rows_between_them_and_beyond() {
    let plan = plan("0 %", ITEMS);
    let at = |name: &str, celsius: f64| value(&plan, name, &at_warm(celsius));
    assert_eq!(at("at-exact", 20.0).extent, one(14.0));
    assert_eq!(at("at-exact", (68.0 - 32.0) * 5.0 / 9.0).extent, one(14.0));
    let between = at("at-exact", 21.0);
    assert!(!between.extent.is_settled() && matches!(between.cause, Some(Cause::NoRow(_))));
    assert_eq!(at("at-straight", 17.5).extent, one(20.0));
    assert!(at("at-straight", 26.0).extent.is_empty() && at("at-straight", 14.9).extent.is_empty());
    for (celsius, hours) in [(14.0, 26.0), (15.0, 26.0), (19.9, 26.0), (20.0, 14.0), (30.0, 10.0)] {
        assert_eq!(at("at-steps", celsius).extent, one(hours), "{celsius}");
    }
    let both = |celsius: f64, hours: f64| {
        value(&plan, "at-cells", &World { wet: one(hours), ..at_warm(celsius) }).extent
    };
    for (celsius, hours, severity) in [
        (13.0, 7.0, 1.0),
        (17.9, 15.0, 1.0),
        (17.9, 15.1, 2.0),
        (18.0, 15.0, 3.0),
        (18.0, 3.0, 0.0),
        (26.1, 9.0, 0.0),
    ] {
        assert_eq!(both(celsius, hours), one(severity), "{celsius} °C, {hours} h");
    }
    // An empty key takes `otherwise`, where there is one.
    assert_eq!(value(&plan, "at-cells", &World { wet: one(9.0), ..SOME }).extent, one(0.0));
    assert!(value(&plan, "at-exact", &SOME).extent.is_empty());
    // Counts between two counts cannot be.
    let looked = |low: f64, high: f64| {
        value(&plan, "at-counted", &World { looked: Extent::between(low, high), ..SOME }).extent
    };
    assert_eq!(looked(2.0, 2.0), one(1.0));
    assert_eq!(looked(5.0, 6.0), Extent::between(2.0, 3.0));
    assert_eq!(looked(0.0, 40.0), Extent::between(1.0, 3.0));
    // A straight line between rows is exact on an interval, also where it ends.
    let warm = World { warm: Extent::between(17.5, 22.5), ..SOME };
    assert_eq!(value(&plan, "at-straight", &warm).extent, Extent::between(12.0, 20.0));
    let far = World { warm: Extent::between(22.5, 30.0), ..SOME };
    assert_eq!(value(&plan, "at-straight", &far).extent, Extent::between(10.0, 12.0).or_empty());
}

fn numbers(low: f64, high: f64) -> impl Strategy<Value = Extent> {
    let round = move |number: f64| (number.clamp(low, high) * 2.0).round() / 2.0;
    prop_oneof![
        4 => (low..=high, low..=high).prop_map(move |(a, b)| Extent::between(round(a), round(b))),
        2 => (-6.0..6.0f64, 0.0..6.0f64).prop_map(move |(from, by)| Extent::between(round(from), round(from + by))),
        1 => Just(Extent::between(low, high)),
        1 => (low..=high).prop_map(move |a| Extent::number(round(a)).or_empty()),
    ]
}

fn worlds() -> impl Strategy<Value = World> {
    let looked = (0..40i32, 0..6i32)
        .prop_map(|(from, by)| Extent::between(f64::from(from), f64::from((from + by).min(40))));
    (numbers(-1000.0, 1000.0), numbers(-1000.0, 1000.0), numbers(-50.0, 60.0), numbers(0.0, 100.0), looked)
        .prop_map(|(a, b, warm, wet, looked)| World { a, b, warm, wet, looked })
}

/// Returns a value that something can be: at a part of the way from its low to its high end.
fn possible(extent: Extent, part: f64, whole: bool) -> Extent {
    if extent.may_be_empty && part > 0.9 {
        return Extent::EMPTY;
    }
    let (low, high) = extent.ends().unwrap();
    let number = low + (high - low) * part;
    one(if whole { number.round() } else { number })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// What an expression gives for what its names can be holds what it gives for any of it.
    #[test]
    fn no_possible_value_is_left_out(
        world in worlds(),
        parts in prop::collection::vec(prop_oneof![Just(0.0), Just(1.0), Just(0.5), 0.0..=1.0f64], 5),
    ) {
        let plan = plan("0 %", ITEMS);
        let exact = World {
            a: possible(world.a, parts[0], false),
            b: possible(world.b, parts[1], false),
            warm: possible(world.warm, parts[2], false),
            wet: possible(world.wet, parts[3], false),
            looked: possible(world.looked, parts[4], true),
        };
        for (id, name) in plan.named() {
            if !matches!(plan[id].origin, Origin::Measure(_)) {
                continue;
            }
            let (all, one) = (value(&plan, &name.word, &world).extent, value(&plan, &name.word, &exact).extent);
            match one.can_be {
                Possible::Nothing => prop_assert!(all.may_be_empty, "{} is {all:?}, and empty at {exact:?}", name.word),
                Possible::Numbers(low, high) => {
                    let Some((from, to)) = all.ends() else {
                        return Err(TestCaseError::fail(format!("{} is {all:?}, not {low}", name.word)));
                    };
                    let near = |number: f64| if number.is_finite() { 1e-9 * number.abs().max(1.0) } else { 0.0 };
                    prop_assert!(from <= low + near(low) && to >= high - near(high),
                        "{} is {from} to {to} and not {low} to {high} at {exact:?} of {world:?}", name.word);
                }
                Possible::Words(_) | Possible::Text(_) | Possible::AnyText => prop_assert!(false),
            }
        }
    }
}

/// The largest double is about 1.8e308 (IEEE 754), and e^710 lies above it.
#[test]
fn what_is_too_great_to_reckon_with_is_unknown_and_never_endless() {
    use super::case::{case, tree};
    let nines = "9".repeat(308);
    let book = format!(
        "observe n\n  kind number\nproduct copper\n  strength full 2 g/L\n  cites own\n\
         measure grown = exponential of n\nmeasure tenfold = n * {nines}\nmeasure back = grown - grown\n\
         measure debt = 0 - tenfold\nmeasure more = (grown * 2) rounded to 5\nmeasure age = days since last copper\nmeasure twice = age * 2\n\
         choice rest\n  advise hold\n  if twice above 1 d or grown above 0 or back above 0 or debt above 0\n  cites own\n"
    );
    let with = |value: &str| {
        let keys = format!(
            "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - {{ tree: A1, cultivar: Kent, n: {value} }}\n"
        );
        tree(&case(&book, &keys).advise(), "A1")["values"].clone()
    };
    let values = with("1000");
    let unknown = serde_json::json!({ "unknown": "the number would be too large to compute with" });
    for name in ["grown", "tenfold", "back", "debt", "more"] {
        assert_eq!(values[name], unknown, "{name}");
    }
    // A spray that never was is longer ago than any time, and is no overflow.
    assert_eq!(values["twice"]["value"], "longer than any");
    let small = with("1");
    assert!((small["grown"]["value"].as_f64().unwrap() - std::f64::consts::E).abs() < 1e-12);
    assert_eq!(small["back"]["value"], 0);
}

#[test]
fn a_literal_too_great_to_reckon_with_is_an_error_at_the_text() {
    use super::case::case;
    let of = |literal: &str| {
        let book = format!(
            "observe w\n  kind length\nchoice rest\n  advise hold\n  if w above {literal}\n  cites own\n"
        );
        let keys = "sprays: none yet\ntrees:\n  - { tree: A1, cultivar: Kent }\n";
        case(&book, keys).try_advise().unwrap_err()
    };
    let great = of(&format!("{} km", "9".repeat(306)));
    assert!(great.contains("error[out-of-range]") && great.contains("is too much to reckon with"), "{great}");
    let endless = of(&format!("{} mm", "9".repeat(400)));
    assert!(endless.contains("is too great a number to reckon with"), "{endless}");
}
