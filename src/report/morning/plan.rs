//! What a morning is made of, for the page and for JSON: what is open now, what becomes another, which rows are closed.

use super::super::TreeGroup;
use crate::advice::{Turn, Window};
use crate::sprayday::{Day, Round};
use chrono::{DateTime, Duration};
use chrono_tz::Tz;

/// Mixes whose hours are open now, until the same moment.
#[derive(Clone, PartialEq, Debug)]
pub struct OpenNow {
    /// Until when.
    pub until: DateTime<Tz>,
    /// The places of the mixes among the rounds.
    pub mixes: Vec<usize>,
    /// Whether that is shorter than the guide asks for.
    pub short: bool,
    /// How long all of them take with all filling, where that is known.
    pub hours: Option<f64>,
    /// Those of them that are planned to be done by then.
    pub done: Vec<usize>,
}

impl OpenNow {
    /// Returns how much time passes until then, from a moment.
    pub fn window(&self, from: DateTime<Tz>) -> Window {
        Window { from, to: self.until, preferred: (0, 0) }
    }
}

/// Returns what is open at the moment of a day's plan.
pub fn open_now(day: &Day<'_>) -> Vec<OpenNow> {
    let mut open: Vec<OpenNow> = Vec::new();
    for (at, round) in day.rounds.iter().enumerate() {
        let under_way = |it: &Window| it.from <= day.as_of && day.as_of < it.to;
        let Some(window) = round.hours.open().into_iter().find(under_way) else { continue };
        let short = round.hours.short.contains(&window);
        let done = is_done(round, window.to).then_some(at);
        match open.iter_mut().find(|it| (it.until, it.short) == (window.to, short)) {
            Some(known) => {
                known.mixes.push(at);
                known.done.extend(done);
                known.hours = known.hours.zip(round.takes).map(|(one, other)| one + other);
            }
            None => open.push(OpenNow {
                until: window.to,
                mixes: vec![at],
                short,
                hours: round.takes,
                done: done.into_iter().collect(),
            }),
        }
    }
    open.sort_by_key(|it| it.until);
    open
}

/// Returns whether all of a round is planned to be done by a moment.
fn is_done(round: &Round<'_>, by: DateTime<Tz>) -> bool {
    round.planned.unfitted == 0 && round.span().is_some_and(|(_, to)| to <= by)
}

/// Returns when the first hours of a day's rounds open.
pub fn opens(day: &Day<'_>) -> Option<DateTime<Tz>> {
    day.rounds.iter().flat_map(|round| round.hours.open()).map(|window| window.from).min()
}

/// Trees whose verdict becomes another at one moment if the forecast holds.
#[derive(Clone, PartialEq, Debug)]
pub struct Turned {
    /// What it becomes, and when.
    pub turn: Turn,
    /// The trees.
    pub trees: Vec<usize>,
}

impl Turned {
    /// Returns whether it is within a day.
    pub fn is_soon(&self, as_of: DateTime<Tz>) -> bool {
        self.turn.at - as_of <= Duration::hours(24)
    }
}

/// Returns what becomes another if the forecast holds, the earliest first.
pub fn turned(groups: &[TreeGroup]) -> Vec<Turned> {
    let mut turned: Vec<Turned> = Vec::new();
    for group in groups {
        let Some(turn) = &group.turn else { continue };
        match turned.iter_mut().find(|known| known.turn == *turn) {
            Some(known) => known.trees.extend(&group.trees),
            None => turned.push(Turned { turn: turn.clone(), trees: group.trees.clone() }),
        }
    }
    turned.iter_mut().for_each(|it| it.trees.sort_unstable());
    turned.sort_by_key(|it| (it.turn.at, it.trees.first().copied()));
    turned
}
