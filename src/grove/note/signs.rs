//! The words of a note, whatever a phone made of its signs.
//!
//! Comes in: a text as typed or pasted. Goes out: notes, each a list of words with the place where it stands. Curly quotes,
//! dashes of all lengths, blanks that do not break and signs without a width are taken for the plain ones.

use super::stamp::{self, Stamped};

/// A word of a note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Word {
    /// In plain signs.
    pub text: String,
    /// In small letters.
    pub small: String,
    /// The first byte in the text.
    pub start: usize,
    /// The byte after the last.
    pub end: usize,
}

/// A line of notes, or one of several with `;` between them.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct NoteLine {
    /// Its words.
    pub words: Vec<Word>,
    /// The day on which a messenger says that it was sent, as it stands there.
    pub sent: Option<String>,
}

/// Takes a text apart into notes: one a line, or several with `;` between them.
pub(super) fn notes(text: &str) -> Vec<NoteLine> {
    let mut notes = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let Stamped { sent, skipped } = stamp::of_line(line);
        let sent = sent.map(str::to_owned);
        let said = line.get(skipped..).unwrap_or_default();
        let words = words_of_line(said, start + skipped).into_iter().map(without_bullet);
        let of_line = words.filter(|words| !words.is_empty());
        notes.extend(of_line.map(|words| NoteLine { words, sent: sent.clone() }));
        start += line.len();
    }
    notes
}

/// Returns the words of the notes of a line that begins at a place of the text.
fn words_of_line(text: &str, start: usize) -> Vec<Vec<Word>> {
    let mut notes = Vec::new();
    let mut words = Vec::new();
    let mut word = Building::default();
    let signs: Vec<(usize, char)> =
        text.char_indices().filter_map(|(at, it)| Some((at, plain(it)?))).collect();
    for (place, (at, sign)) in signs.iter().enumerate() {
        let near = |step: isize| {
            let other = place.checked_add_signed(step).and_then(|place| signs.get(place));
            other.is_some_and(|(_, sign)| sign.is_ascii_digit())
        };
        let in_number = near(-1) && near(1);
        let end = start + signs.get(place + 1).map_or(text.len(), |(next, _)| *next);
        let at = start + *at;
        match sign {
            '\n' | ';' => {
                word.finish(&mut words);
                notes.push(std::mem::take(&mut words));
            }
            ',' | ':' if in_number => word.push(*sign, at, end),
            ',' | '+' | '&' => {
                word.finish(&mut words);
                word.push(*sign, at, end);
                word.finish(&mut words);
            }
            ' ' | '(' | ')' | '|' | ':' => word.finish(&mut words),
            other => word.push(*other, at, end),
        }
    }
    word.finish(&mut words);
    notes.push(words);
    notes
}

/// A list from a phone begins its lines with a dash or a dot.
fn without_bullet(mut words: Vec<Word>) -> Vec<Word> {
    if words.first().is_some_and(|word| matches!(word.text.as_str(), "-" | "*" | "•" | "·")) {
        words.remove(0);
    }
    words
}

/// Returns the plain sign for one; nothing where it has no width.
fn plain(sign: char) -> Option<char> {
    Some(match sign {
        '\n' => '\n',
        '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{feff}' | '\u{ad}' | '\u{fe0e}' | '\u{fe0f}' => {
            return None;
        }
        '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{fe58}' | '\u{fe63}' => '-',
        '\u{2018}'..='\u{201b}' | '\u{2032}' | '\u{2bc}' | '`' | '\u{b4}' => '\'',
        '\u{201c}'..='\u{201f}' | '\u{2033}' | '\u{ab}' | '\u{bb}' => '"',
        '\u{2044}' | '\u{2215}' => '/',
        '\u{ba}' | '\u{2da}' => '°',
        '\u{2026}' => ' ',
        // The wide signs of East Asian keyboards.
        '\u{ff01}'..='\u{ff5e}' => {
            u32::from(sign).checked_sub(0xfee0).and_then(char::from_u32).unwrap_or(sign)
        }
        other if other.is_whitespace() || other.is_control() => ' ',
        other => other,
    })
}

#[derive(Default)]
struct Building {
    text: String,
    start: usize,
    end: usize,
}

impl Building {
    fn push(&mut self, sign: char, start: usize, end: usize) {
        if self.text.is_empty() {
            self.start = start;
        }
        self.text.push(sign);
        self.end = end;
    }

    fn finish(&mut self, words: &mut Vec<Word>) {
        let Building { mut text, start, mut end } = std::mem::take(self);
        // A full stop ends a word, and says nothing.
        while text.len() > 1 && text.ends_with(['.', '!']) {
            text.pop();
            end -= 1;
        }
        // Quotes around what was pasted say nothing; behind a number they are inches.
        let inches = text.strip_suffix('"').is_some_and(|number| number.parse::<f64>().is_ok());
        while text.ends_with(['"', '\'']) && !inches {
            text.pop();
            end -= 1;
        }
        let bare = text.trim_start_matches(['"', '\'']).to_string();
        if bare.len() < text.len() {
            text = bare;
        }
        if !text.is_empty() && text != "." {
            words.push(Word { small: text.to_lowercase(), text, start, end });
        }
    }
}
