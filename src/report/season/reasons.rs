//! The reasons of a morning, while it is at hand: for each group of trees what the page of that morning would have said.

use crate::advice::Case;
use crate::explain::Values;
use crate::replay::{DecisionGroup, ToldMorning};
use crate::report::page::{Facts, Page, reasons_of, verdict_heading};
use crate::report::{GroveGround, GroveTrees};
use crate::words::{Language, Scene, Speech};
use crate::workspace::OpenGrove;
use chrono::NaiveDate;

/// What is said of the groups of a morning, in their order.
#[derive(Clone, Debug)]
pub struct MorningReasons {
    /// The day.
    pub day: NaiveDate,
    /// Of each group its heading, and its reasons, each with its label.
    pub groups: Vec<GroupReasons>,
}

/// What is said of a group: its heading, and its reasons, each with its label.
pub type GroupReasons = (String, Vec<(String, String)>);

/// Returns the reasons of a morning.
pub fn reasons(
    open: &OpenGrove,
    told: &ToldMorning<'_>,
    (language, speech): (Language, Speech),
) -> MorningReasons {
    let (plan, grove) = (&open.plan, told.grove);
    let (weather_measures, advisor) = (told.weather_measures, told.advisor);
    let ground = GroveGround { trees: GroveTrees { plan, grove }, weather_measures, advisor };
    let scene = Scene {
        plan,
        rules: advisor.rules(),
        inputs: advisor.inputs(),
        sources: &open.sources,
        origins: &ground,
        language,
        speech,
        today: told.day.date(),
    };
    let facts = Facts {
        grove: &grove.title,
        now: told.day.morning,
        weather_measured_to: None,
        forecast_issued: None,
        data_problems: &[],
        rulebook_problems: &[],
        drift: 0.0,
    };
    let page = Page { scene: &scene, facts: &facts, ground: &ground, advice: told.advice };
    let of_group = |group: &DecisionGroup| {
        let first = group.trees.first()?;
        let case: &Case = told.advice.case_of(told.advice.trees.get(*first)?)?;
        // Trees of one decision may differ in what they met: what is said holds of those of the first one's case.
        let number = told.advice.trees.get(*first)?.case;
        let same = |tree: &&usize| told.advice.trees.get(**tree).is_some_and(|it| it.case == number);
        let trees: Vec<usize> = group.trees.iter().filter(same).take(TOLD).copied().collect();
        let values: Values = page.values(&trees);
        Some((verdict_heading(scene.words(), case), reasons_of(&page, &values, case)))
    };
    let groups = told.day.groups.iter().map(|group| of_group(group).unwrap_or_default()).collect();
    MorningReasons { day: told.day.date(), groups }
}

/// The values of so many trees of a group are told together.
const TOLD: usize = 40;
