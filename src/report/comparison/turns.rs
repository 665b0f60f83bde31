//! Changes of verdict as the rows of a table: those that come to one thing, or from one, in one row.

use super::words::direction_words;
use crate::prove::compare::VerdictTurn;

/// A row: what was said, what is said, and which way that is.
pub(super) struct TurnRow {
    pub(super) was: String,
    pub(super) now: String,
    pub(super) words: String,
}

/// Returns changes of verdict in as few rows as either side allows: each change is in one.
pub(super) fn turn_rows(turns: &[VerdictTurn]) -> Vec<TurnRow> {
    let [by_was, by_now] = [0, 1].map(|side| grouped(turns, side));
    if by_was.len() < by_now.len() { by_was } else { by_now }
}

/// Returns changes of verdict, those in one row that share a side.
fn grouped(turns: &[VerdictTurn], shared: usize) -> Vec<TurnRow> {
    let mut groups: Vec<(&str, String, Vec<Sprayed>)> = Vec::new();
    for turn in turns {
        let (side, words) = (&*turn.short[shared], direction_words(turn));
        let at = groups.iter().position(|(known, way, _)| *known == side && *way == words);
        let at = at.unwrap_or_else(|| {
            groups.push((side, words, Vec::new()));
            groups.len() - 1
        });
        if let Some((_, _, list)) = groups.get_mut(at) {
            add(list, turn, 1 - shared);
        }
    }
    let row = |(side, words, list): (&str, String, Vec<Sprayed>)| {
        let other = list.iter().map(Sprayed::words).collect::<Vec<String>>().join("; or ");
        let [was, now] = if shared == 0 { [side.to_owned(), other] } else { [other, side.to_owned()] };
        TurnRow { was, now, words }
    };
    groups.into_iter().map(row).collect()
}

/// Verdicts in one: the same products, of which one may have several amounts; or what is no spray.
enum Sprayed {
    Doses(Vec<(String, Vec<String>)>),
    Other(String),
}

/// Adds one side of a change to the verdicts of a row, to one of the same products where all other amounts are the same.
fn add(list: &mut Vec<Sprayed>, turn: &VerdictTurn, side: usize) {
    let doses = &turn.doses[side];
    if doses.is_empty() {
        list.push(Sprayed::Other(turn.short[side].clone()));
        return;
    }
    let other = |of: &[(String, Vec<String>)]| -> Option<usize> {
        let alike = of.len() == doses.len() && of.iter().zip(doses).all(|(known, dose)| known.0 == dose.0);
        let mut differ =
            of.iter().zip(doses).enumerate().filter(|(_, (known, dose))| known.1[..] != [dose.1.clone()]);
        let first = differ.next().map(|(at, _)| at);
        first.filter(|_| alike && differ.next().is_none())
    };
    for known in list.iter_mut() {
        if let Sprayed::Doses(of) = known
            && let Some(at) = other(of)
            && let (Some((_, amounts)), Some(dose)) = (of.get_mut(at), doses.get(at))
        {
            amounts.push(dose.1.clone());
            return;
        }
    }
    list.push(Sprayed::Doses(
        doses.iter().map(|(product, amount)| (product.clone(), vec![amount.clone()])).collect(),
    ));
}

impl Sprayed {
    fn words(&self) -> String {
        match self {
            Sprayed::Doses(doses) => {
                let one = |(product, amounts): &(String, Vec<String>)| {
                    format!("{product} {}", amounts.join(" or "))
                };
                doses.iter().map(one).collect::<Vec<String>>().join(" with ")
            }
            Sprayed::Other(words) => words.clone(),
        }
    }
}
