//! The clock of a file: that on the wall, standard time all year, or a fixed offset; and its times as moments.

use crate::weather::{LocalTime, resolve_local};
use chrono::{DateTime, Duration, NaiveDateTime, Offset, TimeZone, Utc};
use chrono_tz::{OffsetComponents, Tz};

/// Which clock a file goes by.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum FileClock {
    /// That on the wall, with summer time.
    Wall,
    /// Standard time all year.
    Standard,
    /// So many seconds ahead of UTC.
    Ahead(i32),
}

/// Turns the times of a file into moments, in the order of the file.
pub(super) struct ClockReader {
    zone: Tz,
    clock: FileClock,
    last: Option<DateTime<Utc>>,
}

impl ClockReader {
    pub(super) fn new(zone: Tz, clock: FileClock) -> Self {
        Self { zone, clock, last: None }
    }

    /// Returns the moment of a time; nothing where the clock never showed it.
    pub(super) fn moment(&mut self, local: NaiveDateTime, ahead: Option<i32>) -> Option<DateTime<Utc>> {
        let fixed = |seconds: i32| Some((local - Duration::seconds(i64::from(seconds))).and_utc());
        let at = match (ahead, self.clock) {
            (Some(seconds), _) | (None, FileClock::Ahead(seconds)) => fixed(seconds),
            (None, FileClock::Standard) => fixed(standard(self.zone, local)),
            (None, FileClock::Wall) => match resolve_local(self.zone, local) {
                LocalTime::Once(at) => Some(at),
                LocalTime::Twice(first, second) => {
                    Some(if self.last.is_some_and(|last| last >= first) { second } else { first })
                }
                LocalTime::Never => None,
            },
        };
        self.last = at.or(self.last);
        at
    }
}

/// Returns the standard time of a zone, in seconds ahead of UTC.
fn standard(zone: Tz, local: NaiveDateTime) -> i32 {
    let offset = zone.offset_from_utc_datetime(&local);
    i32::try_from(offset.base_utc_offset().num_seconds()).unwrap_or_default()
}

/// What the times of a file tell of its clock.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum ClockSign {
    /// It shows a time that the clock on the wall left out.
    NeverShown,
    /// It shows an hour twice, as the clock on the wall did.
    ShownTwice,
    /// It shows no hour twice in the night in which the clock on the wall did.
    NotTwice,
    /// It leaves out the hour that the clock on the wall left out.
    LeftOut,
    /// No summer time falls into it.
    NoSummer,
    /// Nothing.
    Nothing,
}

/// Looks for signs of the clock among the times of a file, in its order, oldest first.
pub(super) fn sign(zone: Tz, locals: &[NaiveDateTime]) -> ClockSign {
    let kind = |local: &NaiveDateTime| resolve_local(zone, *local);
    if locals.iter().any(|local| matches!(kind(local), LocalTime::Never)) {
        return ClockSign::NeverShown;
    }
    let twice = |local: &NaiveDateTime| matches!(kind(local), LocalTime::Twice(..));
    let back = |pair: &[NaiveDateTime]| matches!(pair, [one, next] if next <= one && twice(next));
    if locals.windows(2).any(back) {
        return ClockSign::ShownTwice;
    }
    let offset = |local: &NaiveDateTime| match kind(local) {
        LocalTime::Once(at) | LocalTime::Twice(at, _) => {
            Some(zone.offset_from_utc_datetime(&at.naive_utc()).fix().local_minus_utc())
        }
        LocalTime::Never => None,
    };
    let summer = |local: &NaiveDateTime| offset(local).is_some_and(|ahead| ahead != standard(zone, *local));
    if !locals.iter().any(summer) {
        return ClockSign::NoSummer;
    }
    for pair in locals.windows(2) {
        let [one, next] = pair else { continue };
        let near = *next - *one <= Duration::hours(3);
        match (offset(one), offset(next)) {
            (Some(before), Some(after)) if near && before < after => return ClockSign::LeftOut,
            (Some(before), Some(after)) if near && before > after => return ClockSign::NotTwice,
            _ => {}
        }
    }
    ClockSign::Nothing
}
