//! What a column is by its title, in English, Spanish, German and the short forms of stations.

use crate::intake::unit_words::Scale;
use crate::weather::Column;

/// What a column holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::intake) enum TitleMeaning {
    /// A date, a time of day, or both.
    Time,
    /// A series of the weather.
    Series(Column, Manner),
    /// The lowest temperature of a day.
    Lowest,
    /// The highest temperature of a day.
    Highest,
    /// Something else.
    NotRead,
}

/// How a title says that a column of rain is to be read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::intake) enum Manner {
    /// It does not say.
    Plain,
    /// The amount of the day so far.
    DayTotal,
    /// A counter that runs on.
    Counter,
}

/// Whatever has one of these is not the weather of the place, or no reading.
const NOT_READ: &[&str] = &[
    "indoor",
    "inside",
    "interior",
    "innen",
    "soil",
    "suelo",
    "boden",
    "heat ind",
    "chill",
    "feel",
    "apparent",
    "sensacion",
    "wet bulb",
    "wetbulb",
    "bulbo humedo",
    "flag",
    "source",
    "uncert",
    "direc",
    "dir ",
    "richtung",
    "press",
    "presion",
    "druck",
    "solar",
    "radia",
    "strahl",
    "batt",
    "illum",
    "storm",
    "tormenta",
    "prob",
    "chance",
    "snow",
    "nieve",
    "schnee",
    "evapo",
    "rate",
    "intens",
    "hmdx",
    "visib",
    "index",
    "indice",
    "quality",
    "calidad",
];
/// Whatever has one of these as a word of its own.
const NOT_READ_WORDS: &[&str] =
    &["dir", "uv", "et", "year", "month", "ano", "mes", "jahr", "monat", "std", "tmx", "tmn"];

const GUST: &[&str] = &["gust", "rafaga", "boe", "racha"];
const WIND: &[&str] = &["wind", "viento", "wspd", "wnd"];
const WIND_WORDS: &[&str] = &["ws"];
const LEAF: &[&str] = &["leaf", "hoja", "foliar", "blatt"];
const WET: &[&str] = &["wet", "mojad", "humect", "nass", "feucht"];
const DEW: &[&str] = &["dew", "rocio", "taupunkt"];
const HUMIDITY: &[&str] = &["hum", "feucht", "relh"];
const HUMIDITY_WORDS: &[&str] = &["rh", "hr", "rf"];
const RAIN: &[&str] = &["rain", "precip", "lluvia", "niederschlag", "regen", "prcp", "pluvio"];
/// Titles of a gauge whose tips are counted.
const TIPS: &[&str] = &["tip", "tips", "pulse", "pulses", "pulsos", "counts", "count"];
const TEMPERATURE: &[&str] = &["temp", "dry bulb", "drybulb", "bulbo seco"];
const TEMPERATURE_WORDS: &[&str] = &["t", "ta", "t2m", "tc", "tair", "airtc"];
const DAY_TOTAL: &[&str] = &[
    "tagessumme",
    "del dia",
    "diari",
    "daily",
    "day total",
    "today",
    "of the day",
    "hoy",
    "since midnight",
    "medianoche",
    "mitternacht",
];
const COUNTER: &[&str] = &["counter", "contador", "zahler", "acumul", "accum", "cumul", "running"];
const HIGH: &[&str] = &["high", "hi", "max", "maximum", "maxima", "alta", "hoch", "hochst"];
const LOW: &[&str] = &["low", "lo", "min", "minimum", "minima", "baja", "tief", "tiefst"];
const TIME: &[&str] = &[
    "time",
    "date",
    "datetime",
    "timestamp",
    "fecha",
    "hora",
    "datum",
    "uhrzeit",
    "zeit",
    "zeitpunkt",
    "day",
    "dia",
    "tag",
    "moment",
    "when",
    "dt",
    "epoch",
    "unix",
    "ts",
    "local",
    "utc",
];
/// Of two columns that fit, one with such a word is meant.
const PREFERRED: &[&str] =
    &["outdoor", "outside", "exterior", "aussen", "air", "aire", "luft", "mean", "avg", "media"];

/// Returns what a column is by its title.
pub(in crate::intake) fn heading(title: &str) -> TitleMeaning {
    let name = folded(parts(title).0);
    let has = |list: &[&str]| list.iter().any(|part| name.contains(part));
    let word = |list: &[&str]| name.split(' ').any(|word| list.contains(&word));
    let (high, low) = (word(HIGH), word(LOW));
    let series = |column: Column| TitleMeaning::Series(column, Manner::Plain);
    if has(&["marca temporal", "marca de tiempo"]) {
        return TitleMeaning::Time;
    }
    if has(GUST) && !has(&["direc", "dir"]) {
        return series(Column::Gust);
    }
    if has(LEAF) && has(WET) {
        return series(Column::LeafWet);
    }
    if has(NOT_READ) || word(NOT_READ_WORDS) {
        return TitleMeaning::NotRead;
    }
    if has(WIND) || word(WIND_WORDS) {
        return if high {
            series(Column::Gust)
        } else if low {
            TitleMeaning::NotRead
        } else {
            series(Column::Wind)
        };
    }
    if has(DEW) || word(&["td"]) {
        return if high || low { TitleMeaning::NotRead } else { series(Column::DewPoint) };
    }
    if has(HUMIDITY) || word(HUMIDITY_WORDS) {
        return if high || low { TitleMeaning::NotRead } else { series(Column::Humidity) };
    }
    if has(RAIN) || (word(TIPS) && tip_size(title).is_some()) {
        let manner = match (has(DAY_TOTAL), has(COUNTER)) {
            (true, _) => Manner::DayTotal,
            (false, true) => Manner::Counter,
            (false, false) => Manner::Plain,
        };
        return if high || low { TitleMeaning::NotRead } else { TitleMeaning::Series(Column::Rain, manner) };
    }
    let is_temperature = has(TEMPERATURE) || word(TEMPERATURE_WORDS);
    match (is_temperature, high, low) {
        (_, true, false) => TitleMeaning::Highest,
        (_, false, true) => TitleMeaning::Lowest,
        (true, false, false) => series(Column::Temperature),
        _ if word(TIME) => TitleMeaning::Time,
        _ => TitleMeaning::NotRead,
    }
}

/// Returns whether a title is that of the outside air, where another fits too.
pub(super) fn is_preferred(title: &str) -> bool {
    let name = folded(title);
    PREFERRED.iter().any(|part| name.contains(part))
}

/// Returns the unit in a title.
pub(super) fn unit(title: &str, column: Column) -> Option<Scale> {
    parts(title).1.and_then(Scale::written).filter(|scale| scale.fits(column))
}

/// Returns whether a title is that of a gauge whose tips are counted.
pub(super) fn counts_tips(title: &str) -> bool {
    folded(title).split(' ').any(|word| TIPS.contains(&word))
}

/// Returns the rain of one tip, where a title tells it: `rain (0.01 in)`.
pub(super) fn tip_size(title: &str) -> Option<Scale> {
    parts(title).1.and_then(Scale::of_tip)
}

/// Parts a title into its name and what may be its unit: in brackets, after a comma, or its last word.
fn parts(title: &str) -> (&str, Option<&str>) {
    let title = title.trim();
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let Some((name, rest)) = title.rsplit_once(open)
            && let Some((inside, _)) = rest.split_once(close)
        {
            return (name.trim(), Some(inside.trim()));
        }
    }
    let last = title.rsplit_once([',', '_', ' ']);
    match last.filter(|(_, last)| Scale::written(last).is_some()) {
        Some((name, last)) => (name.trim_end_matches([',', '_', ' ']), Some(last)),
        None => (title, None),
    }
}

/// Returns a title in small letters without accents, its words parted by blanks: `AirTemp_Avg` is `air temp avg`.
pub(super) fn folded(title: &str) -> String {
    let mut name = String::with_capacity(title.len() + 4);
    let mut before = ' ';
    for letter in title.chars() {
        if letter.is_uppercase() && before.is_lowercase() {
            name.push(' ');
        }
        before = letter;
        match letter {
            'á' | 'à' | 'ä' | 'â' | 'Á' | 'Ä' => name.push('a'),
            'é' | 'è' | 'É' => name.push('e'),
            'í' | 'Í' => name.push('i'),
            'ó' | 'Ó' => name.push('o'),
            'ö' | 'Ö' => name.push_str("oe"),
            'ú' | 'ü' | 'Ú' | 'Ü' => name.push('u'),
            'ñ' | 'Ñ' => name.push('n'),
            letter if letter.is_alphanumeric() => name.extend(letter.to_lowercase()),
            _ => name.push(' '),
        }
    }
    name.split_whitespace().collect::<Vec<_>>().join(" ")
}
