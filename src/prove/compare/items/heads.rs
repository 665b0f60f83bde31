//! What the head of a rulebook says of an advice, clause by clause: hours that may be missing, the spray window, how sure
//! instruments are, over which days is counted.

use super::ItemDirection;
use super::meanings::{Reader, Role, hash};
use crate::advice::accuracy_of;
use crate::plan::{Head, Series};
use crate::units::clean;
use chrono::NaiveDate;
use std::cmp::Ordering;

/// A clause of the head that an advice acts on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum HeadClause {
    /// The spray window that is looked for.
    Window,
    /// How many hours may be missing.
    Gaps,
    /// How far instruments may be off.
    Accuracy,
    /// Over which days of the year is counted.
    Season,
    /// When it is in force.
    InForce,
    /// Whether it promises only to tighten its base.
    Tightens,
}

impl Reader<'_, '_> {
    pub(super) fn head(&mut self) {
        let head = &self.plan.head;
        let span = head.span;
        let words = hash((&head.title, &head.edition, &head.region, &head.contact, &head.crop));
        self.add("rulebook".to_owned(), Role::Other, 0, span).words = words;
        let (window, gaps) = (head.window.0.to_bits(), head.window.1.to_bits());
        let accuracy: Vec<Option<u64>> =
            Series::ALL.iter().map(|(series, _)| accuracy_of(head, *series).map(f64::to_bits)).collect();
        let clauses = [
            (HeadClause::Window, hash((window, gaps))),
            (HeadClause::Gaps, head.gaps.to_bits()),
            (HeadClause::Accuracy, hash(accuracy)),
            (HeadClause::Season, hash(head.season)),
            (HeadClause::InForce, hash(head.in_force)),
            (HeadClause::Tightens, u64::from(head.tightens)),
        ];
        for (clause, meaning) in clauses {
            let written = clause.written(head);
            let item = self.add(format!("rulebook {}", clause.word()), Role::Head(clause), meaning, span);
            item.written = Some(written);
        }
        for caution in &head.cautions {
            let item = self.add(format!("caution \"{caution}\""), Role::Caution, 0, span);
            item.written = Some(caution.to_string());
        }
        for source in &self.plan.sources {
            let item = self.add(format!("source {}", source.key), Role::Definition, 0, source.span);
            item.sources = hash((&source.citation, source.recalled));
        }
    }
}

impl HeadClause {
    /// Returns the word that begins it.
    fn word(self) -> &'static str {
        match self {
            HeadClause::Window => "window",
            HeadClause::Gaps => "gaps",
            HeadClause::Accuracy => "accuracy",
            HeadClause::Season => "season",
            HeadClause::InForce => "in-force",
            HeadClause::Tightens => "tightens",
        }
    }

    /// Returns whether something that protects hangs on it.
    pub(super) fn protects(self) -> bool {
        matches!(self, HeadClause::Window | HeadClause::Gaps | HeadClause::Accuracy | HeadClause::Tightens)
    }

    /// Returns what stands behind its word, or would.
    fn written(self, head: &Head) -> String {
        let day = |(month, day): (u8, u8)| {
            let date = NaiveDate::from_ymd_opt(2000, u32::from(month), u32::from(day));
            date.map_or_else(String::new, |date| date.format("%-d %b").to_string())
        };
        match self {
            HeadClause::Window => {
                let [least, ahead] = [head.window.0, head.window.1].map(clean);
                format!("at least {least} h within {ahead} h")
            }
            HeadClause::Gaps => format!("at most {} %", clean(head.gaps * 100.0)),
            HeadClause::Accuracy if head.accuracy.is_empty() => "as usual".to_owned(),
            HeadClause::Accuracy => {
                let one = |(series, by, unit): &(Series, f64, crate::units::Unit)| {
                    format!("{} {} {}", series.word(), clean(unit.amount_from_base(*by)), unit.symbol)
                };
                head.accuracy.iter().map(one).collect::<Vec<String>>().join(", ")
            }
            HeadClause::Season => format!("from {} to {}", day(head.season.0), day(head.season.1)),
            HeadClause::InForce => match head.in_force {
                Some((from, to)) => format!("from {from} to {to}"),
                None => "always".to_owned(),
            },
            HeadClause::Tightens => if head.tightens { "promised" } else { "not promised" }.to_owned(),
        }
    }

    /// Returns which way it moved, where that can be said.
    pub(super) fn direction(self, was: &Head, now: &Head) -> Option<ItemDirection> {
        use ItemDirection::{FewerHours, Looser, MoreHours, MustLook, Stricter};
        let both = |one: Ordering, other: Ordering| match (one, other) {
            (Ordering::Equal, way) | (way, Ordering::Equal) => way,
            (one, other) if one == other => one,
            _ => Ordering::Equal,
        };
        let (way, more, less) = match self {
            // A shorter one is found more often, and so is one that is looked for further ahead.
            HeadClause::Window => {
                let (least, ahead) =
                    (was.window.0.total_cmp(&now.window.0), now.window.1.total_cmp(&was.window.1));
                (both(least, ahead), MoreHours, FewerHours)
            }
            HeadClause::Gaps => (now.gaps.total_cmp(&was.gaps), Looser, MustLook),
            HeadClause::Accuracy => (accuracy_change(was, now)?, MustLook, Looser),
            HeadClause::Tightens => (now.tightens.cmp(&was.tightens), Stricter, Looser),
            HeadClause::Season | HeadClause::InForce => return None,
        };
        match way {
            Ordering::Greater => Some(more),
            Ordering::Less => Some(less),
            Ordering::Equal => None,
        }
    }
}

/// Returns whether instruments are taken to be off by more, or by less; nothing where some are by more and others by less.
pub(crate) fn accuracy_change(was: &Head, now: &Head) -> Option<Ordering> {
    let mut all = Ordering::Equal;
    for (series, _) in Series::ALL {
        let [before, after] = [was, now].map(|head| accuracy_of(head, *series).unwrap_or(0.0));
        let way = after.total_cmp(&before);
        match (all, way) {
            (_, Ordering::Equal) => {}
            (Ordering::Equal, way) => all = way,
            (all, way) if all == way => {}
            _ => return None,
        }
    }
    Some(all)
}
