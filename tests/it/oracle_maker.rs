//! Makes rulebooks for the oracle of the proofs.

use super::oracle_book::{
    Book, Choice, Compare, Cond, Dice, Does, Gate, OfGroup, Promise, Root, Row, Rules, Subject, Way,
};

/// What a condition may speak of: of no band, of the first, or of both.
#[derive(Clone, Copy)]
struct Bands(usize);

fn compare(dice: &mut Dice, at: &[f64]) -> Compare {
    let value = dice.one_of(at);
    let (low, high) = (at[0], at[at.len() - 1]);
    match dice.below(6) {
        0 => Compare::AtLeast(value),
        1 => Compare::AtMost(value),
        2 => Compare::Above(value),
        3 => Compare::Below(value),
        4 => Compare::FromTo(low, high),
        _ => Compare::FromToBelow(low, high),
    }
}

fn leaf(dice: &mut Dice, bands: Bands) -> Cond {
    let word = |dice: &mut Dice, count: usize| {
        let at = dice.below(count) as f64;
        match dice.below(3) {
            0 => Compare::Is(at),
            1 => Compare::AtLeast(at.max(1.0)),
            _ => Compare::AtMost(at.min(count as f64 - 2.0)),
        }
    };
    match dice.below(14 + 2 * bands.0) {
        0 | 1 => Cond::Is(Subject::Root(Root::Stage), word(dice, 4)),
        2 => Cond::Is(Subject::Root(Root::Mildew), compare(dice, &[10.0, 20.0, 30.0])),
        3 => Cond::Is(Subject::Root(Root::Spots), compare(dice, &[1.0, 2.0, 3.0])),
        4 => Cond::Is(Subject::Root(Root::Wet), Compare::Is(dice.below(2) as f64)),
        5 => Cond::Is(Subject::Root(Root::CopperAge), compare(dice, &[3.0, 7.0, 8.0, 14.0])),
        6 => Cond::Is(Subject::Root(Root::Low), compare(dice, &[10.0, 15.0, 20.0])),
        7 => Cond::Is(Subject::Root(Root::High), compare(dice, &[10.0, 15.0, 20.0])),
        8 => Cond::Is(Subject::Doubled, compare(dice, &[20.0, 40.0])),
        9 => Cond::Is(Subject::Clean, compare(dice, &[80.0, 90.0])),
        10 => Cond::Is(Subject::Kept, compare(dice, &[10.0, 20.0])),
        11 => match dice.below(2) {
            0 => Cond::Is(Subject::Risk, word(dice, 3)),
            _ => Cond::Is(Subject::Points, compare(dice, &[1.0, 5.0])),
        },
        12 => Cond::Lowest(compare(dice, &[20.0, 50.0])),
        13 => {
            let flowers = compare(dice, &[20.0, 50.0]);
            let group = OfGroup { age: dice.below(4), flowers, both: dice.below(2) == 0 };
            Cond::Panicles { all: dice.below(2) == 0, group }
        }
        _ => Cond::Grade(dice.below(bands.0), word(dice, 3)),
    }
}

fn condition(dice: &mut Dice, bands: Bands) -> Cond {
    let mut one = || leaf(dice, bands);
    let parts = [one(), one(), one()];
    let [a, b, c] = parts;
    match dice.below(7) {
        0 | 1 => a,
        2 => Cond::All(vec![a, b]),
        3 => Cond::Any(vec![a, b]),
        4 => Cond::All(vec![a, Cond::Not(Box::new(Cond::Any(vec![b, c])))]),
        5 => Cond::All(vec![Cond::Any(vec![a, b]), c]),
        _ => Cond::All(vec![a, b, c]),
    }
}

fn ways(dice: &mut Dice) -> Vec<Way> {
    let all: [&[(usize, usize)]; 7] =
        [&[(0, 1)], &[(1, 1)], &[(0, 1), (1, 1)], &[(2, 0)], &[], &[(1, 0)], &[(1, 0), (2, 1)]];
    let first = dice.below(all.len());
    (0..1 + dice.below(3)).map(|at| all[(first + at) % all.len()].to_vec()).collect()
}

/// Makes the rulebook of a seed.
pub fn book(seed: u64) -> Book {
    let dice = &mut Dice(seed);
    let rows = |dice: &mut Dice, bands: Bands| -> Vec<Row> {
        let kinds = [(1, false), (2, false), (1, true), (0, true)];
        let count = 2 + dice.below(3);
        let row = |(level, caps): (usize, bool)| Row { level, caps, when: condition(dice, bands) };
        kinds.into_iter().take(count).map(row).collect()
    };
    let bands = [rows(dice, Bands(0)), rows(dice, Bands(1))];
    let both = Bands(2);
    let gates = (0..1 + dice.below(4))
        .map(|_| {
            let does = dice.one_of(&[
                Does::Shuts(0),
                Does::Shuts(1),
                Does::ShutsAll,
                Does::ShutsTogether(0, 1),
                Does::ShutsGroup,
                Does::Holds(0),
                Does::Holds(1),
            ]);
            let when = (dice.below(8) > 0).then(|| condition(dice, both));
            let unless = (dice.below(3) == 0).then(|| condition(dice, both));
            Gate { does, when, unless }
        })
        .collect();
    let tidy = dice.below(2) == 0;
    let mut choices: Vec<Choice> = Vec::new();
    for at in 0..2 + dice.below(3) {
        let when = (dice.below(6) > 0).then(|| condition(dice, both));
        let outranks = (0..at).filter(|_| tidy || dice.below(3) == 0).collect();
        choices.push(Choice { ways: ways(dice), when, outranks });
    }
    // Half of the rulebooks end in a choice for what is left, as authors are told to write one.
    if dice.below(2) == 0 {
        let at = choices.len();
        choices.iter_mut().for_each(|choice| {
            if tidy || dice.below(3) > 0 {
                choice.outranks.push(at);
            }
        });
        choices.push(Choice { ways: vec![Vec::new()], when: None, outranks: Vec::new() });
    }
    let always = if dice.below(3) == 0 {
        vec![Cond::Not(Box::new(Cond::All(vec![leaf(dice, Bands(0)), leaf(dice, Bands(0))])))]
    } else {
        Vec::new()
    };
    let tasks: Vec<Cond> = (0..2).map(|_| condition(dice, both)).collect();
    let promises = (0..4)
        .map(|_| {
            let rules = match dice.below(6) {
                0 => Rules::Never(dice.below(3)),
                1 => Rules::NeverSpraying,
                2 => Rules::NeverStrong(dice.below(2)),
                3 => Rules::Task(dice.below(2)),
                _ => Rules::OnlyOr {
                    product: dice.below(3),
                    hold: dice.below(3) > 0,
                    uncovered: dice.below(2) == 0,
                    undecided: dice.below(2) == 0,
                },
            };
            Promise { whenever: condition(dice, both), rules }
        })
        .collect();
    Book { always, bands, gates, choices, tasks, promises }
}
