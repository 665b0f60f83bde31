//! A range of numbers cut where something that is computed from them changes its cell, whether it rises, falls or turns.

use super::CellSet;
use crate::measure::Extent;

/// Beyond this all numbers are taken to lead where this one leads.
const FAR: f64 = 1e9;
/// Less than any amount that counts: a milligram on a hectare is a hundred million times as much, in base units.
const NOTHING: f64 = 1e-21;
/// How many ranges are computed before the rest is left as it is.
const TRIES: u32 = 2_000;
/// How many pieces are worth telling apart.
const MOST: usize = 64;

/// A piece of a range, and the one cell it leads to; nothing where several are left.
struct RangePiece {
    low: f64,
    high: f64,
    cell: Option<u16>,
}

/// Cuts a range into pieces, in order, each of which leads to one cell. A range is halved until all of it leads to one
/// cell, so that a value that turns inside it is not missed. A piece that leads to several whatever is known of this
/// number stays whole; where no number leads to one, the range does.
pub fn pieces(low: f64, high: f64, whole: bool, cells: &dyn Fn(Extent) -> CellSet) -> Vec<Extent> {
    let uncut = || vec![Extent::between(low, high)];
    let leads_to = |low: f64, high: f64| cells(Extent::between(low, high)).only();
    let point = |at: f64| leads_to(at, at);
    let (from, to) = (low.clamp(-FAR, FAR), high.clamp(-FAR, FAR));
    let ends = [from, inside(from, to, whole), to];
    if ends.into_iter().all(|end| point(end).is_none()) {
        return uncut();
    }
    let mut found: Vec<RangePiece> = Vec::new();
    let mut todo = vec![(from, to)];
    let mut tries = TRIES;
    while let Some((low, high)) = todo.pop() {
        tries = tries.saturating_sub(1);
        let cell = leads_to(low, high);
        if cell.is_some() || low == high || tries == 0 {
            add(&mut found, &leads_to, RangePiece { low, high, cell });
        } else if is_narrow(low, high, whole) {
            add(&mut found, &leads_to, RangePiece { low, high: low, cell: point(low) });
            add(&mut found, &leads_to, RangePiece { low: high, high, cell: point(high) });
        } else {
            let middle = inside(low, high, whole);
            todo.push((if whole { middle + 1.0 } else { middle }, high));
            todo.push((low, middle));
        }
        if found.len() > MOST {
            return uncut();
        }
    }
    if let Some(first) = found.first_mut() {
        first.low = low;
    }
    if let Some(last) = found.last_mut() {
        last.high = high;
    }
    found.into_iter().map(|piece| Extent::between(piece.low, piece.high)).collect()
}

/// Adds a piece, joined with the one before it where both together lead to the same. What a range is computed to can be
/// more than what its halves are, so that both must be asked together.
fn add(found: &mut Vec<RangePiece>, leads_to: &dyn Fn(f64, f64) -> Option<u16>, piece: RangePiece) {
    match found.last_mut() {
        Some(before) if before.cell == piece.cell && leads_to(before.low, piece.high) == piece.cell => {
            before.high = piece.high;
        }
        Some(_) | None => found.push(piece),
    }
}

/// Returns whether nothing worth telling apart lies between two numbers.
fn is_narrow(low: f64, high: f64, whole: bool) -> bool {
    let middle = inside(low, high, whole);
    let near = high - low <= 1e-12 * high.abs().max(low.abs()).max(NOTHING);
    !whole && (near || middle <= low || middle >= high)
}

/// Returns a number between two: their middle, or, where they lie far apart, one of a size between theirs.
fn inside(low: f64, high: f64, whole: bool) -> f64 {
    let far = |near: f64, far: f64| if near < 1.0 { 1.0 } else { near * 4.0 }.min(far);
    let middle = if low < 0.0 && high > 0.0 && high - low > 1e3 {
        0.0
    } else if low >= 0.0 && high > low.max(1.0) * 16.0 {
        far(low, high)
    } else if high <= 0.0 && -low > (-high).max(1.0) * 16.0 {
        -far(-high, -low)
    } else {
        (low + high) / 2.0
    };
    if whole { middle.floor() } else { middle }
}

#[cfg(test)]
mod tests {
    use super::pieces;
    use crate::measure::Extent;
    use crate::situation::{CellSet, Cells};

    /// Cells of a parabola with its bottom at 3: 0 below 4, 1 from 4 on, of a number or of all numbers in a range.
    fn parabola(extent: Extent) -> CellSet {
        let (low, high) = extent.ends().unwrap();
        let squares = [(low - 3.0).powi(2), (high - 3.0).powi(2)];
        let least = if low <= 3.0 && high >= 3.0 { 0.0 } else { squares[0].min(squares[1]) };
        let cells = [least, squares[0].max(squares[1])].map(|it| u16::from(it >= 4.0));
        CellSet::new(cells.into_iter().collect()).unwrap()
    }

    #[test]
    fn a_value_that_falls_and_rises_again_is_cut_twice() {
        let found = pieces(0.0, f64::INFINITY, true, &parabola);
        let expected = [(0.0, 1.0), (2.0, 4.0), (5.0, f64::INFINITY)].map(|(a, b)| Extent::between(a, b));
        assert_eq!(found, expected);
    }

    #[test]
    fn of_real_numbers_the_cuts_lie_at_the_crossings() {
        let found: Vec<(f64, f64)> =
            pieces(-50.0, 50.0, false, &parabola).iter().map(|it| it.ends().unwrap()).collect();
        assert_eq!(found.len(), 3);
        for (at, crossing) in [(found[0].1, 1.0), (found[1].0, 1.0), (found[1].1, 5.0), (found[2].0, 5.0)] {
            assert!((at - crossing).abs() < 1e-9, "{at}");
        }
    }

    #[test]
    fn a_number_that_settles_nothing_is_left_whole() {
        let any = |_: Extent| CellSet::new((0..=2).collect::<Cells>()).unwrap();
        assert_eq!(pieces(0.0, 10.0, false, &any), [Extent::between(0.0, 10.0)]);
    }
}
