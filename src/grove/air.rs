//! What a grower writes of the air while spraying: wind, temperature, humidity.
//!
//! Comes in: a few words, `4 mph from the north`, `68-70 °F`. Goes out: whether an inspector could read them. They are kept
//! as they were written.

use super::trouble::Trouble;
use crate::phrase::{Phrase, said};
use crate::units::{Dimension, spoken};
use crate::weather::{Column, possible};

/// Returns what is wrong with what was written in a column of the spray log, and what to write; nothing where it will do.
pub fn air_trouble(column: &str, text: &str) -> Option<(Phrase, Option<Phrase>)> {
    let (of, dimension, example) = match column {
        "wind" => (Column::Wind, Dimension::SPEED, "`4 mph`, `6 km/h`, `4 mph NE` or `calm`"),
        "temperature" => (Column::Temperature, Dimension::TEMPERATURE, "`68 °F` or `20 °C`"),
        "humidity" => (Column::Humidity, Dimension::NONE, "`65 %`"),
        _ => return None,
    };
    if of == Column::Wind && ["calm", "none", "still"].contains(&text.trim().to_lowercase().as_str()) {
        return None;
    }
    wrong(text, of, dimension, example).map(Trouble::into_parts)
}

fn wrong(text: &str, of: Column, dimension: Dimension, example: &str) -> Option<Trouble> {
    let help = said!("write {example}", example);
    let Some(said) = quantity(text, dimension) else {
        let message = match spoken::parse(text) {
            Ok(said) if said.is_bare() => said!("`{text}` has no unit", text),
            Ok(_) | Err(_) => said!("`{text}` does not say how much", text),
        };
        return Some(Trouble::new(message).help(help));
    };
    let value = if dimension == Dimension::TEMPERATURE { said.point() } else { said.amount() };
    let (low, high) = possible(of);
    let can_be = (low..=high + 1e-9).contains(&value);
    (!can_be).then(|| Trouble::new(said!("`{text}` is not possible", text)).help(help))
}

/// Returns the quantity in a few words: that of a range `3-5 mph` or `3 to 5 mph` is its upper end.
fn quantity(text: &str, dimension: Dimension) -> Option<spoken::Spoken> {
    let upper = |word: &str| {
        let parts = word.split_once(['-', '\u{2013}']);
        parts
            .filter(|(low, _)| low.parse::<f64>().is_ok())
            .map_or_else(|| word.to_string(), |(_, up)| up.into())
    };
    let words: Vec<String> = text.split_whitespace().map(upper).collect();
    let fits = |said: &spoken::Spoken| {
        let is_share = dimension != Dimension::NONE || &*said.unit.symbol == "%";
        said.unit.dimension == dimension && is_share && !said.is_bare() && !said.per_tree && said.of.is_none()
    };
    (0..words.len()).rev().find_map(|from| {
        let rest = words.get(from..)?;
        (1..=rest.len()).rev().find_map(|count| {
            let part = rest.get(..count)?.join(" ");
            spoken::parse(&part).ok().filter(fits)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::air_trouble;

    #[test]
    fn what_an_inspector_can_read_will_do() {
        for (column, text) in [
            ("wind", "4 mph"),
            ("wind", "3 mph NE"),
            ("wind", "from the north, 6 km/h"),
            ("wind", "3-5 mph"),
            ("wind", "3 to 5 mph gusts 8 mph"),
            ("wind", "Calm"),
            ("wind", "0 m/s"),
            ("temperature", "68F"),
            ("temperature", "-2 °C"),
            ("temperature", "68–70 °F"),
            ("humidity", "65 %"),
            ("humidity", "100%"),
            ("note", "whatever"),
        ] {
            assert_eq!(air_trouble(column, text), None, "{column} {text}");
        }
    }

    #[test]
    fn what_says_nothing_or_cannot_be_will_not() {
        for (column, text, words) in [
            ("wind", "fast", "does not say how much"),
            ("wind", "4", "has no unit"),
            ("wind", "1048 mph", "is not possible"),
            ("wind", "68 °F", "does not say how much"),
            ("temperature", "70", "has no unit"),
            ("temperature", "170 °F", "is not possible"),
            ("humidity", "65", "has no unit"),
            ("humidity", "140 %", "is not possible"),
        ] {
            let (message, help) = air_trouble(column, text).unwrap();
            assert!(message.contains(words) && help.is_some(), "{column} {text}: {message}");
        }
    }
}
