//! Pages and JSON of advised groves.

use crate::groves::{Shown, with_grove};
use bloomward::report::page::{Facts, page};
use bloomward::report::why_page;

fn facts<'a>(shown: &Shown<'a>) -> Facts<'a> {
    let zone = shown.advice.as_of.timezone();
    Facts {
        grove: &shown.grove.title,
        now: shown.advice.as_of,
        weather_measured_to: shown.weather.and_then(|it| it.measured_to()).map(|it| it.with_timezone(&zone)),
        forecast_issued: shown.weather.and_then(|it| it.forecast_issued()).map(|it| it.with_timezone(&zone)),
        data_problems: &[],
        rulebook_problems: &[],
        drift: 9.144,
    }
}

fn page_of(shown: &Shown<'_>, width: usize) -> String {
    let facts = facts(shown);
    let all: Vec<usize> = (0..shown.advice.trees.len()).collect();
    page(&shown.scene, &facts, &shown.ground, shown.advice, &all, width)
}

#[test]
fn garden_why() {
    with_grove("examples/garden", |shown| {
        let facts = facts(&shown);
        for tree in ["T01", "T11", "T09"] {
            let tree = shown.grove.trees.find(tree).unwrap();
            println!("{}", why_page::page(&shown.scene, &facts, &shown.ground, shown.advice, tree, 80));
        }
        let oil = shown.scene.plan.product("copper").unwrap();
        println!("{}", why_page::not_page(&shown.scene, &facts, &shown.ground, shown.advice, (0, oil), 80));
    });
}

#[test]
fn garden() {
    with_grove("examples/garden", |shown| {
        println!("{}", page_of(&shown, 80));
        println!("{}", page_of(&shown, 40));
    });
}
