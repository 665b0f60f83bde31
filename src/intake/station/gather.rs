//! Rows into hours: means of three quarters of the rows, sums of all, the highest gust of all.

use super::rain::{GaugeRead, RainCount, between};
use crate::intake::draft::IntakeDraft;
use crate::intake::facts::FormFact;
use crate::intake::hour_values::HourBounds;
use crate::intake::timeline::FellOver;
use crate::weather::Column;
use chrono::{DateTime, Duration, Utc};
use rustc_hash::FxHashMap;

/// What a row tells of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum RowTells {
    /// Of what comes after its time.
    Begin,
    /// Of what came before it.
    End,
    /// It is not known: only what was read at its time is.
    Instant,
}

/// A row with its readings.
pub(super) struct StationRow {
    pub(super) at: DateTime<Utc>,
    pub(super) values: [Option<HourBounds>; Column::ALL.len()],
}

/// The rows of a table, and how they are to be put into hours.
pub(super) struct Gathering<'r> {
    pub(super) rows: &'r [StationRow],
    pub(super) columns: &'r [Column],
    /// Minutes from row to row.
    pub(super) step: i64,
    pub(super) tells: RowTells,
    pub(super) rain: RainCount,
    /// Whether wet leaves are given as minutes of each row.
    pub(super) wet_in_minutes: WetGiven,
}

/// How wet leaves are given.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum WetGiven {
    /// As a share of the row.
    Share,
    /// As minutes, which are added.
    Minutes,
}

/// Puts rows into hours.
pub(super) fn gather(gathering: &Gathering<'_>, draft: &mut IntakeDraft<'_>) {
    for row in gathering.rows {
        draft.timeline.touch(draft.timeline.grid.hour_of(gathering.middle(row)));
    }
    for column in gathering.columns.iter().copied().filter(|column| *column != Column::Rain) {
        if gathering.step > 60 || gathering.tells == RowTells::Instant {
            // A reading stands for its hour; what is taken over hours has none.
            if gathering.step > 60 && matches!(column, Column::Gust | Column::LeafWet) {
                continue;
            }
            for (row, value) in gathering.of(column) {
                draft.timeline.instant(column, row.at, value);
            }
        } else {
            gathering.means(column, draft);
        }
    }
    if gathering.columns.contains(&Column::Rain) {
        gathering.rain(draft);
    }
    if gathering.step > 60 {
        draft.intake.facts.push(FormFact::Coarse);
    }
}

impl Gathering<'_> {
    fn of(&self, column: Column) -> impl Iterator<Item = (&StationRow, HourBounds)> {
        self.rows
            .iter()
            .filter_map(move |row| Some((row, row.values.get(column as usize).copied().flatten()?)))
    }

    fn cover(&self, row: &StationRow) -> (DateTime<Utc>, DateTime<Utc>) {
        let step = Duration::minutes(self.step);
        match self.tells {
            RowTells::End => (row.at - step, row.at),
            RowTells::Begin | RowTells::Instant => (row.at, row.at + step),
        }
    }

    /// Returns the middle of the time that a row tells of; of long steps only its own hour is made.
    fn middle(&self, row: &StationRow) -> DateTime<Utc> {
        if self.step > 60 || self.tells == RowTells::Instant {
            return row.at + Duration::minutes(30);
        }
        self.cover(row).0 + Duration::seconds(self.step * 30)
    }

    fn means(&self, column: Column, draft: &mut IntakeDraft<'_>) {
        let rows_of_an_hour = usize::try_from(60 / self.step.max(1)).unwrap_or(1).max(1);
        let mut hours: FxHashMap<i64, (f64, f64, usize)> = FxHashMap::default();
        for (row, value) in self.of(column) {
            let hour = draft.timeline.grid.hour_of(self.middle(row));
            let (sum, highest, count) = hours.entry(hour).or_insert((0.0, f64::NEG_INFINITY, 0));
            *sum += value.from;
            *highest = highest.max(value.to);
            *count += 1;
        }
        for (hour, (sum, highest, count)) in hours {
            let all = count >= rows_of_an_hour;
            let value = match column {
                Column::Gust => all.then_some(highest),
                Column::LeafWet if self.wet_in_minutes == WetGiven::Minutes => all.then_some(sum.min(1.0)),
                _ => (count * 4 >= rows_of_an_hour * 3).then_some(sum / count as f64),
            };
            draft.timeline.hours.entry(hour).or_default().set(column, value.map(HourBounds::is));
        }
    }

    fn rain(&self, draft: &mut IntakeDraft<'_>) {
        let readings: Vec<GaugeRead> = self.of(Column::Rain).map(|(row, amount)| (row.at, amount)).collect();
        let fell: Vec<FellOver> = match (self.rain, self.tells) {
            (RainCount::LeftOut, _) => return,
            (RainCount::OfTheRow, RowTells::Instant) => return,
            (RainCount::OfTheRow, _) => self
                .of(Column::Rain)
                .map(|(row, amount)| {
                    let (from, to) = self.cover(row);
                    FellOver { from, to, amount }
                })
                .collect(),
            (count @ (RainCount::DayTotal | RainCount::Running), _) => between(&readings, count, draft),
        };
        draft.fell(&fell);
    }
}
