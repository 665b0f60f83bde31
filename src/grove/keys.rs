//! The keys of a map: each is taken once, what is left over is not known here.

use super::trouble::Trouble;
use super::yaml::{Key, Value, YamlNode};
use crate::phrase::{Phrase, said};
use crate::problems::{Finding, Problem, Problems, nearest};
use crate::source::Span;
use crate::units::{Dimension, spoken};

/// A map, of which keys are taken one by one.
pub(super) struct Keys<'n> {
    /// What the map describes, for messages: `the sprayer`.
    what: &'static str,
    /// Where it stands.
    pub span: Span,
    entries: Vec<(&'n Key, &'n YamlNode)>,
    asked: Vec<&'static str>,
}

impl<'n> Keys<'n> {
    /// Opens a map; a key given twice is reported.
    pub fn open(node: &'n YamlNode, what: &'static str, problems: &mut Problems) -> Option<Self> {
        let Value::Map(entries) = &node.value else {
            let problem = Problem::new(
                Finding::Input,
                node.span,
                said!("{what} needs keys and values", what = Phrase::from(what)),
            );
            problems.push(problem.help("write one `key: value` on each line"));
            return None;
        };
        let mut kept: Vec<(&Key, &YamlNode)> = Vec::new();
        for (key, value) in entries {
            match kept.iter().find(|(other, _)| other.text == key.text) {
                Some((first, _)) => problems.push(
                    Problem::new(
                        Finding::Input,
                        key.span,
                        said!("`{key}` is given twice in {what}", what = Phrase::from(what), key = key.text),
                    )
                    .help("keep one of them")
                    .related(first.span, "it is given here first"),
                ),
                None => kept.push((key, value)),
            }
        }
        Some(Self { what, span: node.span, entries: kept, asked: Vec::new() })
    }

    /// Takes the value of a key; a key without a value is as good as none.
    pub fn take(&mut self, key: &'static str) -> Option<&'n YamlNode> {
        self.take_with_key(key).map(|(_, node)| node)
    }

    /// Takes a key and its value.
    pub fn take_with_key(&mut self, key: &'static str) -> Option<(&'n Key, &'n YamlNode)> {
        self.asked.push(key);
        let at = self.entries.iter().position(|(own, _)| own.text == key)?;
        let (key, node) = self.entries.remove(at);
        (!matches!(node.value, Value::Nothing)).then_some((key, node))
    }

    /// Takes the text of a key.
    pub fn text(&mut self, key: &'static str, problems: &mut Problems) -> Option<(&'n str, Span)> {
        let node = self.take(key)?;
        text(node, key, problems).map(|text| (text, node.span))
    }

    /// Takes a quantity of a dimension, in base units.
    pub fn quantity(&mut self, key: &'static str, of: Dimension, problems: &mut Problems) -> Option<f64> {
        let (text, span) = self.text(key, problems)?;
        match quantity(text, of) {
            Ok(amount) => Some(amount),
            Err(trouble) => {
                problems.push(trouble.at(span));
                None
            }
        }
    }

    /// Returns the keys that were not taken.
    pub fn rest(self) -> Vec<(&'n Key, &'n YamlNode)> {
        self.entries
    }

    /// Reports the keys that were not taken.
    pub fn refuse_rest(self, problems: &mut Problems) {
        for (key, _) in &self.entries {
            problems.push(unknown_key(key, self.what, self.asked.iter().copied()));
        }
    }

    /// Returns the keys that were asked for, whether or not they were given.
    pub fn asked(&self) -> Vec<&'static str> {
        self.asked.clone()
    }
}

/// Reports a key that is not known.
pub(super) fn unknown_key<'w>(
    key: &Key,
    what: &'static str,
    known: impl IntoIterator<Item = &'w str> + Clone,
) -> Problem {
    let help = match nearest(&key.text, known.clone()) {
        Some(near) => said!("did you mean `{near}`?", near),
        None => {
            let all: Vec<String> = known.into_iter().map(|word| format!("`{word}`")).collect();
            said!("the keys of {what} are {all}", what = Phrase::from(what), all = all.join(", "))
        }
    };
    Problem::new(
        Finding::Input,
        key.span,
        said!("`{key}` is not a key of {what}", what = Phrase::from(what), key = key.text),
    )
    .help(help)
}

/// Returns the text of a scalar.
pub(super) fn text<'n>(node: &'n YamlNode, key: &str, problems: &mut Problems) -> Option<&'n str> {
    match &node.value {
        Value::Text(text) => Some(text.trim()),
        Value::Nothing => None,
        Value::List(_) | Value::Map(_) => {
            let message = said!("`{key}` takes one value, not a list or keys", key);
            problems.push(Problem::new(Finding::Input, node.span, message));
            None
        }
    }
}

/// Reads a number with its unit, as growers speak them, in base units; what is wrong is said in a clause.
pub fn quantity_of(text: &str, of: Dimension) -> Result<f64, Phrase> {
    quantity(text, of).map_err(Trouble::into_message)
}

/// Reads a quantity of a dimension, in base units; a negative one cannot be.
pub(super) fn quantity(text: &str, of: Dimension) -> Result<f64, Trouble> {
    let offered = spoken::offered(of);
    let example = Some(said!("write a number with its unit: {offered}", offered));
    let said = spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, example.clone()))?;
    if said.is_bare() {
        return Err(Trouble::new(said!("`{text}` has no unit", text))
            .help(said!("write {offered} after the number", offered)));
    }
    if said.unit.dimension != of || said.per_tree || said.of.is_some() {
        let message = said!("`{text}` is not {of}", text, of = of.called());
        return Err(Trouble::new(message).maybe_help(other_ounce(&said.unit, of).or(example)));
    }
    if said.amount() < 0.0 {
        return Err(Trouble::new(said!("`{text}` is negative", text)));
    }
    Ok(said.amount())
}

/// Says which ounce was meant, where a mass stands for a volume or a volume for a mass.
pub(super) fn other_ounce(said: &crate::units::Unit, wanted: Dimension) -> Option<Phrase> {
    let first = said.symbol.split(" / ").next().unwrap_or_default();
    match (first, wanted.mass) {
        ("oz", 0) => Some("`oz` is a weight; of a liquid write `fl oz`".into()),
        ("fl oz", 1) => Some("`fl oz` is a volume; of a powder write `oz`".into()),
        _ => None,
    }
}
