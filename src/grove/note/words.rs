//! The words that a note may use: the rulebook's observations and the words of its scales, and what is short for them.
//!
//! A word is short for a name that it begins (`full` for `full-bloom`), for one of the words of a name (`set` for
//! `fruit-set`) or for the beginning of one. The closest kind of likeness counts; if it fits several names, none is taken.

use super::signs::Word;
use crate::plan::{Kind, NameId, Plan, WordListId};
use crate::problems::nearest;

/// What a word of a note means.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum WordMeaning {
    /// An observation.
    Name(NameId),
    /// A word of the scale of an observation, by its place.
    Scale(NameId, u16),
    /// The grower's rain gauge.
    Rain,
    /// The share of the panicles of which is spoken from here on.
    Panicles,
    /// The rest is a note in the grower's own words.
    Note,
}

/// All words that notes may use.
pub(super) struct Vocabulary<'p> {
    plan: &'p Plan,
    entries: Vec<WordEntry>,
}

struct WordEntry {
    meaning: WordMeaning,
    /// The name as the rulebook writes it.
    name: String,
    /// Its words, and those of how it is printed.
    readings: Vec<Vec<String>>,
    /// The same in other languages; they are looked at where no word of the rulebook's own fits.
    others: Vec<Vec<String>>,
    /// The words of the question for what is there or not, or how much of it: `black spots`, `bees`.
    asked: Vec<String>,
}

impl WordEntry {
    fn asks_for(&self, typed: &[String]) -> bool {
        let tells = typed.iter().any(|word| word.len() > 3 && !OF_QUESTIONS.contains(&word.as_str()));
        tells && self.asked.windows(typed.len()).any(|words| words == typed)
    }
}

/// How alike a word and a name are, the closest first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Likeness {
    /// It is the name.
    Whole,
    /// It begins the name.
    Beginning,
    /// It is one or several words of the name.
    Part,
    /// It begins words of the name.
    BeginningOfPart,
    /// The question for it holds it.
    Asked,
}

/// A reading of some words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Understood {
    /// What they may mean; more than one where that is not clear.
    pub meanings: Vec<WordMeaning>,
    /// How alike they are.
    pub likeness: Likeness,
    /// How many words it takes.
    pub count: usize,
}

/// Short words that are usual in field notes, with what they may stand for, the likelier first: common practice, in English
/// and in Spanish. One that a rulebook has no observation for means nothing under it.
const USUAL: [(&str, &[&str]); 14] = [
    ("pm", &["powdery mildew", "mildew"]),
    ("powdery", &["powdery mildew", "mildew"]),
    ("mildiu", &["mildew"]),
    ("cenicilla", &["mildew"]),
    ("oidio", &["mildew"]),
    ("anth", &["anthracnose", "blight", "black spots"]),
    ("anthracnose", &["anthracnose", "blight", "black spots"]),
    ("antrac", &["anthracnose", "blight", "black spots"]),
    ("antracnosis", &["anthracnose", "blight", "black spots"]),
    ("manchas", &["black spots", "blight"]),
    ("flores", &["open flowers"]),
    ("fl", &["open flowers"]),
    ("cuaje", &["fruit set"]),
    ("bees", &["pollinators", "bees about"]),
];
/// A shorter beginning is not shown as one that may be typed.
const SHORTEST_SHOWN: usize = 3;
/// A name of no more letters needs nothing short for it.
const LONG: usize = 5;
/// So many words has the longest name of a note.
const MOST_WORDS: usize = 5;
/// Words of questions that name nothing.
const OF_QUESTIONS: [&str; 24] = [
    "about", "again", "around", "been", "before", "carry", "does", "each", "from", "have", "here", "looked",
    "many", "other", "show", "some", "there", "these", "this", "were", "what", "when", "with", "young",
];
/// Shorter words are short for nothing.
const SHORTEST: usize = 2;

impl<'p> Vocabulary<'p> {
    /// Takes the words of a rulebook.
    pub fn new(plan: &'p Plan) -> Self {
        let mut entries = Vec::new();
        let own: [(&str, &[&str], WordMeaning); 3] = [
            (
                "rain",
                &["rained", "gauge", "rain gauge", "lluvia", "llovió", "pluviómetro"],
                WordMeaning::Rain,
            ),
            ("panicles", &["panículas"], WordMeaning::Panicles),
            ("note", &["nota"], WordMeaning::Note),
        ];
        for (word, other, meaning) in own {
            let readings = vec![words_of(word)];
            let others = other.iter().map(|word| words_of(word)).collect();
            entries.push(WordEntry { meaning, name: word.into(), readings, others, asked: Vec::new() });
        }
        let others = |word: &str| plan.others_for(word).map(words_of).collect();
        for (id, name, seen) in plan.observations() {
            let readings = vec![words_of(&name.word), words_of(&name.label)];
            let named = matches!(name.kind, Kind::YesNo | Kind::Share) && !name.hidden;
            let asked = if named { words_of(seen.ask.as_deref().unwrap_or_default()) } else { Vec::new() };
            let (meaning, word, others_of) =
                (WordMeaning::Name(id), name.word.to_string(), others(&name.word));
            entries.push(WordEntry { meaning, name: word, readings, others: others_of, asked });
            let Kind::Words(list) = name.kind else { continue };
            for (at, word) in plan[list].words.iter().enumerate() {
                let meaning = WordMeaning::Scale(id, u16::try_from(at).unwrap_or(u16::MAX));
                let (readings, others) = (vec![words_of(&word.name)], others(&word.name));
                entries.push(WordEntry {
                    meaning,
                    name: word.name.to_string(),
                    readings,
                    others,
                    asked: Vec::new(),
                });
            }
        }
        let mut vocabulary = Self { plan, entries };
        vocabulary.take_usual();
        vocabulary
    }

    /// Takes the short words that are usual in the field for those observations that they can only mean.
    fn take_usual(&mut self) {
        let meant = |(short, means): &(&str, &[&str])| {
            let named = means.iter().find_map(|words| match self.understand_text(words)?.meanings[..] {
                [WordMeaning::Name(id)] => Some(id),
                _ => None,
            });
            Some((words_of(short), named?))
        };
        let found: Vec<(Vec<String>, NameId)> = USUAL.iter().filter_map(meant).collect();
        for (short, id) in found {
            let own = self.entries.iter_mut().find(|entry| entry.meaning == WordMeaning::Name(id));
            own.into_iter().for_each(|entry| entry.others.push(short.clone()));
        }
    }

    fn understand_text(&self, text: &str) -> Option<Understood> {
        let word = |text: &str| Word { text: text.into(), small: text.into(), start: 0, end: 0 };
        let words: Vec<Word> = text.split(' ').map(word).collect();
        self.understand(&words).filter(|found| found.count == words.len())
    }

    /// Returns every word that a note may use for what is seen, with what is short for it: the shortest beginning that can only
    /// mean it, and what is usual in the field.
    pub fn short_words(&self) -> Vec<(WordMeaning, Vec<String>)> {
        let short = |entry: &WordEntry| {
            let means_it = |text: &str| {
                self.understand_text(text).is_some_and(|found| found.meanings == [entry.meaning])
            };
            let long = |text: &String| text.len() >= SHORTEST_SHOWN && *text != entry.name;
            let parts = entry.name.split('-').map(str::to_owned).filter(long);
            let count = entry.name.chars().count();
            let beginnings =
                (SHORTEST_SHOWN..count).map(|count| entry.name.chars().take(count).collect::<String>());
            let usual = USUAL.iter().map(|(short, _)| (*short).to_string());
            let found = parts.chain(beginnings.filter(|_| count > LONG)).find(|text| means_it(text));
            let mut shorts: Vec<String> = found.into_iter().collect();
            shorts.extend(usual.filter(|text| means_it(text) && *text != entry.name));
            shorts.dedup();
            (entry.meaning, shorts)
        };
        self.entries.iter().map(short).collect()
    }

    /// Understands the beginning of some words, as many of them as make a name.
    pub fn understand(&self, words: &[Word]) -> Option<Understood> {
        self.among(words, |_| true)
    }

    /// Understands the beginning of some words as a word of the scale of an observation.
    pub fn understand_scale(&self, words: &[Word], of: NameId) -> Option<Understood> {
        self.among(words, |meaning| matches!(meaning, WordMeaning::Scale(name, _) if name == of))
    }

    fn among(&self, words: &[Word], wanted: impl Fn(WordMeaning) -> bool) -> Option<Understood> {
        let of =
            |readings: fn(&WordEntry) -> &Vec<Vec<String>>| self.among_readings(words, &wanted, readings);
        of(|entry| &entry.readings).or_else(|| of(|entry| &entry.others))
    }

    fn among_readings(
        &self,
        words: &[Word],
        wanted: &impl Fn(WordMeaning) -> bool,
        readings: fn(&WordEntry) -> &Vec<Vec<String>>,
    ) -> Option<Understood> {
        (1..=words.len().min(MOST_WORDS)).rev().find_map(|count| {
            let typed: Vec<String> =
                words.iter().take(count).flat_map(|word| words_of(&word.small)).collect();
            if typed.is_empty()
                || typed.concat().len() < SHORTEST
                || words.iter().take(count).any(|it| it.small.is_empty())
            {
                return None;
            }
            let alike = self.entries.iter().filter(|entry| wanted(entry.meaning)).filter_map(|entry| {
                let likeness =
                    readings(entry).iter().filter_map(|reading| likeness(&typed, reading)).min()?;
                Some((likeness, entry.meaning))
            });
            let mut alike: Vec<(Likeness, WordMeaning)> = alike.collect();
            if alike.is_empty() {
                let asked =
                    self.entries.iter().filter(|entry| wanted(entry.meaning) && entry.asks_for(&typed));
                alike.extend(asked.map(|entry| (Likeness::Asked, entry.meaning)));
            }
            let likeness = alike.iter().map(|(likeness, _)| *likeness).min()?;
            let mut meanings: Vec<WordMeaning> =
                alike.iter().filter(|(own, _)| *own == likeness).map(|(_, meaning)| *meaning).collect();
            meanings.sort_unstable();
            meanings.dedup();
            Some(Understood { meanings, likeness, count })
        })
    }

    /// Returns a meaning in the rulebook's words.
    pub fn said(&self, meaning: WordMeaning) -> String {
        match meaning {
            WordMeaning::Name(id) => self.plan[id].word.to_string(),
            WordMeaning::Scale(id, at) => {
                let word = self.list(id).and_then(|list| self.plan[list].words.get(usize::from(at)));
                word.map_or_else(String::new, |word| word.name.to_string())
            }
            WordMeaning::Rain => "rain".into(),
            WordMeaning::Panicles => "panicles".into(),
            WordMeaning::Note => "note".into(),
        }
    }

    /// Returns the list of words that an observation takes.
    pub fn list(&self, id: NameId) -> Option<WordListId> {
        match self.plan[id].kind {
            Kind::Words(list) => Some(list),
            _ => None,
        }
    }

    /// Returns the name nearest to a word.
    pub fn near(&self, word: &str) -> Option<&str> {
        let names = || self.entries.iter().map(|entry| entry.name.as_str());
        nearest(word, names()).or_else(|| {
            // `fulll` for the beginning of `full-bloom`.
            let first = |name: &'_ str| name.split('-').next().unwrap_or_default().to_owned();
            let beginnings: Vec<String> = names().map(first).collect();
            let near = nearest(word, beginnings.iter().map(String::as_str))?;
            let mut named = names().filter(|name| name.split('-').next() == Some(near));
            named.next().filter(|_| named.next().is_none())
        })
    }
}

/// Says how alike some typed words and a name are.
fn likeness(typed: &[String], name: &[String]) -> Option<Likeness> {
    if typed == name {
        return Some(Likeness::Whole);
    }
    let begin = |typed: &[String], name: &[String]| {
        typed.len() <= name.len()
            && typed
                .iter()
                .zip(name)
                .all(|(typed, name)| name.starts_with(typed.as_str()) || bends(typed, name))
    };
    if begin(typed, name) {
        return Some(Likeness::Beginning);
    }
    let parts = || (1..name.len()).filter_map(|from| name.get(from..));
    if parts().any(|part| part.starts_with(typed)) {
        return Some(Likeness::Part);
    }
    parts().any(|part| begin(typed, part)).then_some(Likeness::BeginningOfPart)
}

/// Returns whether a typed word is a name's with an ending: `swelling` for `swell`, `buds` for `bud`.
fn bends(typed: &str, name: &str) -> bool {
    typed.strip_prefix(name).is_some_and(|ending| matches!(ending, "s" | "es" | "ed" | "ing"))
}

fn words_of(text: &str) -> Vec<String> {
    // A phone may leave accents out.
    let bare = |sign: char| match sign {
        'á' => 'a',
        'é' => 'e',
        'í' => 'i',
        'ó' => 'o',
        'ú' | 'ü' => 'u',
        other => other,
    };
    let small: String = text.to_lowercase().chars().map(bare).collect();
    small
        .split([' ', '-', '_', ',', '?', '.', '(', ')', ':', ';'])
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}
