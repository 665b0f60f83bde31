//! The report of an airport, `TJXX 090656Z 06005KT 5SM -RA 19/19 A3000 RMK AO2 P0005 T01940189`.

use super::hour_values::HourBounds;
use super::unit_words::Scale;
use crate::weather::Column;

/// A report.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Report {
    pub(super) station: String,
    /// Day of the month, hour and minute, UTC.
    pub(super) at: (u32, u32, u32),
    pub(super) is_special: bool,
    pub(super) is_correction: bool,
    temperature: Option<f64>,
    dew_point: Option<f64>,
    wind: Option<f64>,
    gust: Option<f64>,
    /// What fell since the last hourly report.
    pub(super) rain: Option<HourBounds>,
}

/// A trace is less than a hundredth of an inch.
pub(super) const TRACE: f64 = 0.254;
/// A hundredth of an inch.
const HUNDREDTH: f64 = 0.254;

impl Report {
    /// Reads a report; nothing where a text is none.
    pub(super) fn read(text: &str) -> Option<Self> {
        let words: Vec<&str> = text.trim_end_matches('=').split_whitespace().collect();
        let at = words.iter().position(|word| when(word).is_some()).filter(|at| (1..=4).contains(at))?;
        let station = words.get(at - 1).filter(|word| is_station(word)).copied()?;
        let at_start = words.get(..at + 2).unwrap_or(&words);
        let mut report = Self {
            station: station.to_string(),
            at: when(words.get(at)?)?,
            is_special: at_start.contains(&"SPECI"),
            is_correction: at_start.contains(&"COR"),
            temperature: None,
            dew_point: None,
            wind: None,
            gust: None,
            rain: None,
        };
        let remarks = words.iter().position(|word| *word == "RMK").unwrap_or(words.len());
        for word in words.get(at + 1..remarks).unwrap_or_default() {
            report.group(word);
        }
        let remarks = words.get(remarks..).unwrap_or_default();
        for word in remarks {
            if let Some((air, dew)) = tenths(word) {
                (report.temperature, report.dew_point) = (Some(air), Some(dew));
            }
        }
        report.rain = rain(words.get(at + 1..).unwrap_or_default(), remarks);
        Some(report)
    }

    /// Returns a value in base units.
    pub(super) fn value(&self, column: Column) -> Option<HourBounds> {
        let value = match column {
            Column::Temperature => self.temperature,
            Column::DewPoint => self.dew_point,
            Column::Wind => self.wind,
            Column::Gust => self.gust,
            Column::Rain => return self.rain,
            Column::Humidity | Column::LeafWet => None,
        };
        value.map(HourBounds::is)
    }

    fn group(&mut self, word: &str) {
        if let Some((wind, gust)) = wind(word) {
            (self.wind, self.gust) = (Some(wind), gust);
        } else if let Some((air, dew)) = word.split_once('/')
            && self.temperature.is_none()
            && let Some(air) = degrees(air)
        {
            (self.temperature, self.dew_point) = (Some(air), degrees(dew));
        }
    }
}

/// Returns whether a word is the day and time of a report.
fn when(word: &str) -> Option<(u32, u32, u32)> {
    let digits = word.strip_suffix('Z').filter(|digits| digits.len() == 6)?;
    let number = |from: usize| digits.get(from..from + 2)?.parse::<u32>().ok();
    let (day, hour, minute) = (number(0)?, number(2)?, number(4)?);
    ((1..=31).contains(&day) && hour < 24 && minute < 60).then_some((day, hour, minute))
}

fn is_station(word: &str) -> bool {
    word.len() == 4
        && word.starts_with(|letter: char| letter.is_ascii_uppercase())
        && word.chars().all(|letter| letter.is_ascii_uppercase() || letter.is_ascii_digit())
}

/// Reads `26`, `M01`; nothing where it is missing.
fn degrees(text: &str) -> Option<f64> {
    let (sign, digits) = text.strip_prefix('M').map_or((1.0, text), |digits| (-1.0, digits));
    let two = digits.len() == 2 && digits.bytes().all(|digit| digit.is_ascii_digit());
    digits.parse::<f64>().ok().filter(|_| two).map(|degrees| sign * degrees)
}

/// Reads the tenths of degrees, `T02220183`.
fn tenths(word: &str) -> Option<(f64, f64)> {
    let digits = word.strip_prefix('T').filter(|digits| digits.len() == 8)?;
    let one = |from: usize| {
        let sign = match digits.get(from..=from)? {
            "0" => 1.0,
            "1" => -1.0,
            _ => return None,
        };
        Some(sign * f64::from(digits.get(from + 1..from + 4)?.parse::<u32>().ok()?) / 10.0)
    };
    Some((one(0)?, one(4)?))
}

/// Reads `00000KT`, `VRB03KT`, `07008G18KT`, in base units.
fn wind(word: &str) -> Option<(f64, Option<f64>)> {
    let units = [("KT", "knots"), ("MPS", "m/s"), ("KMH", "km/h")];
    let (bare, symbol) =
        units.iter().find_map(|(end, symbol)| word.strip_suffix(end).map(|bare| (bare, *symbol)))?;
    let scale = Scale::of(symbol)?;
    let speeds = bare.get(3..)?;
    let (mean, gust) = speeds.split_once('G').map_or((speeds, None), |(mean, gust)| (mean, Some(gust)));
    let base = |text: &str| text.parse::<u32>().ok().map(|speed| scale.to_base(f64::from(speed)));
    Some((base(mean)?, gust.and_then(base)))
}

/// Returns what fell since the last hourly report. It is none only if an automatic station with a sensor that tells rain
/// from drizzle says nothing of rain, and nothing is wrong with its gauge.
fn rain(body: &[&str], remarks: &[&str]) -> Option<HourBounds> {
    let amount = remarks.iter().find_map(|word| {
        let digits = word.strip_prefix('P').filter(|digits| digits.len() == 4)?;
        digits.parse::<u32>().ok()
    });
    match amount {
        Some(0) => return Some(HourBounds::between(0.0, TRACE)),
        Some(hundredths) => {
            return Some(HourBounds::is((f64::from(hundredths) * HUNDREDTH * 1e3).round() / 1e3));
        }
        None => {}
    }
    let broken = remarks.iter().any(|word| *word == "PNO" || word.starts_with("6///"));
    let told = body.iter().any(|word| tells_of_rain(word));
    (remarks.contains(&"AO2") && !broken && !told).then_some(HourBounds::is(0.0))
}

/// Returns whether a group says that rain fell: `-RA`, `+TSRA`, `DZ`, `RAB22E05`.
fn tells_of_rain(word: &str) -> bool {
    let bare = word.trim_start_matches(['-', '+']).trim_start_matches("VC");
    let pairs = || bare.as_bytes().chunks(2).any(|pair| matches!(pair, b"RA" | b"DZ" | b"UP" | b"SH"));
    let weather =
        bare.len() >= 2 && bare.len() <= 8 && bare.bytes().all(|letter| letter.is_ascii_uppercase());
    let began = ["RAB", "RAE", "DZB", "DZE", "UPB", "UPE", "SHRAB", "TSRAB"]
        .iter()
        .any(|start| bare.starts_with(start));
    began || (weather && bare.len().is_multiple_of(2) && pairs())
}
