//! The tables of a sheet: loads with their amounts and trees, and the passes of an air-blast sprayer.

use super::Crew;
use crate::report::paper::Piece;
use crate::sprayday::{Job, LoadTrees, PassSide, Round, TankPart, passes};

/// Returns the table of the loads; those that are alike stand in one row, but for their trees.
pub fn load_table(crew: &Crew<'_>, round: &Round<'_>, job: &Job<'_>) -> Piece {
    let plan = crew.scene.plan;
    let label = |key: &str| crew.say(key, &[]);
    let mut head = vec![label("sheet.column.load"), label("sheet.column.spray")];
    let products = job.parts.iter().filter_map(|part| plan.products.get(part.product.index()));
    head.extend(products.map(|product| product.label.to_string()));
    head.push(label("sheet.column.trees"));
    let rows = round.loads.iter().enumerate().map(|(at, load)| {
        let is_full = (at as u64) < job.loads.full;
        let mut row = vec![(at + 1).to_string(), crew.words().volume(load.volume)];
        row.extend(job.parts.iter().map(|part| amount(crew, part, is_full)));
        row.push(trees(crew, load));
        row
    });
    Piece::Table(head, rows.collect())
}

fn amount(crew: &Crew<'_>, part: &TankPart<'_>, is_full: bool) -> String {
    match if is_full { &part.full } else { &part.last } {
        Some(Ok(mix)) => crew.words().amount(&mix.shown),
        Some(Err(_)) | None => "?".to_string(),
    }
}

fn trees(crew: &Crew<'_>, load: &LoadTrees) -> String {
    let list = crew.ranges(&load.trees);
    match load.goes_on_with {
        Some(tree) => {
            let tree = crew.ground.trees.grove.trees.name(tree);
            crew.say("sheet.load.goes-on", &[("list", &list), ("tree", tree)])
        }
        None => list,
    }
}

/// Returns the table of the passes of an air-blast sprayer.
pub fn pass_table(crew: &Crew<'_>, round: &Round<'_>) -> Piece {
    let head = ["sheet.column.pass", "sheet.column.side.before", "sheet.column.side.behind"];
    let side = |side: Option<&PassSide>| match side {
        None => crew.say("sheet.side.nothing", &[]),
        Some(side) if side.runs.is_empty() => crew.say("sheet.side.shut", &[("row", &side.row)]),
        Some(side) if side.whole => crew.say("sheet.side.all", &[("row", &side.row)]),
        Some(side) => {
            let list = crew.ranges(&side.runs.concat());
            crew.say("sheet.side.part", &[("row", &side.row), ("list", &list)])
        }
    };
    let passes = passes(crew.ground.trees.grove, &round.trees);
    let rows = passes
        .iter()
        .enumerate()
        .map(|(at, pass)| vec![(at + 1).to_string(), side(pass.before.as_ref()), side(pass.behind.as_ref())]);
    Piece::Table(head.iter().map(|key| crew.say(key, &[])).collect(), rows.collect())
}
