//! Times as they are written, in every file and rulebook: ISO 8601, local or with an offset.

use chrono::{DateTime, Duration, NaiveDate, NaiveDateTime, Utc};

/// A time as written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Stamp {
    /// What the clock shows.
    pub local: NaiveDateTime,
    /// How many seconds this clock is ahead of UTC, where the text says so.
    pub ahead: Option<i32>,
}

impl Stamp {
    /// Returns the moment, if the text has an offset.
    pub fn moment(self) -> Option<DateTime<Utc>> {
        let ahead = Duration::seconds(i64::from(self.ahead?));
        self.local.checked_sub_signed(ahead).map(|naive| naive.and_utc())
    }
}

/// Reads `2027-02-10T18:00`, with or without seconds, `Z` or an offset; a blank may stand for the `T`, and a zero before a single
/// digit may be left out.
pub fn read_stamp(text: &str) -> Option<Stamp> {
    let mut rest = Rest(text.trim());
    let year = rest.digits(4)?;
    let month = rest.after('-')?.one_or_two()?;
    let day = rest.after('-')?.one_or_two()?;
    rest.one_of(&['T', 't', ' '])?;
    let hour = rest.one_or_two()?;
    let minute = rest.after(':')?.one_or_two()?;
    let mut second = 0;
    if rest.one_of(&[':']).is_some() {
        second = rest.digits(2)?;
        if rest.one_of(&['.', ',']).is_some() {
            rest.any_digits()?;
        }
    }
    let ahead = rest.offset()?;
    let date = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month, day)?;
    let local = date.and_hms_opt(hour, minute, second)?;
    rest.0.is_empty().then_some(Stamp { local, ahead })
}

struct Rest<'t>(&'t str);

impl Rest<'_> {
    fn digits(&mut self, count: usize) -> Option<u32> {
        let (digits, rest) = self.0.split_at_checked(count)?;
        if !digits.bytes().all(|byte| byte.is_ascii_digit()) {
            return None;
        }
        self.0 = rest;
        digits.parse().ok()
    }

    fn one_or_two(&mut self) -> Option<u32> {
        self.digits(2).or_else(|| self.digits(1))
    }

    fn any_digits(&mut self) -> Option<()> {
        let rest = self.0.trim_start_matches(|letter: char| letter.is_ascii_digit());
        let some = rest.len() < self.0.len();
        self.0 = rest;
        some.then_some(())
    }

    fn one_of(&mut self, letters: &[char]) -> Option<char> {
        let letter = self.0.chars().next().filter(|letter| letters.contains(letter))?;
        self.0 = self.0.strip_prefix(letter)?;
        Some(letter)
    }

    fn after(&mut self, letter: char) -> Option<&mut Self> {
        self.one_of(&[letter])?;
        Some(self)
    }

    /// Reads what may follow the time; the outer nothing is a text that is no offset.
    fn offset(&mut self) -> Option<Option<i32>> {
        self.0 = self.0.trim_start();
        if self.0.is_empty() {
            return Some(None);
        }
        let sign = match self.one_of(&['Z', 'z', '+', '-', '\u{2212}'])? {
            'Z' | 'z' => return Some(Some(0)),
            '+' => 1,
            _ => -1,
        };
        let hours = self.digits(2)?;
        let colon = self.one_of(&[':']).is_some();
        let minutes = if colon || !self.0.is_empty() { self.digits(2)? } else { 0 };
        if hours > 15 || minutes > 59 {
            return None;
        }
        Some(Some(sign * i32::try_from(hours * 3600 + minutes * 60).ok()?))
    }
}
