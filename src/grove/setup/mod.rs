//! Setting up a grove from a few answers: what is asked, whether an answer will do, and the files that come of it.
//!
//! Comes in: answers as lines `key: value`, typed, from a file or from an earlier run. Goes out: the next question,
//! what is wrong with an answer, and the texts of `grove.yaml` and its tables. Opens no file, knows no terminal.

mod check;
mod row_plan;
mod write;

pub(super) use write::quoted;
pub use write::{NewFile, WEATHER, files};

use crate::phrase::{Phrase, said};
use crate::plan::{Plan, Product};
use crate::problems::nearest;

/// Answers by their keys; of a key that is given again the last one counts, but of `row` all.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Answers(Vec<(String, String)>);

/// What to ask next.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Question {
    /// The key of the answer.
    pub key: String,
    /// The question, by its key in the message catalogue.
    pub asks: &'static str,
    /// Of which product of the guide it is, where it is of one.
    pub product: Option<String>,
    /// What the guide counts in that product.
    pub ingredient: Option<String>,
    /// What an answer looks like: as it is typed, or by its key in the message catalogue.
    pub example: AnswerExample,
    /// Whether an empty answer will do.
    pub may_be_empty: bool,
}

/// What an answer looks like.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum AnswerExample {
    /// As it is typed.
    Typed(&'static str),
    /// With the product's name, by its key in the message catalogue.
    OfProduct(&'static str),
}

/// What is wrong with an answer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Wrong {
    /// One clause.
    pub message: Phrase,
    /// What to write instead.
    pub help: Phrase,
}

/// What an empty answer is kept as.
const NONE: &str = "-";

/// What a jug is asked: the key behind the product's word, the question, an example, whether it may be left empty.
const OF_JUG: [(&str, &str, &str, bool); 10] = [
    ("registration", "start.jug.registration", "demo-0001", true),
    ("form", "start.jug.form", "powder", false),
    ("contains", "start.jug.contains", "50 %", true),
    ("weight", "start.jug.weight", "10.4 lb/gal", true),
    ("re-entry", "start.jug.re-entry", "48 h", true),
    ("before-harvest", "start.jug.before-harvest", "1 d", true),
    ("interval", "start.jug.interval", "7 d", true),
    ("season", "start.jug.season", "6 sprays", true),
    ("single", "start.jug.single", "3 lb/ac", true),
    ("strength", "start.jug.strength", "1.5 g/L", true),
];

/// The keys that do not speak of a jug, with the question and an example; `true` where an empty answer will do.
const OF_GROVE: [(&str, &str, &str, bool); 14] = [
    ("grove", "start.ask.grove", "Cerro Verde orchard", false),
    ("guide", "start.ask.guide", "humid-lowland", false),
    ("units", "start.ask.units", "us", true),
    ("place", "start.ask.place", "18.05, -66.50, 120 m", false),
    ("timezone", "start.ask.timezone", "America/Puerto_Rico", false),
    ("spacing", "start.ask.spacing", "24 ft x 20 ft", true),
    ("row", "start.ask.row", "A 15 Kent", true),
    ("sprayer", "start.ask.sprayer", SPRAYER, true),
    ("harvest", "start.ask.harvest", "2027-06-20", true),
    ("certified", "start.ask.certified", "no", true),
    ("sprayed", "start.ask.sprayed", "no", true),
    ("weather", "start.ask.weather", "weather.csv", true),
    // Asked where there is a file.
    ("forecast", "start.ask.forecast", "2027-02-10T18:00", true),
    ("station", "start.ask.station", "2 mi, 90 m", true),
];

/// Words of another language that are taken for an answer.
const SAME: [(&str, &str); 24] = [
    ("y", "yes"),
    ("yep", "yes"),
    ("yeah", "yes"),
    ("sure", "yes"),
    ("ok", "yes"),
    ("s", "yes"),
    ("claro", "yes"),
    ("sí, claro", "yes"),
    ("n", "no"),
    ("nope", "no"),
    ("nah", "no"),
    ("none", "no"),
    ("nothing", "no"),
    ("nada", "no"),
    ("ninguno", "no"),
    ("todavía no", "no"),
    ("sí", "yes"),
    ("si", "yes"),
    ("orgánico", "organic"),
    ("orgánica", "organic"),
    ("polvo", "powder"),
    ("líquido", "liquid"),
    ("liquido", "liquid"),
    ("métrico", "metric"),
];

/// The keys whose answer is one of a few words.
const WORDS: [&str; 4] = ["units", "certified", "sprayed", "form"];

const SPRAYER: &str = "handgun, tank 25 gal, 1.5 gal per tree, pace 25 gal/h, fill 15 min";

impl Answers {
    /// Reads lines `key: value`; lines that are empty or begin with `#` say nothing. Keys that are not known are
    /// reported with their line.
    pub fn read(text: &str, plan: Option<&Plan>) -> (Self, Vec<(usize, Wrong)>) {
        let mut answers = Self::default();
        let mut wrong = Vec::new();
        for (at, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let Some((key, value)) = line.split_once(':') else {
                let help = "write a key, a colon and the answer: `grove: Cerro Verde`".into();
                wrong.push((at + 1, Wrong { message: said!("`{line}` is no answer", line), help }));
                continue;
            };
            let (key, value) = (spaced(key), value.trim());
            match answers.give(&key, value, plan) {
                Ok(()) => {}
                Err(error) => wrong.push((at + 1, error)),
            }
        }
        (answers, wrong)
    }

    /// Gives an answer, if it will do.
    pub fn give(&mut self, key: &str, value: &str, plan: Option<&Plan>) -> Result<(), Wrong> {
        let value = value.trim();
        if value.is_empty() || value == NONE {
            if !self.knows(key, plan) {
                return Err(unknown(key, plan));
            }
            if !may_be_empty(key) || (key == "row" && self.rows().next().is_none()) {
                let message = said!("`{key}` cannot be left empty", key);
                return Err(Wrong {
                    message,
                    help: said!("write such as `{example}`", example = example(key)),
                });
            }
            self.0.push((key.to_string(), NONE.to_string()));
            return Ok(());
        }
        let is_word = WORDS.iter().any(|word| key == *word || key.ends_with(&format!(" {word}")));
        // `YES!` is yes.
        let plain = value.to_lowercase();
        let plain = plain.trim_end_matches(['.', '!']).trim();
        let same = SAME.iter().find(|(other, _)| is_word && plain == *other);
        let value = same.map_or(if is_word { plain } else { value }, |(_, ours)| ours);
        check::answer(self, key, value, plan)?;
        self.0.push((key.to_string(), value.to_string()));
        Ok(())
    }

    /// Forgets the place where a time zone contradicts it, so that it is asked for again: one of the two is wrong, and a
    /// longitude without its minus is the usual slip.
    pub fn reconsider(&mut self, key: &str, value: &str) {
        if key == "timezone" && check::contradicts_place(self, value) {
            self.0.retain(|(key, _)| key != "place");
        }
    }

    /// Returns the answer to a key, if there is one that is not empty.
    pub fn get(&self, key: &str) -> Option<&str> {
        let found = self.0.iter().rev().find(|(known, _)| known == key);
        found.map(|(_, value)| value.as_str()).filter(|value| *value != NONE)
    }

    /// Returns the rows in the order in which they were given.
    pub fn rows(&self) -> impl Iterator<Item = &str> {
        let rows = self.0.iter().filter(|(key, value)| key == "row" && value != NONE);
        rows.map(|(_, value)| value.as_str())
    }

    /// Returns the last answer as a line, for the file that keeps them.
    pub fn last_line(&self) -> String {
        self.0.last().map_or_else(String::new, |(key, value)| format!("{key}: {value}\n"))
    }

    /// Adds the answers of others that this one has none for.
    pub fn fill(&mut self, others: &Answers) {
        let open: Vec<_> = others.0.iter().filter(|(key, _)| !self.is_given(key)).cloned().collect();
        self.0.extend(open);
    }

    /// Returns all answers as lines.
    pub fn lines(&self) -> impl Iterator<Item = String> {
        self.0.iter().map(|(key, value)| format!("{key}: {value}\n"))
    }

    fn is_given(&self, key: &str) -> bool {
        self.0.iter().any(|(known, _)| known == key)
    }

    fn knows(&self, key: &str, plan: Option<&Plan>) -> bool {
        keys(plan).iter().any(|known| known == key)
    }

    /// Returns the next question; nothing where all is answered. Without a plan the jugs are not asked for yet.
    pub fn next(&self, plan: Option<&Plan>) -> Option<Question> {
        let of_grove = OF_GROVE.iter().find(|(key, ..)| match *key {
            // Rows are asked for until an empty line.
            "row" => !self.0.iter().any(|(known, value)| known == "row" && value == NONE),
            key @ ("forecast" | "station") => self.get("weather").is_some() && !self.is_given(key),
            key => !self.is_given(key),
        });
        if let Some((key, asks, example, may_be_empty)) = of_grove {
            return Some(Question {
                key: key.to_string(),
                asks,
                product: None,
                ingredient: None,
                example: AnswerExample::Typed(example),
                may_be_empty: *may_be_empty,
            });
        }
        plan?.products.iter().find_map(|product| self.of_jug(product))
    }

    /// Returns what is still to be asked of the jug of a product.
    fn of_jug(&self, of: &Product) -> Option<Question> {
        let product = &*of.name;
        if !self.is_given(product) {
            return Some(Question {
                key: product.to_string(),
                asks: "start.jug.name",
                product: Some(product.to_string()),
                ingredient: None,
                example: AnswerExample::OfProduct(if of.is_liquid() {
                    "start.jug.name.liquid"
                } else {
                    "start.jug.name.powder"
                }),
                may_be_empty: true,
            });
        }
        self.get(product)?;
        let liquid = self.get(&format!("{product} form")) == Some("liquid");
        let (key, asks, example, may_be_empty) = OF_JUG.iter().find(|(key, ..)| {
            let wanted = *key != "weight" || liquid;
            wanted && !self.is_given(&format!("{product} {key}"))
        })?;
        Some(Question {
            key: format!("{product} {key}"),
            asks,
            product: Some(product.to_string()),
            ingredient: of.contains.as_deref().map(str::to_string),
            example: AnswerExample::Typed(match *key {
                "form" if of.is_liquid() => "liquid",
                "single" if liquid => "1 qt/ac",
                "strength" if liquid => "2 tbsp/gal",
                _ => example,
            }),
            may_be_empty: *may_be_empty,
        })
    }
}

/// Returns all keys that can be answered.
fn keys(plan: Option<&Plan>) -> Vec<String> {
    let of_grove = OF_GROVE.iter().map(|(key, ..)| key.to_string());
    let products = plan.into_iter().flat_map(|plan| &plan.products);
    let of_jugs = products.flat_map(|product| {
        let own = std::iter::once(product.name.to_string());
        own.chain(OF_JUG.iter().map(|(key, ..)| format!("{} {key}", product.name)))
    });
    of_grove.chain(of_jugs).collect()
}

fn may_be_empty(key: &str) -> bool {
    let of_grove = OF_GROVE.iter().find(|(known, ..)| *known == key).map(|(_, _, _, may)| *may);
    let of_jug = OF_JUG.iter().find(|(known, ..)| key.ends_with(&format!(" {known}")));
    of_grove.or(of_jug.map(|(_, _, _, may)| *may)).unwrap_or(true)
}

fn example(key: &str) -> &'static str {
    let of_grove = OF_GROVE.iter().find(|(known, ..)| *known == key).map(|(_, _, example, _)| *example);
    let of_jug = OF_JUG.iter().find(|(known, ..)| key.ends_with(&format!(" {known}")));
    of_grove.or(of_jug.map(|(_, _, example, _)| *example)).unwrap_or_default()
}

fn unknown(key: &str, plan: Option<&Plan>) -> Wrong {
    let known = keys(plan);
    let help = match nearest(key, known.iter().map(String::as_str)) {
        Some(near) => said!("did you mean `{near}`?", near),
        None => {
            let all: Vec<&str> = OF_GROVE.iter().map(|(key, ..)| *key).collect();
            said!("the keys are {all}, and the guide's products", all = all.join(", "))
        }
    };
    Wrong { message: said!("`{key}` is not asked for", key), help }
}

fn spaced(key: &str) -> String {
    key.split_whitespace().collect::<Vec<_>>().join(" ")
}
