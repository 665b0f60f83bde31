//! The page of the day: the rounds in order, what must be looked at first, and what one tank would do.

use super::Crew;
use super::sheet::when;
use crate::plan::ProductId;
use crate::report::paper::{Paper, Piece};
use crate::sprayday::{OneTank, PlanGround, Round};

/// Returns the page of the day.
pub fn day_paper(crew: &Crew<'_>) -> Paper {
    let as_of = crew.advice.as_of;
    let mut paper = Paper {
        title: crew.say("day.title", &[]),
        under: vec![crew.facts.grove.to_string(), crew.scene.words().moment(as_of)],
        pieces: Vec::new(),
    };
    let away = (crew.facts.now - as_of).num_minutes().abs();
    if crew.facts.now.date_naive() != as_of.date_naive() || away > 60 {
        let (then, now) = (crew.scene.words().moment(as_of), crew.scene.words().moment(crew.facts.now));
        paper.under.push(crew.say("day.not-today", &[("as-of", &then), ("now", &now)]));
    }
    let head = &crew.scene.plan.head;
    let edition = head.edition.as_ref().map_or_else(String::new, |edition| format!(", {edition}"));
    paper.field(&crew.say("day.guide", &[]), vec![format!("{}{edition}", head.title)]);
    if let Some(rain) = crew.day.rain {
        let words = crew.say("day.rain.words", &[("from", &crew.scene.words().moment(rain))]);
        paper.field(&crew.say("day.rain", &[]), vec![words]);
    }
    let sprayer = crew.ground.trees.grove.sprayer.as_ref();
    let unfilled = sprayer.is_some_and(|sprayer| sprayer.pace.is_some() && sprayer.fill.is_none());
    let loads: usize = crew.day.rounds.iter().map(|round| round.loads.len()).sum();
    if unfilled && loads > 1 {
        paper.field(&crew.say("day.filling", &[]), vec![crew.say("day.filling.words", &[])]);
    }
    for (at, round) in crew.day.rounds.iter().enumerate() {
        let label = match crew.numbers.get(at) {
            Some(number) => crew.say("day.round.sheet", &[("number", &number.to_string())]),
            None => crew.say("day.round", &[("number", &(at + 1).to_string())]),
        };
        let volume = round
            .job
            .as_ref()
            .map_or_else(|why| crew.words().no_amounts(why), |job| crew.words().volume(job.volume));
        let trees =
            format!("{} ({})", crew.scene.language.trees(round.trees.len()), crew.ranges(&round.trees));
        let mix = crew.mix(&round.spray);
        let places = [("mix", mix.as_str()), ("trees", &trees), ("volume", &volume)];
        let mut said = vec![crew.say("day.round.words", &places)];
        said.extend(no_sheet(crew, round));
        if round.is_weighed() {
            said.extend(when(crew, round));
            said.extend(done_by(crew, round));
            said.extend(alone(crew, round));
        }
        paper.field(&label, said);
    }
    if crew.day.rounds.is_empty() {
        paper.pieces.push(Piece::Text(crew.say("day.nothing", &[])));
    }
    let keys = ["day.one-tank.words", "day.one-tank.guards"];
    let tanks = crew.day.one_tank.iter().zip(keys).flat_map(|(tank, key)| one_tank(crew, tank, key));
    paper.field(&crew.say("day.one-tank", &[]), tanks.collect());
    if !crew.day.look.is_empty() {
        let trees = crew.scene.language.trees(crew.day.look.len());
        let list = crew.ranges(&crew.day.look);
        let words = crew.say("day.look.words", &[("trees", &trees), ("list", &list)]);
        paper.field(&crew.say("day.look", &[]), vec![words]);
    }
    let next = if crew.day.rounds.is_empty() { "day.next.none" } else { "day.next" };
    paper.pieces.push(Piece::Text(crew.say(next, &[])));
    paper
}

/// Says why a round has no sheet: of what there is nothing to weigh.
fn no_sheet(crew: &Crew<'_>, round: &Round<'_>) -> Vec<String> {
    let parts = round.job.iter().flat_map(|job| &job.parts);
    let missing = parts.filter_map(|part| {
        let product = crew.words().product(part.product);
        let failed = [&part.full, &part.last].into_iter().flatten().find_map(|made| made.as_ref().err());
        match (part.jug, failed) {
            (None, _) => Some(crew.say("day.no-sheet.jug", &[("product", &product)])),
            (Some(_), Some(why)) => {
                let why = crew.scene.language.mix_trouble(why);
                Some(crew.say("day.no-sheet.why", &[("product", &product), ("why", &why)]))
            }
            (Some(_), None) => None,
        }
    });
    missing.map(|why| crew.say("day.no-sheet", &[("why", &why)])).collect()
}

/// Says by when a round must be done.
pub(super) fn done_by(crew: &Crew<'_>, round: &Round<'_>) -> Option<String> {
    let by = round.done_by.filter(|_| round.planned.ground == PlanGround::Open)?;
    let key = if by.rain { "sheet.when.by.rain" } else { "sheet.when.by" };
    Some(crew.say(key, &[("by", &crew.words().moment_ahead(by.at))]))
}

/// Names a tree for which the sprayer goes out alone.
fn alone(crew: &Crew<'_>, round: &Round<'_>) -> Option<String> {
    let [tree] = round.trees[..] else { return None };
    let name = crew.ground.trees.grove.trees.name(tree);
    (crew.day.rounds.len() > 1).then(|| crew.say("day.alone", &[("tree", name)]))
}

fn one_tank(crew: &Crew<'_>, tank: &OneTank, key: &str) -> Vec<String> {
    let all = crew.scene.language.trees(tank.allowed.len() + tank.left_out.len());
    let (mix, allowed) = (crew.mix(&tank.spray), tank.allowed.len().to_string());
    let places = [("mix", mix.as_str()), ("allowed", &allowed), ("all", &all)];
    let mut said = vec![crew.say(key, &places)];
    let mut lost = |key: &str, disease: &str, trees: &[usize]| {
        if !trees.is_empty() {
            let list = format!("{} ({})", crew.scene.language.trees(trees.len()), crew.ranges(trees));
            said.push(crew.say(key, &[("disease", disease), ("list", &list)]));
        }
    };
    lost("day.one-tank.left-out", "", &tank.left_out);
    for (disease, trees) in &tank.unguarded {
        let name = crew.scene.plan.diseases.get(disease.index());
        lost("day.one-tank.unguarded", &name.map_or_else(String::new, |it| it.label.to_string()), trees);
    }
    lost("day.one-tank.needless", "", &tank.needless);
    let sprayed: Vec<ProductId> = tank.spray.iter().map(|(product, _)| *product).collect();
    let bars = crew.words().barred(&sprayed, crew.advice.as_of.date_naive());
    said.extend(bars.iter().map(|bars| crew.say("label.bars.today", &[("bars", bars)])));
    said
}
