//! What is wrong with many rows in the same way, said once with their number.

use crate::phrase::said;
use crate::problems::{Problem, Problems};
use std::collections::BTreeMap;

/// So many rows that are wrong in the same way are named one by one.
const FEW: usize = 4;

/// Findings of rows, those gathered that differ only in the numbers and the words that they quote.
#[derive(Default)]
pub(super) struct Alike {
    /// For each way of being wrong its first findings, and how many there are.
    kinds: BTreeMap<String, (Vec<Problem>, usize)>,
}

impl Alike {
    /// Adds a finding.
    pub(super) fn add(&mut self, problem: Problem) {
        let (first, count) = self.kinds.entry(stem(&problem)).or_default();
        *count += 1;
        if first.len() < FEW {
            first.push(problem);
        }
    }

    /// Adds the findings of one row.
    pub(super) fn add_all(&mut self, problems: Problems) {
        problems.iter().for_each(|problem| self.add(problem.clone()));
    }

    /// Writes what was found.
    pub(super) fn finish(self, problems: &mut Problems) {
        for (first, count) in self.kinds.into_values() {
            let told = if count > FEW { 1 } else { FEW };
            for mut problem in first.into_iter().take(told) {
                if count > FEW {
                    let message = std::mem::take(&mut problem.message);
                    problem.message =
                        said!("{message}; {more} more rows are like this one", message, more = count - 1);
                }
                problems.push(problem);
            }
        }
    }
}

/// Returns what findings of one kind share: the message without digits and quoted words, and the label.
fn stem(problem: &Problem) -> String {
    let words = problem.message.split('`').step_by(2).flat_map(str::chars);
    let plain: String = words.filter(|letter| !letter.is_ascii_digit() && *letter != '.').collect();
    format!("{}\n{plain}\n{}", problem.finding.code(), problem.label)
}
