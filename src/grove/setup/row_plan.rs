//! A row of the plan: `A 15 Kent`, `B 10 Kent, 5 Haden in slope`.

use super::Wrong;
use crate::phrase::{Phrase, said};

/// A row as it is said.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RowSaid {
    /// Its name.
    pub name: String,
    /// Its cultivars in walking order, and how many trees of each.
    pub trees: Vec<(usize, String)>,
    /// The block that it belongs to, if one is said.
    pub block: Option<String>,
}

/// So many trees a row can have.
const MOST: usize = 10_000;

/// Reads a row.
pub fn row(text: &str) -> Result<RowSaid, Wrong> {
    let wrong = |message: Phrase| Wrong {
        message,
        help: "write the row's name, how many trees, and the cultivar: `A 15 Kent`, `B 10 Kent, 5 Haden`, \
               `C 12 Kent in slope`"
            .into(),
    };
    let (said, block) = match text.rsplit_once(" in ") {
        Some((said, block)) => (said, Some(block.trim().to_string()).filter(|block| !block.is_empty())),
        None => (text, None),
    };
    let (name, rest) = said.trim().split_once(char::is_whitespace).unwrap_or((said.trim(), ""));
    let fits = |sign: char| sign.is_alphanumeric() || matches!(sign, '-' | '_' | '.');
    if name.is_empty() || !name.chars().all(fits) {
        return Err(wrong(said!("`{name}` is no name of a row", name)));
    }
    let mut trees = Vec::new();
    for part in rest.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let (count, cultivar) = part.split_once(char::is_whitespace).unwrap_or((part, ""));
        let Ok(count) = count.parse::<usize>() else {
            return Err(wrong(said!("`{count}` is no number of trees", count)));
        };
        if count == 0 || count > MOST {
            return Err(wrong(said!("a row of {count} trees cannot be", count)));
        }
        trees.push((count, cultivar.trim().to_string()));
    }
    if trees.is_empty() {
        return Err(wrong(said!("the row `{name}` has no trees", name)));
    }
    Ok(RowSaid { name: name.to_string(), trees, block })
}

impl RowSaid {
    /// Returns the names of its trees with their cultivars, in walking order.
    pub fn names(&self) -> Vec<(String, &str)> {
        let count: usize = self.trees.iter().map(|(count, _)| count).sum();
        let digits = count.to_string().len().max(2);
        // A number behind a number would be read as one.
        let gap = if self.name.ends_with(|sign: char| sign.is_ascii_digit()) { "-" } else { "" };
        let cultivars = self.trees.iter().flat_map(|(count, cultivar)| std::iter::repeat_n(cultivar, *count));
        let name = |at: usize| format!("{}{gap}{:0digits$}", self.name, at + 1);
        cultivars.enumerate().map(|(at, cultivar)| (name(at), cultivar.as_str())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_said_in_many_ways() {
        let names = |text: &str| -> Vec<String> {
            row(text)
                .map(|row| row.names().into_iter().map(|(name, of)| format!("{name} {of}")).collect())
                .unwrap_or_default()
        };
        assert_eq!(names("A 2 Kent"), ["A01 Kent", "A02 Kent"]);
        assert_eq!(names("3 1 Kent, 1 Tommy Atkins"), ["3-01 Kent", "3-02 Tommy Atkins"]);
        assert_eq!(names("north 1"), ["north01 "]);
        assert_eq!(
            row("A 2 Kent in the slope").ok().and_then(|row| row.block),
            Some("the slope".to_string())
        );
        for text in ["", "A", "A Kent", "A 0 Kent", "A x Kent", "A/B 3 Kent"] {
            assert!(row(text).is_err(), "{text}");
        }
    }
}
