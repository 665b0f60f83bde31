//! The numbers of a forecast in words: hours of the day, rain, wind, degrees.

use crate::intake::unit_words::Scale;
use crate::units::Dimension;

/// What a number of the text is.
pub(super) enum NumberTold {
    Hours(f64, f64),
    Rain(f64),
    Wind(f64, f64),
    Degrees(f64, Option<Scale>),
    /// Two numbers without a unit: hours or an amount, as the words before them tell.
    Bare(f64, f64),
    /// Shares of a hundred: of humidity, or a chance.
    Percent(f64, f64),
}

/// Reads a number or two with the unit behind them, which may be the next word; whether it was.
pub(super) fn number(word: &str, next: Option<&str>) -> Option<(NumberTold, bool)> {
    let (from, rest) = digits(word)?;
    let (from_unit, to, rest) = match rest.split_once('-') {
        Some((unit, rest)) => {
            let (to, rest) = digits(rest)?;
            (unit, Some(to), rest)
        }
        None => ("", None, rest),
    };
    let clock = |unit: &str| unit == "am" || unit == "pm" || unit == "h" || unit.starts_with(':');
    if let (true, Some(to)) = (clock(rest) || clock(from_unit), to) {
        let end = hour(to, rest)?;
        let begin = hour(from, if from_unit.is_empty() { rest } else { from_unit })?;
        // `10-2pm` begins in the morning, `10pm-2am` ends on the next day.
        let is_one = from_unit.is_empty() && rest != "h";
        let begin = if begin > end && is_one { begin - 12.0 } else { begin };
        let end = if begin > end && end <= 12.0 { end + 24.0 } else { end };
        return (begin < end && begin >= 0.0).then_some((NumberTold::Hours(begin, end), false));
    }
    let behind = |unit: &str| if unit == "%" { None } else { Scale::written(unit) };
    let (unit, used) = if rest.is_empty() {
        let next = next.filter(|next| behind(next).is_some() || *next == "%");
        (next.unwrap_or_default(), next.is_some())
    } else {
        (rest, false)
    };
    if unit == "%" {
        return Some((NumberTold::Percent(from, to.unwrap_or(from)), used));
    }
    let scale = behind(unit);
    if scale.is_none() && !unit.is_empty() && unit != "°" {
        return None;
    }
    if let (None, "", Some(to)) = (&scale, unit, to) {
        return (from < to && to <= 24.0).then_some((NumberTold::Bare(from, to), used));
    }
    let told = match scale.as_ref().map(|scale| scale.unit.dimension) {
        Some(Dimension::LENGTH) => NumberTold::Rain(scale?.to_base(to.unwrap_or(from))),
        Some(Dimension::SPEED) => {
            let scale = scale?;
            NumberTold::Wind(scale.to_base(from), scale.to_base(to.unwrap_or(from)))
        }
        Some(Dimension::TEMPERATURE) | None if to.is_none() => NumberTold::Degrees(from, scale),
        _ => return None,
    };
    Some((told, used))
}

/// Reads one hour of the day, `2pm`, `14:00`, `14h`.
pub(super) fn one_hour(word: &str) -> Option<f64> {
    let (number, unit) = digits(word)?;
    hour(number, unit).filter(|_| !unit.is_empty())
}

fn digits(text: &str) -> Option<(f64, &str)> {
    let start = usize::from(text.starts_with('-'));
    let end = text.get(start..)?.find(|sign: char| !sign.is_ascii_digit() && sign != '.');
    let (digits, rest) = text.split_at(end.map_or(text.len(), |end| end + start));
    digits.parse().ok().map(|number| (number, rest))
}

/// Returns an hour of the day of `6` and `pm`, `:30pm`, `h`.
fn hour(number: f64, unit: &str) -> Option<f64> {
    let (minutes, half) = match unit.strip_prefix(':') {
        Some(rest) => {
            let (minutes, half) = digits(rest)?;
            (minutes, half)
        }
        None => (0.0, unit),
    };
    let hour = match half {
        "am" => number % 12.0,
        "pm" => number % 12.0 + 12.0,
        "h" | "" => number,
        _ => return None,
    };
    (hour <= 24.0 && minutes < 60.0).then_some(hour + minutes / 60.0)
}
