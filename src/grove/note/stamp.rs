//! What a messenger puts before each line that is copied out of it: `[2/9/27, 6:12 AM] Ana: `, `9/2/27 6:12 a. m. - Ana: `.

use crate::grove::figures::InFigures;

/// What stands before the note of a line.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Stamped<'l> {
    /// The day on which it was sent, as it stands there.
    pub sent: Option<&'l str>,
    /// How many bytes to pass over.
    pub skipped: usize,
}

/// A name is no longer.
const LONGEST_NAME: usize = 60;

/// Finds the stamp of a line. A line that nobody wrote, of a picture or of somebody who joined, is passed over whole.
pub(super) fn of_line(line: &str) -> Stamped<'_> {
    let none = Stamped { sent: None, skipped: 0 };
    let unmarked = line.trim_start_matches(|sign: char| sign.is_whitespace() || is_mark(sign));
    let (inside, rest) = match unmarked.strip_prefix('[') {
        Some(inside) => match inside.split_once(']') {
            Some(parts) => parts,
            None => return none,
        },
        None => match [" - ", " – "].into_iter().find_map(|sign| unmarked.split_once(sign)) {
            Some(parts) => parts,
            None => return none,
        },
    };
    let mut words = inside.split([',', ' ', '\u{a0}', '\u{202f}', 'T']).filter(|word| !word.is_empty());
    let day = words.next().unwrap_or_default();
    let is_day =
        InFigures::of(day).is_some_and(InFigures::has_year) || day.parse::<chrono::NaiveDate>().is_ok();
    let is_time = words
        .next()
        .is_some_and(|word| word.contains(':') && word.split(':').all(|part| part.parse::<u32>().is_ok()));
    if !is_day || !is_time {
        return none;
    }
    let said = rest
        .split_once(": ")
        .or_else(|| rest.split_once(":\n"))
        .filter(|(name, _)| name.len() <= LONGEST_NAME);
    let whole = Stamped { sent: Some(day), skipped: line.len() };
    let Some((_, said)) = said else { return whole };
    let bare = said.trim().trim_matches(is_mark);
    let last = bare.trim_end_matches('>').split_whitespace().next_back().unwrap_or_default().to_lowercase();
    if (bare.starts_with('<') && bare.ends_with('>')) || matches!(&*last, "omitted" | "omitido" | "omitida") {
        return whole;
    }
    Stamped { sent: Some(day), skipped: line.len() - said.len() }
}

/// Signs without a width that phones put before names.
fn is_mark(sign: char) -> bool {
    matches!(sign, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_messenger_puts_before_a_note_is_passed_over() {
        let rest = |line: &'static str| {
            let Stamped { sent, skipped } = of_line(line);
            (sent, line.get(skipped..).unwrap())
        };
        for (line, sent, left) in [
            ("[2/9/27, 6:12 AM] Ana: a1 full", Some("2/9/27"), "a1 full"),
            ("\u{200e}[2/9/27, 6:12:33\u{202f}AM] Ana María: a1 full", Some("2/9/27"), "a1 full"),
            ("9/2/27, 6:12 a. m. - Luis: a1 llena", Some("9/2/27"), "a1 llena"),
            ("2027-02-09, 06:12 - Luis: a1 full", Some("2027-02-09"), "a1 full"),
            ("2/9/27, 6:12 AM - Ana: <Media omitted>", Some("2/9/27"), ""),
            ("[2/9/27, 6:12 AM] Ana: \u{200e}image omitted", Some("2/9/27"), ""),
            ("2/9/27, 6:12 AM - Luis joined the group", Some("2/9/27"), ""),
            ("a1 - a3 full: 80", None, "a1 - a3 full: 80"),
            ("2/9 - a1 full", None, "2/9 - a1 full"),
            ("[a1] full", None, "[a1] full"),
        ] {
            assert_eq!(rest(line), (sent, left), "{line}");
        }
    }
}
