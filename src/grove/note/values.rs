//! The values of a note: percent is implied for shares, `5/40` is a sample, `40-60` an interval.

use super::NotedRain;
use super::signs::Word;
use super::words::{Vocabulary, WordMeaning};
use crate::grove::UnitSystem;
use crate::grove::keys;
use crate::grove::trouble::Trouble;
use crate::grove::value::{self, SeenValue};
use crate::phrase::{Phrase, said};
use crate::plan::{ExprNode, Kind, NameId, Origin, Plan};
use crate::units::{Dimension, spoken};

/// A value, as the scouting file says it, and how many words it takes.
pub(super) type Valued = (SeenValue, String, usize);

/// What says that there is none of what is counted.
const NONE: [&str; 8] = ["none", "no", "zero", "nothing", "ninguno", "ninguna", "nada", "cero"];
/// So many words has the longest value.
const MOST_WORDS: usize = 8;

/// Reads the value of an observation at the beginning of some words.
pub(super) fn value(
    words: &[Word],
    id: NameId,
    plan: &Plan,
    vocabulary: &Vocabulary,
) -> Result<Valued, Trouble> {
    let name = &plan[id];
    match name.kind {
        Kind::YesNo => return yes_or_no(words, id, plan),
        Kind::Words(_) => return scale(words, id, plan, vocabulary),
        Kind::Text => {
            let text = words.first().map_or(String::new(), |word| word.text.trim_matches('"').to_string());
            return if text.is_empty() {
                Err(nothing(&name.word))
            } else {
                Ok((SeenValue::Text(text.as_str().into()), text, 1))
            };
        }
        Kind::Share
        | Kind::Number
        | Kind::Count
        | Kind::Temperature
        | Kind::Quantity(_)
        | Kind::Date
        | Kind::Clock => {}
    }
    // `black on 3 of 25`
    if let (Some("on" | "in" | "en" | "sobre"), Some(next)) =
        (words.first().map(|it| &*it.small), words.get(1))
        && is_number(next)
    {
        let behind = words.get(1..).unwrap_or_default();
        return value(behind, id, plan, vocabulary)
            .map(|(value, written, count)| (value, written, count + 1));
    }
    if let Some(none) = words.first().filter(|word| NONE.contains(&&*word.small)) {
        let written = match name.kind {
            Kind::Count => "0",
            Kind::Share if !needs_a_sample(id, plan) => "0 %",
            _ => none.text.as_str(),
        };
        let value = value::read(written, name, plan)?.ok_or_else(|| nothing(&name.word))?;
        return Ok((value, written.to_string(), 1));
    }
    let before_sign = words.iter().take_while(|word| !matches!(word.text.as_str(), "," | "+" | "&"));
    let most = before_sign.count().min(MOST_WORDS);
    let mut first = None;
    for count in (1..=most).rev() {
        let written = written(&joined(words, count), name.kind);
        match value::read(&written, name, plan) {
            Ok(Some(value)) => return Ok((value, written, count)),
            Ok(None) => first = Some(nothing(&name.word)),
            Err(trouble) => first = Some(trouble),
        }
    }
    // The shortest reading is the one that the grower meant; a number with its unit is clearer than a number alone.
    let with_unit = words.get(1).filter(|word| spoken::unit(&word.text).is_ok());
    if most > 1 && with_unit.is_some() {
        let written = written(&joined(words, 2), name.kind);
        return Err(value::read(&written, name, plan).err().unwrap_or_else(|| nothing(&name.word)));
    }
    Err(first.unwrap_or_else(|| nothing(&name.word)))
}

/// Reads what a rain gauge showed, at the beginning of some words, and how many words it takes.
pub(super) fn rain(words: &[Word], units: UnitSystem) -> Result<(NotedRain, usize), Trouble> {
    let mut first = None;
    for count in (1..=words.len().min(3)).rev() {
        let typed = joined(words, count);
        if typed == "0" {
            return Ok((NotedRain::none(), 1));
        }
        let with_point = with_point(&typed);
        let comma = with_point.is_some();
        let mut written = written(&with_point.unwrap_or(typed), Kind::Quantity(Dimension::LENGTH));
        // A number alone is in the unit of the grove's gauge, and shown with it before it is stored.
        if spoken::parse(&written).is_ok_and(|said| said.is_bare()) {
            written += if units == UnitSystem::Us { " in" } else { " mm" };
        }
        match keys::quantity(&written, Dimension::LENGTH) {
            Ok(depth) if depth > 2000.0 => {
                let message = said!("no day has a rain of `{written}`", written);
                return Err(Trouble::new(message).help("write what the gauge showed"));
            }
            Ok(depth) => return Ok((NotedRain { depth, written, from: None, read: None, comma }, count)),
            Err(trouble) => first = Some(trouble),
        }
    }
    Err(first
        .unwrap_or_else(|| Trouble::new("`rain` has no amount").help("write `rain 0.6 in` or `rain 15 mm`")))
}

/// Returns `1.3 in` for `1,3 in`: one comma with one or two digits behind it, which are no thousands.
fn with_point(text: &str) -> Option<String> {
    let (before, behind) = text.split_once(',')?;
    let digits = behind.bytes().take_while(u8::is_ascii_digit).count();
    (whole(before) && (1..=2).contains(&digits) && !behind.contains(','))
        .then(|| format!("{before}.{behind}"))
}

/// Returns whether the rulebook reckons with how many were looked at: then a share alone says too little.
pub(super) fn needs_a_sample(id: NameId, plan: &Plan) -> bool {
    plan.names.iter().any(|name| match &name.origin {
        Origin::Measure(measure) => matches!(&*measure.expr.node, ExprNode::LikelyRange(of) if *of == id),
        _ => false,
    })
}

/// Returns how many were looked at, `in 20` or `of 20`, and how many words say it.
pub(super) fn looked_at(words: &[Word]) -> Option<(u32, usize)> {
    let signs = words
        .iter()
        .take_while(|word| matches!(word.small.as_str(), "in" | "of" | "out" | "on" | "en" | "de"))
        .count();
    let of = words.get(signs).filter(|_| signs > 0)?.text.parse().ok().filter(|of| *of > 0)?;
    Some((of, signs + 1))
}

/// Returns what is measured in the unit of a number that stands beside a word of a scale, `spreading 5 in`: of several the
/// one whose name shares most words with what the rulebook says that the word means.
pub(super) fn measured_beside(words: &[Word], (scale, at): (NameId, u16), plan: &Plan) -> Option<NameId> {
    let Kind::Words(list) = plan[scale].kind else { return None };
    let meaning = plan[list].words.get(usize::from(at)).map_or("", |word| &*word.label).to_lowercase();
    let meant: Vec<&str> = meaning.split(|sign: char| !sign.is_alphanumeric()).collect();
    let alike = |name: &str| {
        name.split(['-', ' ']).filter(|part| meant.iter().any(|word| word.starts_with(*part))).count()
    };
    let fits = |id: NameId| {
        let Kind::Quantity(dimension) = plan[id].kind else { return false };
        (1..=words.len().min(2)).any(|count| keys::quantity(&joined(words, count), dimension).is_ok())
    };
    let all = plan.observations().filter(|(_, name, _)| !name.hidden && name.scope == plan[scale].scope);
    let mut fitting: Vec<(usize, NameId)> =
        all.filter(|(id, _, _)| fits(*id)).map(|(id, name, _)| (alike(&name.word), id)).collect();
    fitting.sort_unstable_by_key(|(alike, _)| std::cmp::Reverse(*alike));
    match &fitting[..] {
        [(_, one)] => Some(*one),
        [(most, one), (less, _), ..] if most > less => Some(*one),
        _ => None,
    }
}

/// Returns the only one of several observations that takes all of what is written behind them, `9 mm` or `yes`.
pub(super) fn only_one(
    behind: &[Word],
    meanings: &[WordMeaning],
    (plan, vocabulary): (&Plan, &Vocabulary),
) -> Option<NameId> {
    let taken = |meaning: &WordMeaning| match meaning {
        WordMeaning::Name(id) => {
            Some((value(behind, *id, plan, vocabulary).map_or(0, |(_, _, count)| count), *id))
        }
        _ => None,
    };
    let taken: Vec<(usize, NameId)> = meanings.iter().map(taken).collect::<Option<_>>()?;
    let most = taken.iter().map(|(count, _)| *count).max().filter(|most| *most > 0)?;
    // A number alone may count any of them.
    let said = joined(behind, most);
    let is_sample = said.contains(" of ") || said.contains(['/', '%']);
    (is_sample || said.ends_with(|sign: char| sign.is_alphabetic() || sign == '"')).then_some(())?;
    let mut fitting = taken.iter().filter(|(count, _)| *count == most);
    let one = fitting.next().map(|(_, id)| *id);
    one.filter(|_| fitting.next().is_none())
}

/// Returns how many words to pass over where a value could not be read: up to its number and its unit.
pub(super) fn of_value(words: &[Word]) -> usize {
    let below_zero = |word: &Word| {
        word.text.strip_prefix('-').is_some_and(|it| it.starts_with(|sign: char| sign.is_ascii_digit()))
    };
    let number = words.iter().take(2).position(|word| is_number(word) || below_zero(word));
    let mut behind = number.map_or(0, |at| at + 1);
    // `2 of 20` and `8 to 12` are one value.
    let rest = words.get(behind..).unwrap_or_default();
    let between = rest.iter().take_while(|word| matches!(word.small.as_str(), "of" | "out" | "to")).count();
    if number.is_some() && between > 0 && rest.get(between).is_some_and(is_number) {
        behind += between + 1;
    }
    let unit = number.is_some() && words.get(behind).is_some_and(|word| spoken::unit(&word.text).is_ok());
    let counted = words.get(behind).is_some_and(|word| super::read::PANICLES.contains(&&*word.small));
    behind + usize::from(unit || (number.is_some() && counted))
}

/// Returns what is wrong with a `+` close behind a number and with nothing close behind it: `5+` is not five.
pub(super) fn at_least(words: &[Word], at: usize) -> Option<Trouble> {
    let plus = words.get(at).filter(|word| word.text == "+")?;
    let number = words.get(at.checked_sub(1)?).filter(|word| is_number(word) && word.end == plus.start)?;
    if words.get(at + 1).is_some_and(|next| next.start == plus.end) {
        return None;
    }
    let number = &number.text;
    let trouble = Trouble::new(said!("`{number}+` says only that it was no less", number));
    Some(trouble.help(said!("write `{number}`, or `{number} to` the most that it can have been", number)))
}

/// Returns whether a word begins with a number.
pub(super) fn is_number(word: &Word) -> bool {
    word.text.starts_with(|sign: char| sign.is_ascii_digit() || matches!(sign, '.' | '½' | '¼' | '¾'))
}

fn nothing(word: &str) -> Trouble {
    Trouble::new(said!("`{word}` has no value", word)).help("write what was seen behind it, or leave it out")
}

fn joined(words: &[Word], count: usize) -> String {
    let words: Vec<&str> = words.iter().take(count).map(|word| word.text.as_str()).collect();
    words.join(" ")
}

fn whole(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|sign| sign.is_ascii_digit())
}

/// Returns a value in the words of the scouting file.
fn written(text: &str, kind: Kind) -> String {
    // 1.3" is inches.
    let text = match text.strip_suffix('"') {
        Some(number) if number.ends_with(|sign: char| sign.is_ascii_digit()) => format!("{number} in"),
        _ => text.to_string(),
    };
    let begins = |text: &str| text.starts_with(|sign: char| sign.is_ascii_digit());
    let text = match text.split_once(" a ") {
        Some((low, high)) if begins(low) && begins(high) => format!("{low} to {high}"),
        Some(_) | None => text,
    };
    if kind != Kind::Share {
        return match text.split_once('-').map(|(low, high)| (low.trim(), high.trim())) {
            Some((low, high))
                if whole(low)
                    && high.starts_with(|sign: char| sign.is_ascii_digit())
                    && !high.contains('-') =>
            {
                format!("{low} to {high}")
            }
            Some(_) | None => text,
        };
    }
    if let Some((found, of)) = [" out of ", " de ", "/"].iter().find_map(|sign| text.split_once(sign)) {
        let (found, of) = (found.trim(), of.trim());
        if whole(found) && whole(of) {
            return format!("{found} of {of}");
        }
    }
    let bare = |text: &str| {
        spoken::parse(text).is_ok_and(|said| said.is_bare() && !(said.number > 0.0 && said.number < 1.0))
    };
    let ends = text.split_once(" to ").or_else(|| text.split_once('-'));
    match ends {
        Some((low, high)) if bare(low.trim()) && bare(high.trim()) => {
            format!("{} to {} %", low.trim(), high.trim())
        }
        Some((low, high)) if bare(low.trim().trim_end_matches('%')) && high.ends_with('%') => {
            format!("{} to {}", low.trim().trim_end_matches('%').trim(), high.trim())
        }
        None if bare(&text) => format!("{text} %"),
        Some(_) | None => text,
    }
}

fn yes_or_no(words: &[Word], id: NameId, plan: &Plan) -> Result<Valued, Trouble> {
    let name = &plan[id];
    let word = words.first().map_or("", |word| word.small.as_str());
    match value::read(word, name, plan) {
        Ok(Some(value)) => {
            let written = if value == SeenValue::Word(1) { "yes" } else { "no" };
            Ok((value, written.to_string(), 1))
        }
        Ok(None) if !word.is_empty() => Err(nothing(&name.word)),
        // Named and no more: it is there.
        Ok(None) | Err(_) => Ok((SeenValue::Word(1), "yes".to_string(), 0)),
    }
}

/// Reads a word of a scale, or two with `to` between them; also by its standard code.
fn scale(words: &[Word], id: NameId, plan: &Plan, vocabulary: &Vocabulary) -> Result<Valued, Trouble> {
    let (from, count) = scale_word(words, id, plan, vocabulary)?;
    if words.get(count).is_some_and(|word| matches!(word.small.as_str(), "to" | "a" | "-"))
        && let Some(rest) = words.get(count + 1..)
        && let Ok((to, more)) = scale_word(rest, id, plan, vocabulary)
    {
        let written = format!("{from} to {to}");
        let value = value::read(&written, &plan[id], plan)?.ok_or_else(|| nothing(&plan[id].word))?;
        return Ok((value, written, count + 1 + more));
    }
    let value = value::read(&from, &plan[id], plan)?.ok_or_else(|| nothing(&plan[id].word))?;
    Ok((value, from, count))
}

fn scale_word(
    words: &[Word],
    id: NameId,
    plan: &Plan,
    vocabulary: &Vocabulary,
) -> Result<(String, usize), Trouble> {
    if let Some(word) = words.first().filter(|word| is_number(word)) {
        return match value::read(&word.text, &plan[id], plan)? {
            Some(SeenValue::Word(at)) => Ok((vocabulary.said(WordMeaning::Scale(id, at)), 1)),
            Some(_) | None => Err(nothing(&plan[id].word)),
        };
    }
    let Some(found) = vocabulary.understand_scale(words, id) else {
        let word = words.first().map_or("", |word| word.text.as_str());
        return match value::read(word, &plan[id], plan) {
            Err(trouble) => Err(trouble),
            Ok(_) => Err(nothing(&plan[id].word)),
        };
    };
    match &found.meanings[..] {
        [one] => Ok((vocabulary.said(*one), found.count)),
        several => Err(ambiguous(&joined(words, found.count), &[], several, (plan, vocabulary))),
    }
}

/// Says that words may mean several things.
pub(super) fn ambiguous(
    text: &str,
    behind: &[Word],
    meanings: &[WordMeaning],
    (plan, vocabulary): (&Plan, &Vocabulary),
) -> Trouble {
    // The one that takes most of what is written behind it, `9 mm`, may be meant.
    let taken = |meaning: &WordMeaning| match meaning {
        WordMeaning::Name(id) => value(behind, *id, plan, vocabulary).map_or(0, |(_, _, count)| count),
        _ => 0,
    };
    let most = meanings.iter().map(taken).max().unwrap_or(0);
    let mut fitting = meanings.iter().filter(|meaning| taken(meaning) == most);
    if let (true, Some(one), None) = (most > 0, fitting.next(), fitting.next()) {
        let said: Vec<&str> = behind.iter().take(most).map(|word| word.text.as_str()).collect();
        let all: Vec<String> = meanings.iter().map(|it| format!("`{}`", vocabulary.said(*it))).collect();
        return Trouble::new(said!("`{text}` may be {all}", text, all = Phrase::any_of(all))).help(said!(
            "did you mean `{name} {value}`?",
            name = vocabulary.said(*one),
            value = said.join(" ")
        ));
    }
    let all: Vec<String> = meanings.iter().map(|it| format!("`{}`", vocabulary.said(*it))).collect();
    Trouble::new(said!("`{text}` may be {all}", text, all = Phrase::any_of(all)))
        .help("write so much of the word that only one is meant")
}
