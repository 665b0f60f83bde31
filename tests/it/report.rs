//! Pages and JSON of advised groves.

use crate::groves::{Shown, with_grove};
use bloomward::report::page::{Facts, page};

fn page_of(shown: &Shown<'_>, width: usize) -> String {
    let zone = shown.advice.as_of.timezone();
    let facts = Facts {
        grove: &shown.grove.title,
        now: shown.advice.as_of,
        weather_measured_to: shown.weather.and_then(|it| it.measured_to()).map(|it| it.with_timezone(&zone)),
        forecast_issued: shown.weather.and_then(|it| it.forecast_issued()).map(|it| it.with_timezone(&zone)),
        data_problems: &[],
        rulebook_problems: &[],
        drift: 9.144,
    };
    let all: Vec<usize> = (0..shown.advice.trees.len()).collect();
    page(&shown.scene, &facts, &shown.ground, shown.advice, &all, width)
}

#[test]
fn garden() {
    with_grove("examples/garden", |shown| {
        println!("{}", page_of(&shown, 80));
        println!("{}", page_of(&shown, 40));
    });
}
