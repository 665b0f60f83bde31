//! The words of a forecast: days, lows and highs, rain with its hours, wind. English and Spanish.

use super::numbers::{NumberTold, number, one_hour};
use crate::intake::unit_words::Scale;

/// What one part of a forecast tells.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct ToldPart {
    pub(super) when: Option<ToldWhen>,
    pub(super) low: Option<(f64, Option<Scale>)>,
    pub(super) high: Option<(f64, Option<Scale>)>,
    pub(super) rain: Option<RainTold>,
    /// From and to, in base units.
    pub(super) wind: Option<(f64, f64)>,
    /// From and to, as a share.
    pub(super) humidity: Option<(f64, f64)>,
    /// The part of the day that is spoken of.
    pub(super) day_part: Option<DayPart>,
    /// Words of the sky, which say nothing that can be reckoned with.
    pub(super) passed_over: Vec<String>,
}

/// Of which time a part is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct ToldWhen {
    pub(super) day: DayTold,
    pub(super) is_night: bool,
}

/// A part of the day, in its hours. Where it ends is not fixed: what may come is taken of the wide one, what is promised of the
/// narrow one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct DayPart {
    pub(super) wide: (f64, f64),
    pub(super) narrow: (f64, f64),
}

impl DayPart {
    const fn exact(from: f64, to: f64) -> Self {
        Self { wide: (from, to), narrow: (from, to) }
    }
}

/// Which day is meant.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum DayTold {
    Today,
    Tomorrow,
    /// The next such day; Monday is 0.
    Weekday(u32),
}

/// What is told of rain.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum RainTold {
    Dry,
    /// Between which hours of the day, and how many millimetres, where that is told.
    Rain(Option<(f64, f64)>, Option<f64>),
}

const DAYS: &[(&str, DayTold)] = &[
    ("today", DayTold::Today),
    ("hoy", DayTold::Today),
    ("tomorrow", DayTold::Tomorrow),
    ("manana", DayTold::Tomorrow),
    ("monday", DayTold::Weekday(0)),
    ("lunes", DayTold::Weekday(0)),
    ("tuesday", DayTold::Weekday(1)),
    ("martes", DayTold::Weekday(1)),
    ("wednesday", DayTold::Weekday(2)),
    ("miercoles", DayTold::Weekday(2)),
    ("thursday", DayTold::Weekday(3)),
    ("jueves", DayTold::Weekday(3)),
    ("friday", DayTold::Weekday(4)),
    ("viernes", DayTold::Weekday(4)),
    ("saturday", DayTold::Weekday(5)),
    ("sabado", DayTold::Weekday(5)),
    ("sunday", DayTold::Weekday(6)),
    ("domingo", DayTold::Weekday(6)),
];
/// Common practice: a forecast's morning ends at noon and its afternoon at 6 pm; people also say it of an hour or two more.
const PARTS: &[(&str, DayPart)] = &[
    ("morning", DayPart { wide: (0.0, 13.0), narrow: (7.0, 11.0) }),
    ("afternoon", DayPart { wide: (12.0, 20.0), narrow: (13.0, 17.0) }),
    ("tarde", DayPart { wide: (12.0, 20.0), narrow: (13.0, 17.0) }),
    ("evening", DayPart { wide: (16.0, 24.0), narrow: (19.0, 21.0) }),
    ("madrugada", DayPart { wide: (0.0, 8.0), narrow: (1.0, 5.0) }),
];
const MORNING: DayPart = DayPart { wide: (0.0, 13.0), narrow: (7.0, 11.0) };
const NOON: &[&str] = &["noon", "mediodia", "midday"];
const AFTER: &[&str] = &["after", "despues", "desde", "since"];
const BEFORE: &[&str] = &["before", "until", "till", "by", "antes", "hasta"];
const TO: &[&str] = &["to", "a", "until", "till", "al", "hasta", "-", "y", "and"];
const HUMIDITY: &[&str] = &["humidity", "humedad", "rh", "hr"];
/// Words for a wind of which nobody can say how fast it is.
const NO_SPEED: &[&str] =
    &["windy", "breezy", "gusty", "blustery", "ventoso", "ventosa", "strong", "fuerte", "fuertes"];
const LOW: &[&str] = &["low", "lows", "min", "minimum", "minima", "baja"];
const HIGH: &[&str] = &["high", "highs", "max", "maximum", "maxima", "alta"];
const DRY: &[&str] = &["dry", "seco", "seca"];
const RAIN: &[&str] = &[
    "rain",
    "rains",
    "shower",
    "showers",
    "storm",
    "storms",
    "thunderstorm",
    "thunderstorms",
    "tstorm",
    "tstorms",
    "wet",
    "rainy",
    "raining",
    "lluvioso",
    "lluviosa",
    "chubascos",
    "chubasco",
    "drizzle",
    "lluvia",
    "lluvias",
    "aguacero",
    "aguaceros",
    "tormenta",
    "tormentas",
    "llovizna",
];
const WIND: &[&str] = &["wind", "winds", "breeze", "air", "breezes", "viento", "vientos", "brisa"];
/// Wind by Beaufort's words, in knots: from, and up to where the next begins.
const WINDS: &[(&str, f64, f64)] = &[
    ("calm", 0.0, 1.0),
    ("calma", 0.0, 1.0),
    ("still", 0.0, 1.0),
    ("light", 1.0, 7.0),
    ("ligero", 1.0, 7.0),
    ("leve", 1.0, 7.0),
    ("gentle", 7.0, 11.0),
    ("suave", 7.0, 11.0),
    ("moderate", 11.0, 17.0),
    ("moderado", 11.0, 17.0),
];
/// Words that say that something may be, or nothing.
const MAYBE: &[&str] =
    &["chance", "maybe", "possible", "perhaps", "some", "posible", "quizas", "probabilidad"];
const PASSED_OVER: &[&str] = &[
    "sunny",
    "sun",
    "clear",
    "cloudy",
    "clouds",
    "fog",
    "foggy",
    "humid",
    "dew",
    "warm",
    "cool",
    "hot",
    "mostly",
    "partly",
    "soleado",
    "despejado",
    "nublado",
    "niebla",
    "humedo",
    "rocio",
    "sol",
];
const SMALL: &[&str] = &[
    "and", "with", "of", "in", "the", "at", "from", "on", "then", "y", "con", "de", "el", "la", "del", "por",
    "en", "esta", "this", "between", "entre", "las", "los", "desde",
];

/// Reads one part; the word that is not understood where there is one.
pub(super) fn part(text: &str) -> Result<ToldPart, String> {
    let mut part = ToldPart::default();
    let text = plainly(text);
    let joined = ranges(&text);
    let words: Vec<&str> = joined.iter().map(String::as_str).collect();
    let (mut low, mut high, mut no) = (false, false, false);
    let (mut rains, mut maybe, mut humid) = (false, false, false);
    let (mut hours, mut amount) = (None, None);
    let mut is_night = false;
    let mut at = 0;
    while let Some(word) = words.get(at).copied() {
        at += 1;
        let before = at.checked_sub(2).and_then(|at| words.get(at)).copied().unwrap_or_default();
        if let Some(limit) = one_side(word, words.get(at).copied()) {
            at += 1;
            let (from, to) = hours.unwrap_or((0.0, 24.0));
            hours = Some(if AFTER.contains(&word) { (limit, to) } else { (from, limit) });
        } else if word.starts_with(|sign: char| sign.is_ascii_digit() || sign == '-' || sign == '.') {
            let (told, used) = number(word, words.get(at).copied()).ok_or(word)?;
            at += usize::from(used);
            match told {
                NumberTold::Hours(from, to) => hours = Some((from, to)),
                NumberTold::Rain(depth) => (rains, amount) = (true, Some(depth)),
                NumberTold::Wind(from, to) => part.wind = Some((from, to)),
                NumberTold::Percent(from, to) => {
                    let next = words.get(at).copied().unwrap_or_default();
                    if humid || HUMIDITY.contains(&next) {
                        if !(0.0..=100.0).contains(&to) {
                            return Err(word.to_string());
                        }
                        part.humidity = Some((from / 100.0, to / 100.0));
                        humid = false;
                    } else if from != to && !rains && !maybe {
                        // Of humidity or of a chance: it is not said.
                        return Err(word.to_string());
                    } else {
                        (maybe, rains) = (true, true);
                    }
                }
                // Behind rain, hours past noon can be nothing else; lower numbers may be an amount.
                NumberTold::Bare(from, to) if RAIN.contains(&before) && from >= 13.0 => {
                    hours = Some((from, to));
                }
                NumberTold::Bare(..) => return Err(word.to_string()),
                NumberTold::Degrees(degrees, scale) => {
                    let is_low = low || (!high && is_night);
                    *(if is_low { &mut part.low } else { &mut part.high }) = Some((degrees, scale));
                    (low, high) = (false, false);
                }
            }
        } else if word == "manana" && ["la", "esta"].contains(&before) {
            part.day_part = Some(MORNING);
            if before == "esta" {
                part.when = Some(ToldWhen { day: DayTold::Today, is_night });
            }
        } else if let Some((_, day_part)) = PARTS.iter().find(|(known, _)| *known == word) {
            part.day_part = Some(*day_part);
            if ["this", "esta"].contains(&before) {
                part.when = Some(ToldWhen { day: DayTold::Today, is_night });
            }
        } else if HUMIDITY.contains(&word) {
            humid = part.humidity.is_none();
        } else if let Some(day) = day_of(word) {
            part.when = Some(ToldWhen { day, is_night });
        } else if ["tonight", "night", "noche", "overnight"].contains(&word) {
            is_night = true;
            let day = part.when.map_or(DayTold::Today, |when| when.day);
            part.when = Some(ToldWhen { day, is_night });
        } else if LOW.contains(&word) {
            low = true;
        } else if HIGH.contains(&word) {
            high = true;
        } else if word == "no" || word == "sin" {
            no = true;
        } else if DRY.contains(&word) {
            part.rain = Some(RainTold::Dry);
        } else if RAIN.contains(&word) {
            (rains, no) = if no { (rains, false) } else { (true, false) };
            if !rains {
                part.rain = Some(RainTold::Dry);
            }
        } else if let Some((_, from, to)) = WINDS.iter().find(|(known, ..)| *known == word) {
            let next = words.get(at).copied().unwrap_or_default();
            let knots = match (word, next) {
                ("light", "air") => (1.0, 4.0),
                ("light", "breeze") => (4.0, 7.0),
                _ => (*from, *to),
            };
            let scale = Scale::of("knots").ok_or(word)?;
            part.wind = Some((scale.to_base(knots.0), scale.to_base(knots.1)));
        } else if MAYBE.contains(&word) {
            maybe = true;
        } else if PASSED_OVER.contains(&word) {
            part.passed_over.push(word.to_string());
        } else if !SMALL.contains(&word) && !WIND.contains(&word) {
            return Err(word.to_string());
        }
    }
    if humid {
        return Err("humidity".to_string());
    }
    // Hours are of the rain where it rains, else of all that is said.
    if let Some((from, to)) = hours.filter(|_| !rains) {
        part.day_part = Some(DayPart::exact(from, to));
    }
    if rains {
        part.rain = Some(RainTold::Rain(hours, amount.filter(|_| !maybe)));
    }
    Ok(part)
}

/// Makes small letters without accents, one blank between words, and joins what belongs to a number.
fn plainly(text: &str) -> String {
    let mut plain = String::new();
    let letters: Vec<char> = text.to_lowercase().chars().collect();
    for (place, letter) in letters.iter().enumerate() {
        let digit = |place: Option<usize>| {
            place.and_then(|place| letters.get(place)).is_some_and(char::is_ascii_digit)
        };
        plain.push(match letter {
            'á' => 'a',
            'é' => 'e',
            'í' => 'i',
            'ó' => 'o',
            'ú' => 'u',
            'ñ' => 'n',
            '–' | '—' | '\u{2212}' => '-',
            // A comma between digits stands before decimals.
            ',' if digit(place.checked_sub(1)) && digit(Some(place + 1)) => '.',
            ',' => ' ',
            // `Today: 84`; within a time of day it stays.
            ':' if !digit(Some(place + 1)) => ' ',
            other => *other,
        });
    }
    let joined = [
        ("a. m.", "am"),
        ("p. m.", "pm"),
        ("a.m.", "am"),
        ("p.m.", "pm"),
        (" am", "am"),
        (" pm", "pm"),
        ("medio dia", "mediodia"),
        (" - ", "-"),
    ];
    joined.iter().fold(plain, |text, (from, to)| text.replace(from, to))
}

/// Parts a text into words, those of one range joined: `14:00 a 18:00`, `between 2pm and 6pm`.
fn ranges(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut rest = text.split_whitespace().peekable();
    let is_hour = |word: &str| one_hour(word).is_some();
    while let Some(word) = rest.next() {
        let joins = TO.contains(&word)
            && rest.peek().is_some_and(|next| is_hour(next))
            && words
                .last()
                .is_some_and(|last| is_hour(last) || last.bytes().all(|sign| sign.is_ascii_digit()));
        match (joins, words.last_mut(), rest.peek().copied()) {
            (true, Some(last), Some(next)) => {
                *last = format!("{last}-{next}");
                rest.next();
            }
            _ => words.push(word.to_string()),
        }
    }
    words
}

/// Returns whether a word tells of a wind and not of its speed.
pub(super) fn says_no_speed(word: &str) -> bool {
    NO_SPEED.contains(&word)
}

/// Reads `after noon`, `until 2pm`: the hour of the day that is named.
fn one_side(word: &str, next: Option<&str>) -> Option<f64> {
    if !AFTER.contains(&word) && !BEFORE.contains(&word) {
        return None;
    }
    let next = next?;
    if NOON.contains(&next) { Some(12.0) } else { one_hour(next) }
}

fn day_of(word: &str) -> Option<DayTold> {
    let whole = DAYS.iter().find(|(name, _)| *name == word);
    let short = || DAYS.iter().find(|(name, _)| word.len() >= 3 && name.starts_with(word));
    whole.or_else(short).map(|(_, day)| *day)
}
