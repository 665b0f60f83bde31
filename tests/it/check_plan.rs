//! What a plan holds: kinds, scopes, units, hidden names, label lines.

use bloomward::check;
use bloomward::plan::{
    Bound, Compare, Condition, Counted, ExprNode, Kind, LabelWord, Name, Origin, Place, Plan, Shut, Sprayed,
    Subject, Window, Yields,
};
use bloomward::problems::Level;
use bloomward::source::Sources;
use bloomward::units::Dimension;

const HEAD: &str = "rulebook \"Small\"\n  caution \"Follow the label.\"\n";

/// Makes a plan of a text without a head.
#[track_caller]
pub fn plan(body: &str) -> Plan {
    let mut sources = Sources::default();
    let id = sources.add("book.rulebook", format!("{HEAD}{body}"));
    let (plan, mut problems) = check::load(id, &mut sources, None, &mut |_| Err("no files here".to_string()));
    problems.retain(|problem| problem.finding.level() == Level::Error);
    assert_eq!(problems.plain(&sources), "");
    plan.unwrap()
}

#[track_caller]
fn name<'p>(plan: &'p Plan, word: &str) -> &'p Name {
    let id = plan.name(word).unwrap_or_else(|| panic!("no name {word}"));
    &plan[id]
}

#[track_caller]
fn expr<'p>(plan: &'p Plan, word: &str) -> &'p ExprNode {
    match &name(plan, word).origin {
        Origin::Measure(measure) => &measure.expr.node,
        other => panic!("{word} is no measure: {other:?}"),
    }
}

fn bounds(condition: &Condition) -> Vec<Bound> {
    let mut found = Vec::new();
    condition.each_test(&mut |test| {
        if let Compare::Numbers { low, high } = &test.compare {
            found.extend(low.iter().chain(high).cloned());
        }
    });
    found
}

#[test]
fn a_measure_belongs_to_the_narrowest_thing_it_speaks_of() {
    let plan = plan(
        "observe open\n  kind share\n  of panicles\nobserve slope\n  kind one of flat, steep\n  of block\n\
         observe frost\n  kind yes-no\n  of grove\nobserve cut-on\n  kind date\n  of block\n\
         product copper\n  strength full 2 lb / 100 gal\ntable rating\n  of text\n  gives count\n  \"Kent\" 3\n\
         measure low = lowest temperature over last 3 nights\nmeasure mean-open = mean open of panicles\n\
         measure in-grove = share of trees in grove with mean-open above 5 %\n\
         measure in-block = share of trees in block with mean-open above 5 %\n\
         measure rated = rating at cultivar\nmeasure of-block = rating at block\n\
         measure age = days since last copper\nmeasure washed = total rain since last copper\n\
         measure since-cut = total rain since cut-on\nmeasure picked = days to harvest\n\
         band weather\n  levels quiet, severe\n  severe if slope is steep and frost\n",
    );
    let scopes = [
        ("low", Place::Grove),
        ("mean-open", Place::Tree),
        ("in-grove", Place::Grove),
        ("in-block", Place::Block),
        ("rated", Place::Tree),
        ("of-block", Place::Block),
        ("age", Place::Tree),
        ("washed", Place::Tree),
        ("since-cut", Place::Block),
        ("picked", Place::Tree),
        ("weather", Place::Block),
        ("open", Place::Panicles),
        ("cultivar", Place::Tree),
        ("block", Place::Block),
        ("date", Place::Grove),
    ];
    for (word, place) in scopes {
        assert_eq!(name(&plan, word).scope, place, "{word}");
    }
}

#[test]
fn a_tally_of_sprays_is_of_the_tree() {
    let plan = plan(
        "daily sprays-today = sprays of any that day\ndaily low = lowest temperature over that night\n\
         \x20 days begin 11:00\ndaily chill = low below 10 °C\n  days begin 00:00\n\
         tally weather-points\n  over since 1 Jan\n  add 5 if chill\n  add 1 if low below 5 °C\n\
         tally since-spray\n  over this season\n  add 5\n  reset if sprays-today at least 1\n\
         tally both\n  over this season\n  add (since-spray)\n  add 1 if weather-points above 5\n",
    );
    assert_eq!(name(&plan, "weather-points").scope, Place::Grove);
    assert_eq!(name(&plan, "since-spray").scope, Place::Tree);
    let Origin::Tally(both) = &name(&plan, "both").origin else { panic!("a tally") };
    let mut uses: Vec<&str> = both.uses.iter().map(|id| &*plan[*id].word).collect();
    uses.sort_unstable();
    assert_eq!(uses, ["since-spray", "weather-points"]);
    let Origin::Tally(points) = &name(&plan, "weather-points").origin else { panic!("a tally") };
    assert_eq!(points.begins, 11 * 60);
    let of_log =
        |word: &str| plan.dailies.iter().find(|daily| &*daily.name == word).map(|daily| daily.of_log);
    assert_eq!((of_log("sprays-today"), of_log("low")), (Some(true), Some(false)));
}

#[test]
fn literals_take_the_kind_of_their_place() {
    let plan = plan(
        "hourly spread = temperature - dew-point\n\
         measure low = lowest temperature over last 3 nights\nmeasure above-ten = low - 50 °F\n\
         measure warmer = low + 9 °F\nmeasure wider = above-ten + 9 °F\n\
         measure dry = hours with spread above 9 °F over last 24 h\nmeasure stepped = low rounded to 1 °F\n\
         gate shut\n  shuts spraying\n  if low at least 50 °F and above-ten at least 9 °F\n",
    );
    let degrees = Kind::Quantity(Dimension::TEMPERATURE);
    for (word, kind) in [
        ("low", Kind::Temperature),
        ("above-ten", degrees),
        ("warmer", Kind::Temperature),
        ("wider", degrees),
        ("dry", Kind::Quantity(Dimension::TIME)),
        ("stepped", Kind::Temperature),
    ] {
        assert_eq!(name(&plan, word).kind, kind, "{word}");
    }
    let literal = |word: &str| match expr(&plan, word) {
        ExprNode::Arithmetic(_, _, right) => match *right.node {
            ExprNode::Number(number) => number,
            ref other => panic!("{other:?}"),
        },
        other => panic!("{other:?}"),
    };
    // 50 °F is 10 °C on the scale; 9 °F are 5 °C apart (NIST SP 811, B.8).
    assert!((literal("above-ten") - 10.0).abs() < 1e-12);
    assert!((literal("warmer") - 5.0).abs() < 1e-12);
    assert!((literal("wider") - 5.0).abs() < 1e-12);
    let compared: Vec<f64> =
        bounds(plan.gates[0].condition.as_ref().unwrap()).iter().map(|bound| bound.value).collect();
    assert!((compared[0] - 10.0).abs() < 1e-12 && (compared[1] - 5.0).abs() < 1e-12);
}

#[test]
fn a_name_is_printed_in_the_unit_of_its_first_threshold() {
    let unit = |plan: &Plan, word: &str| name(plan, word).unit.symbol.to_string();
    let without = plan(
        "measure low = lowest temperature over last 3 nights\nmeasure rain-soon = total rain over next 12 h\n\
         measure age = days since last spray\nmeasure damp = hours with rain above 0 mm over last 3 nights\n",
    );
    assert_eq!((unit(&without, "low").as_str(), unit(&without, "rain-soon").as_str()), ("°C", "mm"));
    assert_eq!((unit(&without, "age").as_str(), unit(&without, "damp").as_str()), ("d", "h"));
    let with = plan(
        "gate first\n  shuts spraying\n  if low above hot and open above 5 % and tall above 3 ft\n\
         gate second\n  shuts spraying\n  if low above 20 °C\nfigure hot = 90 °F\n\
         measure low = lowest temperature over last 3 nights\nmeasure alike = low + 1 °C\n\
         observe open\n  kind share\nobserve tall\n  kind length\n  range from 0 m to 9 m\n\
         observe wide\n  kind length\n  range from 0 m to 9 m\n\
         table need\n  of temperature\n  gives duration\n  15 °C 2 d\nmeasure needed = need at low\n",
    );
    assert_eq!((unit(&with, "low").as_str(), unit(&with, "alike").as_str()), ("°F", "°F"));
    assert_eq!((unit(&with, "tall").as_str(), unit(&with, "wide").as_str()), ("ft", "m"));
    assert_eq!((unit(&with, "open").as_str(), unit(&with, "needed").as_str()), ("%", "d"));
}

#[test]
fn a_panicle_condition_is_the_measure_of_the_same_expression() {
    let plan = plan(
        "scale bloom\n  dormant\n  open\n  fruit\nobserve stage\n  kind bloom\n  of panicles\n\
         gate one\n  shuts spraying\n  if some panicles with (stage from open to fruit)\n\
         gate two\n  shuts spraying\n  if all panicles with (stage is open or stage is fruit)\n\
         gate three\n  shuts spraying\n  if not all panicles with (stage is open or stage is fruit)\n\
         measure in-bloom = some panicles with stage from open to fruit\n",
    );
    let subject = |gate: usize| {
        let mut found = None;
        plan.gates[gate].condition.as_ref().unwrap().each_test(&mut |test| found = Some(test.subject));
        match found {
            Some(Subject::Name(id)) => id,
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(&*plan[subject(0)].word, "in-bloom");
    assert_eq!(subject(1), subject(2));
    let hidden = &plan[subject(1)];
    assert_eq!(&*hidden.word, "all panicles with (stage is open or stage is fruit)");
    assert!(hidden.hidden && hidden.kind == Kind::YesNo && hidden.scope == Place::Tree);
}

/// A product with every sort of label line.
fn labelled() -> Plan {
    plan(
        "product copper\n  contains copper\n  strength reduced 600 ppm copper\n  strength full 1200 ppm copper\n\
         \x20 label interval at least 7 d\n  label season at most 6 sprays\n  label season at most 12 lb / ac copper\n\
         \x20 label single at most 3 lb / ac copper\n  label year at most 40 lb / ac\n\
         \x20 label before-harvest at least 1 d\n  label apart from oil at least 14 d\n  label re-entry 2 d\n\
         product oil\n  strength full 1 gal / 100 gal\n\
         measure copper-age = days since last copper\nmeasure used = amount of copper this season\n",
    )
}

#[test]
fn label_lines_are_gates() {
    let plan = labelled();
    let names: Vec<&str> = plan.gates.iter().map(|gate| &*gate.name).collect();
    let apart = "copper label apart from oil";
    let lines = ["interval", "season", "season", "single", "year", "before-harvest"];
    let expected: Vec<String> = lines
        .iter()
        .map(|line| format!("copper label {line}"))
        .chain([apart; 3].map(str::to_string))
        .collect();
    assert_eq!(names, expected);
    let (copper, oil) = (plan.product("copper").unwrap(), plan.product("oil").unwrap());
    assert_eq!((plan[copper].re_entry, plan[copper].before_harvest), (Some(48.0), Some(1.0)));
    let test = |gate: usize| match plan.gates[gate].condition.as_ref() {
        Some(Condition::Test(test)) => test.clone(),
        other => panic!("{other:?}"),
    };
    let high = |gate: usize| match test(gate).compare {
        Compare::Numbers { low: None, high: Some(bound) } => (bound.value, bound.closed),
        other => panic!("{other:?}"),
    };
    // The label interval speaks of the measure of the same expression.
    assert_eq!(test(0).subject, Subject::Name(plan.name("copper-age").unwrap()));
    assert_eq!((high(0), &*test(0).written), ((7.0 * 24.0, false), "copper-age below 7 d"));
    assert!(matches!(
        test(1).compare,
        Compare::Numbers { low: Some(Bound { value: 6.0, closed: true, .. }), high: None }
    ));
    let Subject::Name(sprays) = test(1).subject else { panic!("a name") };
    let Origin::Measure(sprays) = &plan[sprays].origin else { panic!("a measure") };
    assert_eq!(*sprays.expr.node, ExprNode::SpraysOf(Sprayed::Product(copper), Counted::ThisSeason));
    assert_eq!(high(5), (24.0, false));
    assert_eq!(plan.gates[6].shuts, [Shut::Product(copper)]);
    assert_eq!(plan.gates[7].shuts, [Shut::Product(oil)]);
    assert_eq!(plan.gates[8].shuts, [Shut::Mix(copper, oil)]);
    assert!(plan.gates[8].condition.is_none());
    for gate in &plan.gates[6..9] {
        let line = gate.line.as_ref().unwrap();
        assert_eq!((line.product, line.word, line.other), (copper, LabelWord::Apart, Some(oil)));
    }
}

#[test]
fn caps_on_amounts_hold_to_a_strength() {
    let plan = labelled();
    let copper = plan.product("copper").unwrap();
    let fitting = |gate: usize| {
        let (product, name) = plan.gates[gate].fits.unwrap();
        assert_eq!(product, copper);
        match &plan[name].origin {
            Origin::Measure(measure) => match &*measure.expr.node {
                ExprNode::Fitting { ingredient, used, at_most, .. } => {
                    (ingredient.as_deref().map(str::to_string), *used, *at_most)
                }
                other => panic!("{other:?}"),
            },
            other => panic!("{other:?}"),
        }
    };
    let (ingredient, used, at_most) = fitting(2);
    assert_eq!((ingredient.as_deref(), used), (Some("copper"), plan.name("used")));
    // 12 lb / ac is 12 × 453.59237 g on 43560 × 304.8² mm² (NIST SP 811, B.8).
    let rate = 12.0 * 453.59237 / (43560.0 * 304.8 * 304.8);
    assert!((at_most / rate - 1.0).abs() < 1e-12);
    assert_eq!(fitting(3).1, None);
    let (ingredient, used, _) = fitting(4);
    let Origin::Measure(of_product) = &plan[used.unwrap()].origin else { panic!("a measure") };
    assert_eq!(ingredient, None);
    assert_eq!(*of_product.expr.node, ExprNode::AmountOfProduct(copper, Counted::ThisYear));
    let (_, strongest) = plan.gates[2].fits.unwrap();
    let Kind::Words(list) = plan[strongest].kind else { panic!("words") };
    let words: Vec<&str> = plan[list].words.iter().map(|word| &*word.name).collect();
    assert_eq!(words, ["none", "reduced", "full"]);
}

#[test]
fn days_of_the_year_run_over_the_new_year_and_clocks_over_midnight() {
    let plan = plan(
        "gate one\n  shuts spraying\n  if date from 1 Dec to 31 Mar\n\
         gate two\n  shuts spraying\n  in hours when clock from 22:00 to below 06:00\n",
    );
    let Some(Condition::Test(season)) = &plan.gates[0].condition else { panic!("a test") };
    assert_eq!(season.subject, Subject::Name(plan.name("date").unwrap()));
    assert_eq!(season.compare, Compare::DaysOfYear((12, 1), (3, 31)));
    let Some(Condition::Test(night)) = &plan.gates[1].hours else { panic!("a test") };
    let Compare::Not(by_day) = &night.compare else { panic!("{:?}", night.compare) };
    // By day: from 06:00, which the night leaves out, to just before 22:00, with which it begins.
    let Compare::Numbers { low: Some(low), high: Some(high) } = &**by_day else { panic!("{by_day:?}") };
    assert_eq!((low.value, low.closed, high.value, high.closed), (6.0, true, 22.0, false));
}

#[test]
fn a_name_alone_is_a_value_or_a_condition_by_its_kind() {
    let plan = plan(
        "hourly air = temperature\nhourly sun = daylight\ndaily warm = peak above 30 °C\ndaily again = warm\n\
         daily peak = highest air over that day\ndaily same = peak\nmeasure light = hours with sun over last 24 h\n",
    );
    let hourly = |word: &str| plan.hourlies.iter().find(|it| &*it.name == word).unwrap();
    assert!(matches!(hourly("air").yields, Yields::Value(_)) && hourly("air").kind == Kind::Temperature);
    assert!(matches!(hourly("sun").yields, Yields::Condition(_)) && hourly("sun").kind == Kind::YesNo);
    let place = |word: &str| plan.dailies.iter().position(|it| &*it.name == word).unwrap();
    assert!(place("peak") < place("warm") && place("warm") < place("again") && place("peak") < place("same"));
    assert!(matches!(plan.dailies[place("again")].yields, Yields::Condition(_)));
    assert!(matches!(plan.dailies[place("same")].yields, Yields::Value(_)));
}

/// Returns the head of an overlay's fixture.
fn head_of_overlay(case: &str) -> bloomward::plan::Head {
    let folder = std::path::Path::new("tests/fixtures/check/overlays").join(case);
    let mut sources = Sources::default();
    let id = sources.add("top.rulebook", std::fs::read_to_string(folder.join("top.rulebook")).unwrap());
    let mut read = |base: &str| std::fs::read_to_string(folder.join(base)).map_err(|error| error.to_string());
    check::load(id, &mut sources, None, &mut read).0.unwrap().head
}

#[test]
fn cautions_add_up_over_all_bases() {
    let cautions = |case| head_of_overlay(case).cautions.iter().map(|it| it.to_string()).collect::<Vec<_>>();
    // The base's in their order, one of them left out, then the region's, then the county's; each text once.
    let expected =
        ["Follow the label.", "Ask before you spray near water.", "Wear goggles.", "Ring the neighbours."];
    assert_eq!(cautions("cautions"), expected);
    // An overlay needs none of its own.
    assert_eq!(cautions("without_caution"), ["Follow the label."]);
}

#[test]
fn the_head_is_inherited_but_for_what_each_file_says_itself() {
    let head = head_of_overlay("sound");
    assert_eq!((&*head.title, head.edition.as_deref()), ("County", Some("2")));
    assert_eq!((head.season, head.window), (((11, 1), (10, 31)), (3.0, 60.0)));
    assert_eq!(head.contact.as_deref(), Some("the desk"));
    let cautions: Vec<&str> = head.cautions.iter().map(|it| &**it).collect();
    assert_eq!(cautions, ["Follow the label.", "The county says so."]);
    assert_eq!(head.builds_on.map(|(path, _)| path.to_string()).as_deref(), Some("base.rulebook"));
}

#[test]
fn windows_keep_their_numbers() {
    let plan =
        plan("measure a = total rain over today and next 2 days\nmeasure b = total rain over since 1 Jan\n");
    assert!(matches!(expr(&plan, "a"), ExprNode::Aggregate(_, Window::TodayAndNextDays(2))));
    let since = Window::SinceDayOfYear { month: 1, day: 1, to_that_day: false };
    assert!(matches!(expr(&plan, "b"), ExprNode::Aggregate(_, window) if *window == since));
}
