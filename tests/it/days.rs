//! Days and clocks: one form for each language and each system of units, on every page.

use crate::check_plan::plan;
use crate::cli::{folder, ran};
use bloomward::words::{Language, Speech, Words};
use chrono::{DateTime, NaiveDate, TimeZone};
use chrono_tz::America::Puerto_Rico;
use chrono_tz::Tz;

fn at(day: u32, hour: u32, minute: u32) -> DateTime<Tz> {
    Puerto_Rico.with_ymd_and_hms(2027, 2, day, hour, minute, 0).unwrap()
}

#[test]
fn days_and_clocks_have_the_form_of_the_language_and_the_units() {
    let plan = plan("");
    let words = |language, speech| Words { language, speech, plan: &plan };
    let us = words(Language::English, Speech::Us);
    assert_eq!(us.moment(at(9, 19, 0)), "Tue, Feb 9, 2027, 7:00 pm");
    assert_eq!(us.span(at(9, 5, 30), at(9, 12, 5)), "Tue, Feb 9, 2027, 5:30 am–12:05 pm");
    assert_eq!(us.span_ahead(at(9, 23, 0), at(10, 0, 30)), "Tue, Feb 9, 11:00 pm to Wed, Feb 10, 12:30 am");
    let metric = words(Language::English, Speech::Metric);
    assert_eq!(metric.moment(at(9, 19, 0)), "Tue 9 Feb 2027, 19:00");
    assert_eq!(metric.span_ahead(at(9, 5, 30), at(9, 7, 0)), "Tue 9 Feb, 05:30–07:00");
    let march = NaiveDate::from_ymd_opt(2027, 3, 2).unwrap();
    // The weekday and the month are the same three letters.
    assert_eq!(words(Language::Spanish, Speech::Us).day(march), "mar. 2/mar/2027");
    assert_eq!(words(Language::Spanish, Speech::Us).moment(at(9, 19, 0)), "mar. 9/feb/2027, 7:00 p.m.");
    assert_eq!(words(Language::Spanish, Speech::Metric).moment(at(9, 19, 0)), "mar. 9/feb/2027, 19:00");
}

/// The same day on the pages of a grove in acres and of one in hectares.
#[test]
fn every_page_has_the_form_of_its_grove() {
    let folder = folder("days-of-pages");
    for (example, form, other) in [("mixed-grove", " 4:30 am", " 04:30"), ("southern", " 04:30", " 4:30 am")]
    {
        let grove = folder.join(example).to_str().unwrap().to_string();
        ran(&["start", &grove, "--example", example], 0);
        for page in [&["advise", "--long"][..], &["sprayday"], &["ask"]] {
            let (out, _) = ran(&[page, &[&grove]].concat(), 0);
            let printed: String = out.split('`').step_by(2).collect();
            assert!(printed.contains(form) && !printed.contains(other), "{page:?} {example}\n{out}");
        }
    }
}

/// An amount is told in the grower's own unit first: ounces in acres, grams in hectares.
#[test]
fn amounts_begin_with_the_grower_s_own_unit() {
    let amount = |grove: &str, volume: &str| {
        let (out, _) = ran(&["mix", grove, "sulfur", "reduced", volume], 0);
        let take = out.lines().find(|line| line.trim_start().starts_with("Take")).unwrap();
        take.trim_start().trim_start_matches("Take").trim().to_string()
    };
    let us = amount("examples/mixed-grove", "25 gal");
    assert!(us.contains(" oz (") && us.ends_with(" g)"), "{us}");
    let metric = amount("examples/southern", "16 L");
    assert!(metric.contains(" g (") && metric.ends_with(" oz)"), "{metric}");
}
