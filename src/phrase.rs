//! A sentence that says what is wrong, or what to write instead: kept as English words with places, so that another
//! language can put it together in its own way.
//!
//! `said!` makes one with places; a text that is written out in the code makes one without. What is made of a `String` is
//! printed as it is in every language: a sentence that a grower reads must not be made so, and a test looks for it.

use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

/// Makes a [`Phrase`] of words with places: `` said!("`{name}` is given twice", name) ``, `said!("{more} more", more = 3)`.
macro_rules! said {
    ($words:literal $(, $place:ident $(= $with:expr)?)+ $(,)?) => {
        $crate::phrase::Phrase::filled(
            $words,
            vec![$((stringify!($place), $crate::phrase::said!(@ $place $(= $with)?))),+],
        )
    };
    (@ $place:ident) => { $crate::phrase::PhrasePlace::place(&$place) };
    (@ $place:ident = $with:expr) => { $crate::phrase::PhrasePlace::place(&$with) };
}
pub(crate) use said;

/// A sentence, in English and in the parts that it is made of.
#[derive(Clone, Debug, Default)]
pub struct Phrase {
    english: String,
    parts: Option<Box<PhraseParts>>,
}

#[derive(Clone, Debug)]
struct PhraseParts {
    /// As it stands in the code: `` `{name}` is given twice ``.
    words: &'static str,
    places: Vec<(&'static str, Phrase)>,
}

/// The words of a language for those of the code, where it has some.
pub type KnownWords<'k> = &'k dyn Fn(&str) -> Option<&'static str>;

impl Phrase {
    /// Fills the places of some words in.
    pub fn filled(words: &'static str, places: Vec<(&'static str, Phrase)>) -> Self {
        let english = fill(words, &|place| Some(find(&places, place)?.english.clone()));
        Self { english, parts: Some(Box::new(PhraseParts { words, places })) }
    }

    /// Returns it in another language; what that does not know stays English.
    pub fn translated(&self, known: KnownWords<'_>) -> String {
        let Some(parts) = &self.parts else { return self.english.clone() };
        let words = known(parts.words).unwrap_or(parts.words);
        if parts.places.is_empty() {
            return words.to_string();
        }
        fill(words, &|place| Some(find(&parts.places, place)?.translated(known)))
    }

    /// Joins phrases: `a or b or c`.
    pub fn any_of<P: Into<Phrase>>(all: impl IntoIterator<Item = P>) -> Self {
        let all = all.into_iter().map(Into::into);
        all.reduce(|one: Phrase, other| said!("{one} or {other}", one, other)).unwrap_or_default()
    }

    /// Returns the words of it that a language does not know, its own and those of what is filled in.
    pub fn unknown(&self, known: KnownWords<'_>) -> Vec<&'static str> {
        let Some(parts) = &self.parts else { return Vec::new() };
        let own = known(parts.words).is_none().then_some(parts.words);
        own.into_iter().chain(parts.places.iter().flat_map(|(_, it)| it.unknown(known))).collect()
    }

    /// Returns whether it is put together of words that the code has.
    pub fn has_parts(&self) -> bool {
        self.parts.is_some()
    }
}

/// Fills the places of words in; `{{` is a brace.
fn fill(words: &str, with: &dyn Fn(&str) -> Option<String>) -> String {
    let mut filled = String::with_capacity(words.len() + 16);
    let mut rest = words;
    while let Some((before, from)) = rest.find(['{', '}']).and_then(|at| rest.split_at_checked(at)) {
        filled.push_str(before);
        if let Some(after) = from.strip_prefix("{{").or_else(|| from.strip_prefix("}}")) {
            filled.push_str(from.get(..1).unwrap_or_default());
            rest = after;
            continue;
        }
        let (place, after) = from.get(1..).and_then(|from| from.split_once('}')).unwrap_or_default();
        filled.push_str(&with(place).unwrap_or_default());
        rest = after;
    }
    filled + rest
}

fn find<'p>(places: &'p [(&'static str, Phrase)], place: &str) -> Option<&'p Phrase> {
    places.iter().find(|(known, _)| *known == place).map(|(_, phrase)| phrase)
}

impl From<&'static str> for Phrase {
    fn from(words: &'static str) -> Self {
        Self { english: words.to_string(), parts: Some(Box::new(PhraseParts { words, places: Vec::new() })) }
    }
}

impl From<Phrase> for String {
    fn from(phrase: Phrase) -> Self {
        phrase.english
    }
}

impl std::hash::Hash for Phrase {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.english.hash(state);
    }
}

impl From<String> for Phrase {
    fn from(english: String) -> Self {
        Self { english, parts: None }
    }
}

impl Deref for Phrase {
    type Target = str;

    fn deref(&self) -> &str {
        &self.english
    }
}

impl fmt::Display for Phrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.english)
    }
}

impl serde::Serialize for Phrase {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.english)
    }
}

impl PartialEq for Phrase {
    fn eq(&self, other: &Self) -> bool {
        self.english == other.english
    }
}

impl Eq for Phrase {}

impl PartialOrd for Phrase {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Phrase {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.english.cmp(&other.english)
    }
}

/// What may be filled into a phrase.
pub trait PhrasePlace {
    /// Returns it as a phrase.
    fn place(&self) -> Phrase;
}

impl PhrasePlace for Phrase {
    fn place(&self) -> Phrase {
        self.clone()
    }
}

impl<T: PhrasePlace + ?Sized> PhrasePlace for &T {
    fn place(&self) -> Phrase {
        (**self).place()
    }
}

/// What is the same in every language.
macro_rules! as_it_is {
    ($($kind:ty),+) => {
        $(impl PhrasePlace for $kind {
            fn place(&self) -> Phrase {
                self.to_string().into()
            }
        })+
    };
}

as_it_is!(str, String, Arc<str>, Box<str>, usize, u64, u32, u16, i64, i32, f64);
as_it_is!(
    chrono::NaiveDate,
    chrono_tz::Tz,
    std::path::Display<'_>,
    std::borrow::Cow<'_, str>,
    std::io::Error,
    serde_json::Error
);
as_it_is!(chrono::format::DelayedFormat<chrono::format::StrftimeItems<'_>>);
