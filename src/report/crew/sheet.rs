//! The sheet of one round: what, when, where, how much, and what to write down.

use super::Crew;
use super::loads::{load_table, pass_table};
use super::overview::done_by;
use crate::grove::Sprayer;
use crate::plan::ProductId;
use crate::report::map::marked;
use crate::report::page::{risks, sentence};
use crate::report::paper::{Paper, Piece};
use crate::sprayday::{PlanGround, Round, Wait, flow, is_air_blast, rows};
use crate::units::{plain, show};
use crate::words::Speech;
use chrono::DateTime;
use chrono_tz::Tz;
use std::collections::{BTreeMap, BTreeSet};

/// Returns the sheet of a round, by its place in the day.
pub fn sheet_paper(crew: &Crew<'_>, place: usize) -> Paper {
    let Some(round) = crew.day.rounds.get(place) else { return Paper::default() };
    let number = crew.numbers.get(place).map(u64::to_string);
    let day = round.planned.stretches.first().map_or(crew.advice.as_of, |stretch| stretch.from);
    let mut paper = Paper {
        title: match &number {
            Some(number) => crew.say("sheet.title", &[("number", number)]),
            None => crew.say("sheet.title.none", &[]),
        },
        under: vec![crew.facts.grove.to_string(), crew.scene.words().day(day.date_naive())],
        pieces: Vec::new(),
    };
    what(crew, round, &mut paper);
    tank(crew, round, &mut paper);
    mind(crew, round, &mut paper);
    let list = |keys: &[&str]| keys.iter().map(|key| crew.say(&format!("sheet.{key}"), &[])).collect();
    paper.pieces.push(Piece::Heading(crew.say("sheet.before.title", &[])));
    let before = ["label", "gear", "jug", "clean", "people", "mix"].map(|key| format!("before.{key}"));
    paper.pieces.push(Piece::Boxes(list(&before.each_ref().map(String::as_str))));
    paper.pieces.push(Piece::Heading(crew.say("sheet.done.title", &[])));
    let done = [
        "start",
        "end",
        "wind",
        "temperature",
        "humidity",
        "stage",
        "operator",
        "certificate",
        "left",
        "trees",
    ];
    let done = done.map(|key| format!("done.{key}"));
    paper.pieces.push(Piece::Blanks(list(&done.each_ref().map(String::as_str))));
    paper.pieces.push(Piece::Text(match &number {
        Some(number) => crew.say("sheet.record", &[("number", number)]),
        None => crew.say("sheet.record.none", &[]),
    }));
    paper
}

/// Says when a round is sprayed.
pub(crate) fn when(crew: &Crew<'_>, round: &Round<'_>) -> Vec<String> {
    let planned = &round.planned;
    let mut said = Vec::new();
    match &planned.ground {
        PlanGround::Open => {}
        PlanGround::Compromise { gates, short } => {
            let key = match (short, round.takes) {
                (false, _) => "sheet.when.compromise",
                (true, Some(_)) => "sheet.when.compromise.short",
                (true, None) => "sheet.when.compromise.pace",
            };
            said.push(crew.say(key, &[("gates", &crew.gates(gates))]));
        }
        PlanGround::Short => {
            let key = if round.takes.is_some() { "sheet.when.short" } else { "sheet.when.short.pace" };
            said.push(crew.say(key, &[]));
        }
        PlanGround::Unknown => said.push(crew.say("sheet.when.unknown", &[])),
        PlanGround::Nothing => said.push(crew.say("sheet.when.none", &[])),
    }
    said.extend(planned.stretches.iter().map(|stretch| match stretch.to {
        Some(to) => {
            let span = crew.scene.words().span(stretch.from, to);
            crew.say("sheet.when.span", &[("span", &span), ("loads", &crew.loads(stretch.loads))])
        }
        None => crew.say("sheet.when.from", &[("from", &crew.scene.words().moment(stretch.from))]),
    }));
    if let Some((why, gates)) = &round.waits {
        // Of many gates those that shut most hours say enough.
        let gates = crew.gates(gates.get(..3).unwrap_or(gates));
        let key = match why {
            Wait::Shut => "sheet.when.waits.shut",
            Wait::Short => "sheet.when.waits.short",
            Wait::Busy => "sheet.when.waits.busy",
            Wait::Preferred => "sheet.when.waits.preferred",
        };
        said.push(crew.say(key, &[("gates", &gates)]));
    }
    if planned.outside_work {
        said.push(crew.say("sheet.when.outside-work", &[]));
    }
    if planned.unfitted > 0 && matches!(planned.ground, PlanGround::Open | PlanGround::Compromise { .. }) {
        said.push(crew.say("sheet.when.unfitted", &[("loads", &crew.loads(planned.unfitted))]));
    }
    said
}

fn what(crew: &Crew<'_>, round: &Round<'_>, paper: &mut Paper) {
    let (plan, speech) = (crew.scene.plan, crew.scene.speech);
    let label = |key: &str| crew.say(key, &[]);
    paper.field(&label("sheet.when"), when(crew, round).into_iter().chain(done_by(crew, round)).collect());
    if let Some(rain) = crew.day.rain {
        let from = crew.scene.words().moment(rain);
        let said = match round.planned.before_rain {
            Some(window) => {
                let window = crew.scene.words().span(window.from, window.to);
                crew.say("sheet.rain.ahead", &[("from", &from), ("window", &window)])
            }
            None => crew.say("sheet.rain.no-window", &[("from", &from)]),
        };
        paper.field(&label("sheet.rain"), vec![said]);
    }
    let doses = round.spray.iter().filter_map(|(product, strength)| {
        let product = plan.products.get(product.index())?;
        let strength = product.strengths.get(usize::from(*strength))?;
        let amount = plan.amount_shown(&strength.amount.written);
        let places = [("product", &*product.label), ("strength", &strength.shown), ("amount", &amount)];
        Some(crew.say("sheet.dose", &places))
    });
    paper.field(&label("sheet.mix"), doses.collect());
    paper.field(
        &label("sheet.against"),
        Some(crew.diseases(round)).filter(|it| !it.is_empty()).into_iter().collect(),
    );
    let count = crew.scene.language.trees(round.trees.len());
    let list = crew.ranges(&round.trees);
    paper.field(
        &label("sheet.trees"),
        vec![crew.say("sheet.trees.list", &[("count", &count), ("list", &list)])],
    );
    if let Some(area) = round.area {
        let one = |symbol: &str| plain(symbol).map(|unit| show(unit.amount_from_base(area), symbol));
        // Of a few trees acres and hectares would say little.
        let mut symbols = if area < SMALL_LAND { ["ft²", "m²"] } else { ["ac", "ha"] };
        if speech == Speech::Metric {
            symbols.reverse();
        }
        let both: Vec<String> = symbols.iter().filter_map(|symbol| one(symbol)).collect();
        paper.field(&label("sheet.land"), vec![both.join(" (") + ")"]);
    }
    let Some(sprayer) = &crew.ground.trees.grove.sprayer else { return };
    let kind = sprayer.kind.as_deref().map(|kind| crew.scene.language.sprayer(kind)).unwrap_or_default();
    if let Some(tank) = sprayer.tank.filter(|_| !kind.is_empty()) {
        let words = crew.say("sheet.sprayer.words", &[("kind", &kind), ("tank", &crew.words().volume(tank))]);
        paper.field(&label("sheet.sprayer"), vec![words]);
    }
    if let Ok(job) = &round.job {
        let each = match job.per_tree {
            (least, most) if least == most => crew.words().volume(least),
            (least, most) => format!("{} – {}", crew.words().volume(least), crew.words().volume(most)),
        };
        let all = crew.words().volume(job.volume);
        paper.field(
            &label("sheet.volume"),
            vec![crew.say("sheet.volume.each", &[("each", &each), ("all", &all)])],
        );
    }
    nozzles(crew, round, sprayer, paper);
}

/// Land below this, in square millimetres (a tenth of a hectare), is told in square feet and metres.
const SMALL_LAND: f64 = 1e9;

/// Speeds for which an air-blast sprayer's flow is told: slow walking to brisk driving in an orchard.
const SPEEDS: [(&str, [f64; 3]); 2] = [("mph", [1.5, 2.0, 2.5]), ("km/h", [2.5, 3.0, 4.0])];

/// Says how much all nozzles of an air-blast sprayer must give.
fn nozzles(crew: &Crew<'_>, round: &Round<'_>, sprayer: &Sprayer, paper: &mut Paper) {
    let grove = crew.ground.trees.grove;
    let block = round.trees.first().and_then(|tree| grove.block_of(*tree));
    let of_block = block.and_then(|block| Some((sprayer.volume_per_area(block)?, block.spacing?)));
    let (true, Some((depth, spacing))) = (is_air_blast(sprayer), of_block) else { return };
    let metric = crew.scene.speech == crate::words::Speech::Metric;
    let (speeds, symbols) = if metric { (SPEEDS[1], ["L", "gal"]) } else { (SPEEDS[0], ["gal", "L"]) };
    let one = |speed: f64| {
        let unit = plain(speeds.0)?;
        let by_hour = flow(depth, unit.amount_to_base(speed), spacing.rows);
        let by_minute = |symbol: &str| {
            let volume = plain(symbol)?;
            Some(show(volume.amount_from_base(by_hour / 60.0), &format!("{symbol}/min")))
        };
        let flow = format!("{} ({})", by_minute(symbols[0])?, by_minute(symbols[1])?);
        let speed = format!("{speed} {}", speeds.0);
        Some(crew.say("sheet.flow.one", &[("flow", &flow), ("speed", &speed)]))
    };
    let flows: Vec<String> = speeds.1.iter().filter_map(|speed| one(*speed)).collect();
    paper.field(
        &crew.say("sheet.flow", &[]),
        vec![crew.say("sheet.flow.words", &[("flows", &flows.join("; "))])],
    );
}

fn tank(crew: &Crew<'_>, round: &Round<'_>, paper: &mut Paper) {
    let plan = crew.scene.plan;
    let job = match &round.job {
        Ok(job) => job,
        Err(why) => {
            paper.pieces.push(Piece::Text(sentence(&crew.words().no_amounts(why))));
            return;
        }
    };
    let jugs = job.parts.iter().filter_map(|part| {
        let product = plan.products.get(part.product.index())?.label.to_string();
        let Some(jug) = part.jug else { return Some(crew.say("sheet.jug.none", &[("product", &product)])) };
        let named = match &jug.registration {
            Some(number) => {
                let places = [("product", product.as_str()), ("name", &jug.name), ("registration", number)];
                crew.say("sheet.jug.registered", &places)
            }
            None => crew.say("sheet.jug.words", &[("product", &product), ("name", &jug.name)]),
        };
        let read = match jug.label_read {
            Some(day) => crew.say("sheet.jug.read", &[("day", &crew.scene.words().day(day))]),
            None => crew.say("sheet.jug.unread", &[]),
        };
        Some(format!("{named}; {read}"))
    });
    paper.field(&crew.say("sheet.jug", &[]), jugs.collect());
    let troubles = job.parts.iter().filter_map(|part| {
        let made = [&part.full, &part.last].into_iter().flatten();
        made.filter_map(|made| made.as_ref().err())
            .next()
            .map(|it| crew.say("sheet.amounts.none", &[("why", &crew.scene.language.mix_trouble(it))]))
    });
    paper.pieces.extend(troubles.map(|why| Piece::Text(sentence(&why))));
    paper.pieces.push(Piece::Heading(crew.say("sheet.loads.title", &[])));
    paper.pieces.push(load_table(crew, round, job));
    let drawn = marked(crew.ground.trees.grove, &round.trees);
    if drawn.len() > 1 {
        paper.pieces.push(Piece::Heading(crew.say("sheet.map.title", &[])));
        paper.pieces.push(Piece::Drawn(drawn));
    }
    let air_blast = crew.ground.trees.grove.sprayer.as_ref().is_some_and(is_air_blast);
    if air_blast && rows(crew.ground.trees.grove).len() > 1 {
        paper.pieces.push(Piece::Heading(crew.say("sheet.passes.title", &[])));
        paper.pieces.push(pass_table(crew, round));
    }
}

fn mind(crew: &Crew<'_>, round: &Round<'_>, paper: &mut Paper) {
    let plan = crew.scene.plan;
    let label = |key: &str| crew.say(key, &[]);
    paper.pieces.push(Piece::Heading(label("sheet.while.title")));
    let neighbours = risks(&crew.page(), &round.trees, &round.spray).into_iter().filter_map(|risk| {
        let product = plan.products.get(risk.product.index())?.label.to_string();
        let why = risk.why(crew.words());
        let list = crew.ranges(&risk.trees);
        let places = [("product", product.as_str()), ("list", &list), ("why", &why)];
        Some(crew.say("sheet.neighbours.words", &places))
    });
    large(paper, label("sheet.neighbours"), neighbours.collect());
    let out = round.keep_out_until.map(|until| {
        let until = crew.scene.words().moment(until);
        crew.say("sheet.keep-out.words", &[("until", &until)])
    });
    large(paper, label("sheet.keep-out"), out.into_iter().collect());
    paper.pieces.push(Piece::Field(
        label("sheet.while.stop"),
        vec![label("sheet.while.insects"), label("sheet.while.weather")],
    ));
    let beside = closed_beside(crew, round).into_iter().map(|(until, trees)| {
        let (until, list) = (crew.scene.words().moment(until), crew.ranges(&trees));
        crew.say("sheet.closed.words", &[("list", &list), ("until", &until)])
    });
    paper.field(&label("sheet.closed"), beside.collect());
    if let Some(until) = round.kept_out_before {
        let until = crew.scene.words().moment(until);
        paper.field(&label("sheet.earlier"), vec![crew.say("sheet.earlier.words", &[("until", &until)])]);
    }
    let products = round.spray.iter().filter_map(|(product, _)| plan.products.get(product.index()));
    let care = products.flat_map(|product| &product.cautions).chain(&plan.head.cautions);
    paper.field(&label("sheet.care"), care.map(|caution| sentence(caution)).collect());
    if let Some(day) = round.pick_not_before {
        let entry = round.keep_out_until.max(round.kept_out_before);
        paper.field(&label("sheet.pick"), vec![crew.scene.words().pick(day, entry)]);
    }
    let sprayed: Vec<ProductId> = round.spray.iter().map(|(product, _)| *product).collect();
    let last = round.planned.stretches.last().map_or(crew.advice.as_of, |last| last.to.unwrap_or(last.from));
    paper.field(&label("sheet.apart"), crew.words().barred(&sprayed, last.date_naive()));
}

/// Adds what nobody may overlook, if there is any of it.
fn large(paper: &mut Paper, label: String, texts: Vec<String>) {
    if !texts.is_empty() {
        paper.pieces.push(Piece::Large(label, texts));
    }
}

/// Returns the trees beside a round, of its rows, their neighbors and its blocks, that are still closed after an earlier spray
/// when it begins, by the time until which they are.
fn closed_beside(crew: &Crew<'_>, round: &Round<'_>) -> BTreeMap<DateTime<Tz>, Vec<usize>> {
    let grove = crew.ground.trees.grove;
    let rows = rows(grove);
    let is_here = |tree: &usize| round.trees.binary_search(tree).is_ok();
    let here: Vec<bool> = rows.iter().map(|row| row.trees.iter().any(is_here)).collect();
    let blocks: BTreeSet<usize> = round.trees.iter().map(|tree| grove.trees.block(*tree)).collect();
    let near = |at: usize| (at.saturating_sub(1)..=at + 1).any(|other| here.get(other) == Some(&true));
    let beside = rows.iter().enumerate().filter(|(at, row)| near(*at) || blocks.contains(&row.block));
    let from = round.planned.stretches.first().map_or(crew.advice.as_of, |stretch| stretch.from);
    let mut closed: BTreeMap<DateTime<Tz>, Vec<usize>> = BTreeMap::new();
    for tree in beside.flat_map(|(_, row)| &row.trees).filter(|tree| !is_here(tree)) {
        let until = crew.advice.trees.get(*tree).and_then(|advice| advice.closed_until);
        if let Some(until) = until.filter(|until| *until > from) {
            closed.entry(until).or_default().push(*tree);
        }
    }
    closed
}
