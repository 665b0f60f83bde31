//! How the shares of a tree's panicles add up: which answers about three and more shares, and about means, go together.
//!
//! A tree's groups are of sorts: a sort lies in some of the shares and has each observation in some piece. The answers go
//! together where shares of the sorts exist that add up to all panicles and give them, which is a linear programme.

use super::{Read, Space};
use crate::measure::Extent;
use crate::situation::Set;

/// How many combinations of answers are worked out at once.
const COMBINATIONS: usize = 3_000;

/// How many sorts of groups are told apart.
const SORTS: usize = 64;

/// A question whose answer adds up over the groups.
#[derive(Clone)]
pub(crate) enum Sum {
    /// The share of panicles with something: where a group has it, and where it has not.
    Share(Read, Set, Set),
    /// The mean of an observation: the answer, and the observation.
    Mean(Read, Read),
}

/// What a sort of groups adds to each answer: between two numbers.
type GroupSort = Vec<(f64, f64)>;

/// Adds which answers go together.
pub(super) fn relate(space: &mut Space<'_>, sums: &[Sum]) {
    let is_mean = |sum: &Sum| matches!(sum, Sum::Mean(..));
    if sums.len() < 2 || (sums.len() == 2 && !sums.iter().any(is_mean)) {
        return;
    }
    let all: Vec<&Sum> = sums.iter().collect();
    if together(space, &all) {
        return;
    }
    for (at, a) in sums.iter().enumerate() {
        for (next, b) in sums.iter().enumerate().skip(at + 1) {
            if is_mean(a) || is_mean(b) {
                together(space, &[a, b]);
            }
            for c in sums.iter().skip(next + 1) {
                together(space, &[a, b, c]);
            }
        }
    }
}

/// Adds which answers to some questions go together; returns whether they are few enough.
fn together(space: &mut Space<'_>, sums: &[&Sum]) -> bool {
    let answers: Vec<&Read> = sums.iter().map(|sum| answer(sum)).collect();
    let combinations = answers.iter().map(|read| read.extents.len()).fold(1usize, usize::saturating_mul);
    if combinations > COMBINATIONS {
        return false;
    }
    let mut sorts = vec![(Set::ALL, GroupSort::new())];
    for sum in sums {
        sorts = split(space, sorts, sum);
        if sorts.len() > SORTS {
            return false;
        }
    }
    let sorts: Vec<GroupSort> = sorts.into_iter().map(|(_, sort)| sort).collect();
    let relation = given(space, &answers, &sorts, &mut Vec::new());
    if !relation.is_all() {
        space.relations.push(relation);
    }
    true
}

fn answer(sum: &Sum) -> &Read {
    match sum {
        Sum::Share(answer, ..) | Sum::Mean(answer, _) => answer,
    }
}

/// Splits sorts of groups by a question; those that no group can be of are left out.
fn split(space: &mut Space<'_>, sorts: Vec<(Set, GroupSort)>, sum: &Sum) -> Vec<(Set, GroupSort)> {
    let mut parts: Vec<(Set, (f64, f64))> = Vec::new();
    match sum {
        Sum::Share(_, held, not_held) => parts.extend([(*held, (1.0, 1.0)), (*not_held, (0.0, 0.0))]),
        Sum::Mean(_, group) => {
            for (piece, extent) in group.extents.iter().enumerate() {
                let Some(ends) = extent.ends() else { continue };
                let here = space.diagrams.test(group.variable, |it| usize::from(it) == piece);
                parts.push((here, ends));
            }
        }
    }
    let mut found = Vec::new();
    for (set, sort) in sorts {
        for (part, adds) in &parts {
            let both = space.diagrams.both(set, *part);
            if !both.is_none() {
                let mut sort = sort.clone();
                sort.push(*adds);
                found.push((both, sort));
            }
        }
    }
    found
}

/// Returns the situations in which answers go together, the first of them being given.
fn given(space: &mut Space<'_>, answers: &[&Read], sorts: &[GroupSort], before: &mut Vec<(f64, f64)>) -> Set {
    if !exist(sorts, before) {
        return Set::NONE;
    }
    let Some(read) = answers.get(before.len()) else { return Set::ALL };
    let mut all = Vec::new();
    for (piece, extent) in read.extents.iter().enumerate() {
        before.push(ends(*extent));
        let rest = given(space, answers, sorts, before);
        before.pop();
        let here = space.diagrams.test(read.variable, |it| usize::from(it) == piece);
        all.push(space.diagrams.both(here, rest));
    }
    space.diagrams.any(all)
}

fn ends(extent: Extent) -> (f64, f64) {
    extent.ends().filter(|_| !extent.may_be_empty).unwrap_or((f64::NEG_INFINITY, f64::INFINITY))
}

/// Returns whether shares of the sorts exist that add up to one and give each answer between its ends.
fn exist(sorts: &[GroupSort], answers: &[(f64, f64)]) -> bool {
    // Each row: what it adds up to of the sorts is at most a number.
    let mut rows: Vec<(Vec<f64>, f64)> = Vec::new();
    let of = |at: usize, pick: fn(&(f64, f64)) -> f64| {
        sorts.iter().map(move |sort| sort.get(at).map_or(0.0, pick)).collect::<Vec<f64>>()
    };
    for (at, (low, high)) in answers.iter().enumerate() {
        let (least, most) = (of(at, |it| it.0), of(at, |it| it.1));
        if high.is_finite() && least.iter().all(|number| number.is_finite()) {
            rows.push((least, *high));
        }
        if low.is_finite() && most.iter().all(|number| number.is_finite()) {
            rows.push((most.into_iter().map(|number| -number).collect(), -low));
        }
    }
    is_feasible(sorts.len(), &rows)
}

/// Returns whether numbers, none negative, add up to one and keep to all rows: the first phase of the simplex method with
/// Bland's rule.
fn is_feasible(count: usize, rows: &[(Vec<f64>, f64)]) -> bool {
    const NEAR: f64 = 1e-10;
    if count == 0 {
        return false;
    }
    let slacks = rows.len();
    let width = count + slacks;
    // A row for each condition, what it comes to last; the basis begins with what each row lacks.
    let mut table: Vec<Vec<f64>> = Vec::new();
    for (at, (row, most)) in rows.iter().enumerate() {
        let size = row.iter().chain([most]).fold(1e-9, |size: f64, it| size.max(it.abs()));
        let mut line: Vec<f64> = row.iter().map(|number| number / size).collect();
        line.extend((0..slacks).map(|slack| f64::from(u8::from(slack == at))));
        line.push(most / size);
        table.push(line);
    }
    let mut line = vec![1.0; count];
    line.extend(vec![0.0; slacks]);
    line.push(1.0);
    table.push(line);
    for line in &mut table {
        if line[width] < 0.0 {
            line.iter_mut().for_each(|number| *number = -*number);
        }
    }
    // What is still lacking, to be made zero.
    let mut lacks = vec![0.0; width + 1];
    for line in &table {
        lacks.iter_mut().zip(line).for_each(|(sum, number)| *sum += number);
    }
    for _ in 0..1_000 {
        let Some(enters) = (0..width).find(|column| lacks[*column] > NEAR) else {
            return lacks[width] <= 1e-9;
        };
        let ratio = |line: &Vec<f64>| (line[enters] > NEAR).then(|| line[width] / line[enters]);
        let least = table.iter().filter_map(ratio).fold(f64::INFINITY, f64::min);
        let Some(leaves) = table.iter().position(|line| ratio(line).is_some_and(|it| it <= least)) else {
            return true;
        };
        let by = table[leaves][enters];
        table[leaves].iter_mut().for_each(|number| *number /= by);
        let pivot = table[leaves].clone();
        for (at, line) in table.iter_mut().enumerate() {
            let times = line[enters];
            if at != leaves {
                line.iter_mut().zip(&pivot).for_each(|(number, of)| *number -= times * of);
            }
        }
        let times = lacks[enters];
        lacks.iter_mut().zip(&pivot).for_each(|(number, of)| *number -= times * of);
    }
    // It goes round in a circle: nothing is ruled out.
    true
}

#[cfg(test)]
mod tests {
    use super::is_feasible;

    /// Shares 0.5, 0.4 and 0.2 of three sorts do not add up to one; 0.5, 0.3 and 0.2 do.
    #[test]
    fn shares_add_up_to_one() {
        let least = |a: f64, b: f64, c: f64| {
            vec![(vec![-1.0, 0.0, 0.0], -a), (vec![0.0, -1.0, 0.0], -b), (vec![0.0, 0.0, -1.0], -c)]
        };
        assert!(!is_feasible(3, &least(0.5, 0.4, 0.2)));
        assert!(is_feasible(3, &least(0.5, 0.3, 0.2)));
        assert!(!is_feasible(3, &least(0.5, 0.3, 0.200_000_002)));
        // A mean of values between 0 and 10 is not 11, and is 10 where all are.
        assert!(!is_feasible(2, &[(vec![-10.0, 0.0], -11.0)]));
        assert!(is_feasible(2, &[(vec![-10.0, 0.0], -10.0), (vec![0.0, 1.0], 0.0)]));
        assert!(!is_feasible(2, &[(vec![-10.0, 0.0], -10.0), (vec![0.0, -1.0], -0.1)]));
    }
}
