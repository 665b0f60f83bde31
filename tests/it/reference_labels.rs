//! Limits of labels against tables computed elsewhere: intervals, caps of a season, groups in a row.

use bloomward::grove::{self, Grove, Texts, UnknownNames};
use bloomward::labels::passed;
use bloomward::measure::season_start;
use bloomward::plan::{Plan, Sprayed};
use bloomward::source::Sources;
use bloomward::units::Threshold;
use chrono::{Datelike, NaiveDate, TimeZone};
use std::collections::BTreeMap;
use std::fmt::Write;

type Row = BTreeMap<String, String>;

fn table(name: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_path(format!("tests/reference/{name}.csv")).unwrap();
    let rows: Vec<Row> = reader.deserialize().map(Result::unwrap).collect();
    assert!(!rows.is_empty());
    rows
}

fn date(row: &Row, column: &str) -> NaiveDate {
    row[column].parse().unwrap_or_else(|_| panic!("{row:?} has no date `{column}`"))
}

/// A grove of one tree that was sprayed on these days with products of these groups, as it stood on a day.
fn sprayed(sprays: &[(NaiveDate, String)], today: NaiveDate) -> (Plan, Grove) {
    let mut book = "rulebook \"Book\"\n  caution \"The label is the law.\"\n".to_string();
    let mut log = "start,end,on,product,strength\n".to_string();
    let mut products: Vec<String> = Vec::new();
    for (day, groups) in sprays {
        let product = format!("of-{}", groups.replace('+', "-and-").to_lowercase());
        if !products.contains(&product) {
            let groups = groups.replace('+', ", ");
            write!(book, "\nproduct {product}\n  group {groups}\n  strength full 2 g/L\n").unwrap();
        }
        writeln!(log, "{day}T05:00,{day}T06:00,T1,{product},full").unwrap();
        products.push(product);
    }
    let yaml = "grove: One tree\nplace: { latitude: 18, longitude: -66, timezone: America/New_York }\nsprays: sprays.csv\n\
                trees:\n  - { tree: T1 }\n";
    let mut sources = Sources::default();
    let book = sources.add("book.rulebook", book.as_str());
    let (plan, problems) =
        bloomward::check::load(book, &mut sources, None, &mut |path| Err(path.to_string()));
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    let plan = plan.unwrap();
    let yaml = sources.add("grove.yaml", yaml);
    let (outline, _) = grove::outline(yaml, &sources);
    let outline = outline.unwrap();
    let texts = Texts { sprays: Some(sources.add("sprays.csv", log.as_str())), ..Texts::default() };
    let as_of =
        outline.place.zone.with_ymd_and_hms(today.year(), today.month(), today.day(), 23, 0, 0).unwrap();
    let (grove, problems) = grove::read(&outline, texts, &plan, as_of, UnknownNames::Refuse, &sources);
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    (plan, grove.unwrap())
}

/// retreatment_interval.csv: calendar days, the day of the interval itself is allowed.
#[test]
fn the_next_spray_is_allowed_on_the_day_of_the_interval() {
    for row in table("retreatment_interval") {
        let (last, proposed) = (date(&row, "last_application_date"), date(&row, "proposed_date"));
        let earliest =
            passed(last, &Threshold::of_hours(24.0 * row["min_interval_days"].parse::<f64>().unwrap()), true);
        assert_eq!(earliest, date(&row, "earliest_allowed_date"), "{}", row["case_id"]);
        assert_eq!(proposed >= earliest, row["allowed"] == "1", "{}", row["case_id"]);
    }
}

/// season_cap.csv: what is counted of the season, whose ends belong to it.
#[test]
fn sprays_of_a_season_are_counted_from_its_first_day() {
    for row in table("season_cap") {
        let (first, proposed) = (date(&row, "season_start"), date(&row, "proposed_date"));
        let days = row["past_application_dates"].split('|').map(|day| day.parse::<NaiveDate>().unwrap());
        let sprays: Vec<_> = days.map(|day| (day, "M01".to_string())).collect();
        let (plan, grove) = sprayed(&sprays, proposed);
        let own = season_start((first.month() as u8, first.day() as u8), proposed);
        assert_eq!(own, first, "{}", row["case_id"]);
        let product = Sprayed::Product(plan.product("of-m01").unwrap());
        let counted = grove.log.count(0, &product, (own, proposed), &plan).unwrap();
        assert_eq!(counted.to_string(), row["counted_so_far"], "{}", row["case_id"]);
        let most: u32 = row["max_applications_per_season"].parse().unwrap();
        assert_eq!(counted < most, row["allowed"] == "1", "{}", row["case_id"]);
    }
}

/// frac_rotation.csv: a product counts for each of its groups, and another group in between ends a run.
#[test]
fn groups_in_a_row() {
    for row in table("frac_rotation") {
        let begin = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap();
        let history = row["history_oldest_first"].split(';').filter(|groups| !groups.is_empty());
        let sprays: Vec<_> = begin
            .iter_days()
            .step_by(7)
            .zip(history)
            .map(|(day, groups)| (day, groups.to_string()))
            .collect();
        let (plan, grove) = sprayed(&sprays, NaiveDate::from_ymd_opt(2027, 12, 1).unwrap());
        let group = Sprayed::Group(row["proposed_groups"].as_str().into());
        let found = grove.log.in_a_row(0, &group, grove.as_of, &plan).unwrap();
        assert_eq!(found.to_string(), row["consecutive_so_far_for_proposed"], "{}", row["case_id"]);
        let most: u32 = row["max_consecutive_same_group"].parse().unwrap();
        assert_eq!(most == 0 || found < most, row["allowed"] == "1", "{}", row["case_id"]);
    }
}
