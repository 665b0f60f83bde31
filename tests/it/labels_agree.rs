//! One label, asked in four ways: what is said of a spray of the log, what `sprayed` says of it as it is written down, what
//! shuts its product in the advice of that morning, and the day that is named as the first on which it may be sprayed again.

use super::case::{Case, case};
use crate::large_logs::Dice;
use bloomward::labels::{BrokenLabel, LabelRecord, broken_labels, label_record};
use bloomward::measure::Truth;
use bloomward::plan::{LabelWord, Plan};
use bloomward::trace::Shutter;
use bloomward::workspace::{OpenGrove, Unopened};
use chrono::{Days, NaiveDate};
use std::collections::BTreeSet;
use std::fmt::Write;

const BOOK: &str = "
product copper
  contains copper
  strength reduced 600 ppm copper
  label interval at least 7 d
  label season at most 4 sprays
  label season at most 4 lb / ac copper
  label year at most 6 sprays
  label single at most 3 lb / ac copper
  label before-harvest at least 5 d
  label apart from oil at least 12 d
  cites own
product oil
  strength thin 10 mL/L
  label interval at least 60.5 h
  cites own
choice always-spray
  advise PRODUCT
  because \"x\"
  cites own
";

/// The season began on 1 January. 480 ft² of land a tree, a gallon on it: 600 ppm are 0.45 lb copper on an acre.
fn keys(harvest: Option<NaiveDate>, jug: &str) -> String {
    let harvest = harvest.map_or_else(String::new, |day| format!("harvest: {day}\n"));
    format!(
        "{harvest}shed:\n  copper: {{ name: c, registration: demo-0001, form: powder, contains: {{ copper: 50 % }}{jug} }}\n\
         blocks:\n  - {{ block: b, spacing: 24 ft x 20 ft }}\nsprayer: {{ tank: 25 gal, per-tree: 1 gal }}\n\
         trees:\n  - {{ tree: A1, block: b, cultivar: Kent }}\n  - {{ tree: A2, block: b, cultivar: Kent }}\n"
    )
}

/// The grove of a case as it stands on a day at an hour.
#[track_caller]
fn opened(case: &Case, day: NaiveDate, hour: u8) -> OpenGrove {
    let mut case = case.clone();
    case.grove = case.grove.replace("as-of: 2027-02-11T05:30", &format!("as-of: {day}T{hour:02}:00"));
    match case.open() {
        Ok(read) => read,
        Err(Unopened::Refusal(refusal)) => panic!("{}", refusal.message),
        Err(Unopened::Findings(problems, sources)) => panic!("{}", problems.plain(&sources)),
    }
}

fn row(day: NaiveDate, hour: u8, on: &str, what: &str) -> String {
    format!("{day}T{hour:02}:00,{day}T{hour:02}:30,{on},{what}\n")
}

/// The grove of a rulebook that would always spray one product, with these rows in its log.
fn logged(product: &str, keys: &str, rows: &str) -> Case {
    let dose = if product == "oil" { "oil at thin" } else { "copper at reduced" };
    case(&BOOK.replace("PRODUCT", dose), keys).sprays(format!("start,end,on,product,strength,rate\n{rows}"))
}

/// The record of the last spray of the log, and what is noted of it.
fn last(read: &OpenGrove) -> (LabelRecord, Vec<BrokenLabel>) {
    let row = read.grove.log.rows().last().expect("a spray");
    let noted = broken_labels(&read.book_plan, &read.grove).into_iter().filter(|it| it.at == row.at);
    (label_record(&read.book_plan, &read.grove, row), noted.collect())
}

fn broken(record: &LabelRecord) -> BTreeSet<String> {
    let broken = record.lines.iter().filter(|line| line.broken == Truth::Yes);
    broken.map(|line| line.label.written.to_string()).collect()
}

/// The label lines that shut a product for the first tree, and the day on which only the time since a spray stops one.
fn bars(read: &OpenGrove, product: &str) -> (BTreeSet<String>, Option<NaiveDate>) {
    let weather_measures = read.weather_measures();
    let advisor = read.advisor(&weather_measures);
    let advice = advisor.tree(0);
    let case = advisor.case_of(&advice).expect("a case");
    let product = read.plan.product(product).expect("the product");
    let of_product = case.shut.iter().filter(|(products, _)| products[..] == [product]);
    let gates = of_product.filter_map(|(_, by)| match by {
        Shutter::Gate(gate) => read.plan[*gate].line.as_ref(),
        Shutter::Certified => None,
    });
    (gates.map(|line| line.written.to_string()).collect(), advice.covered_until)
}

fn interval(plan: &Plan, product: &str) -> String {
    let product = plan.product(product).expect("the product");
    let lines = plan.gates.iter().filter_map(|gate| gate.line.as_ref());
    let own = lines.filter(|line| line.product == product && line.word == LabelWord::Interval);
    own.map(|line| line.written.to_string()).next().expect("an interval")
}

/// Twenty logs, some days of each: a label line has one meaning, whoever asks.
#[test]
fn what_is_noted_recorded_and_advised_of_a_label_is_one() {
    let first = NaiveDate::from_ymd_opt(2027, 1, 5).unwrap();
    let after = |day: NaiveDate, days: u64| day.checked_add_days(Days::new(days)).unwrap();
    let (mut seen, mut named) = (BTreeSet::new(), 0);
    for seed in 1..=20 {
        let mut dice = Dice(seed);
        let (product, dose) = [("copper", "copper,reduced,"), ("oil", "oil,thin,")][dice.below(2) as usize];
        let mut rows = String::new();
        let mut day = first;
        for _ in 0..=dice.below(5) {
            day = after(day, dice.below(12));
            let what =
                ["copper,reduced,", "copper,,5 lb/ac", "oil,thin,", "copper with oil,reduced with thin,"];
            let what = what[dice.below(4) as usize];
            // One tank may be two rows.
            let on = ["A1", "grove", "A1; A2"][dice.below(3) as usize];
            rows += &row(day, 5, on, what);
            if dice.below(4) == 0 {
                rows += &row(day, 5, on, "oil,thin,");
            }
        }
        write!(rows, "{}", row(day, 6, "A1", dose)).unwrap();
        let jug = ["", ", interval: 9 d", ", season: 3 sprays, before-harvest: 11 d"];
        let jug = jug[dice.below(3) as usize];
        let harvest = [None, Some(after(day, 15))][dice.below(2) as usize];
        let keys = keys(harvest, jug);
        let (of_last, _) = last(&opened(&logged(product, &keys, &rows), day, 23));
        let [(_, next)] = of_last.next[..] else { panic!("seed {seed}: {:?}", of_last.next) };
        let (mut named_first, mut is_covered) = (None, None);
        for day in (0..14).map(|days| after(day, days)) {
            let told = format!("seed {seed}, {day}, {keys}{rows}");
            let with = logged(product, &keys, &(rows.clone() + &row(day, 12, "A1", dose)));
            let (record, noted) = last(&opened(&with, day, 23));
            let in_record = broken(&record);
            let in_notes: BTreeSet<String> =
                noted.iter().map(|it| it.line.label.written.to_string()).collect();
            let (in_advice, covered) = bars(&opened(&logged(product, &keys, &rows), day, 11), product);
            assert_eq!(in_record, in_notes, "{told}");
            assert_eq!(in_record, in_advice, "{told}");
            // The first day on which the interval is not broken is the one that was named.
            if !in_record.contains(&interval(&record.plan, product)) {
                named_first = named_first.or(Some(day));
            }
            // The morning's page names the day on which nothing bars the spray any more.
            if let Some(named) = is_covered.filter(|named| *named == day) {
                assert!(in_record.is_empty(), "{named} was named: {told}");
            }
            is_covered = covered.or(is_covered).filter(|named| *named > day);
            assert!(covered.is_none() || !in_record.is_empty(), "{told}");
            named += usize::from(covered.is_some());
            seen.extend(in_record);
        }
        assert_eq!(named_first, Some(next), "seed {seed}: {rows}");
    }
    assert!(named > 10, "a day was named on {named} mornings");
    assert!(seen.len() >= 6, "lines of several kinds were broken: {seen:?}");
}

/// Two rows with one start and one end are one tank: 2 lb of copper in each are 4 lb on the acre, and its oil was beside it.
#[test]
fn the_rows_of_one_tank_are_held_against_a_label_together() {
    let day = NaiveDate::from_ymd_opt(2027, 1, 10).unwrap();
    let of = |what: [&str; 2]| {
        let rows = what.map(|what| row(day, 5, "A1", what)).concat();
        let (record, noted) = last(&opened(&logged("copper", &keys(None, ""), &rows), day, 23));
        let noted: BTreeSet<String> = noted.iter().map(|it| it.line.label.written.to_string()).collect();
        assert_eq!(broken(&record), noted, "{rows}");
        noted.into_iter().collect::<Vec<_>>()
    };
    assert_eq!(of(["copper,,4 lb/ac", "copper,,1.9 lb/ac"]), [""; 0]);
    assert_eq!(of(["copper,,4 lb/ac", "copper,,4 lb/ac"]), ["single at most 3 lb / ac copper"]);
    assert_eq!(of(["copper,reduced,", "oil,thin,"]), ["apart from oil at least 12 d"]);
}

/// After seven days, or after more than seven: the day that is named is one on which the spray is advised.
#[test]
fn the_day_on_which_a_spray_falls_due_is_one_on_which_it_is_advised() {
    let last = NaiveDate::from_ymd_opt(2027, 1, 10).unwrap();
    for (compared, days) in [("below 7 d", 7), ("at most 7 d", 8), ("below 60.5 h", 3), ("at most 72 h", 4)] {
        let gate = format!(
            "gate too-soon\n  shuts copper\n  if copper-age {compared}\n  because \"x\"\n  cites own\n"
        );
        let book = "measure copper-age = days since last copper\n\
            product copper\n  contains copper\n  strength reduced 600 ppm copper\n  cites own\n\
            choice always-spray\n  advise copper at reduced\n  because \"x\"\n  cites own\n";
        let log = format!("start,end,on,product,strength\n{last}T05:00,{last}T05:30,A1,copper,reduced\n");
        let case = case(&(gate + book), &keys(None, "")).sprays(log);
        let due = last.checked_add_days(Days::new(days)).unwrap();
        let advised = |day: NaiveDate| {
            let read = opened(&case, day, 11);
            let weather_measures = read.weather_measures();
            let advisor = read.advisor(&weather_measures);
            let advice = advisor.tree(0);
            let case = advisor.case_of(&advice).expect("a case");
            (case.decision.verdict.is_spray(), advice.covered_until)
        };
        assert_eq!(advised(last), (false, Some(due)), "{compared}");
        assert_eq!(advised(due.pred_opt().unwrap()), (false, Some(due)), "{compared}");
        assert_eq!(advised(due), (true, None), "{compared}");
    }
}
