//! Sorting definitions so that each stands after those it is made from, and naming circles.
//!
//! Comes in: for each definition the numbers of those it is made from. Goes out: an order, and the circles.
//! Nothing here recurses, so that a chain of any length can be sorted.

/// An order of definitions, and the circles among them.
pub(super) struct Sorted {
    /// Every number once, each after those it is made from (but for those in a circle).
    pub(super) order: Vec<u32>,
    /// Circles, one for each knot of definitions; each begins with its lowest number and follows the edges.
    pub(super) circles: Vec<Vec<u32>>,
}

/// Sorts by the strongly connected components of the graph, after Tarjan.
pub(super) fn sort(edges: &[Vec<u32>]) -> Sorted {
    const UNSEEN: u32 = u32::MAX;
    let count = edges.len();
    let (mut index, mut low) = (vec![UNSEEN; count], vec![0u32; count]);
    let (mut waiting, mut is_waiting) = (Vec::new(), vec![false; count]);
    let mut sorted = Sorted { order: Vec::with_capacity(count), circles: Vec::new() };
    let mut next = 0;
    for root in 0..count {
        if index[root] != UNSEEN {
            continue;
        }
        let mut path: Vec<(usize, usize)> = vec![(root, 0)];
        while let Some((node, edge)) = path.pop() {
            if edge == 0 {
                index[node] = next;
                low[node] = next;
                next += 1;
                waiting.push(node);
                is_waiting[node] = true;
            }
            if let Some(to) = edges[node].get(edge).map(|to| *to as usize).filter(|to| *to < count) {
                path.push((node, edge + 1));
                if index[to] == UNSEEN {
                    path.push((to, 0));
                } else if is_waiting[to] {
                    low[node] = low[node].min(index[to]);
                }
                continue;
            }
            if let Some((above, _)) = path.last() {
                low[*above] = low[*above].min(low[node]);
            }
            if low[node] == index[node] {
                let mut knot = Vec::new();
                while let Some(member) = waiting.pop() {
                    is_waiting[member] = false;
                    knot.push(member as u32);
                    if member == node {
                        break;
                    }
                }
                knot.sort_unstable();
                if knot.len() > 1 || edges[node].contains(&(node as u32)) {
                    sorted.circles.push(circle(&knot, edges));
                }
                sorted.order.extend(knot);
            }
        }
    }
    sorted.circles.sort();
    sorted
}

/// Returns a shortest circle through the lowest member of a knot.
fn circle(knot: &[u32], edges: &[Vec<u32>]) -> Vec<u32> {
    let Some(start) = knot.first().copied() else { return Vec::new() };
    let mut came_from = rustc_hash::FxHashMap::default();
    let mut queue = std::collections::VecDeque::from([start]);
    while let Some(node) = queue.pop_front() {
        for to in edges.get(node as usize).into_iter().flatten().copied() {
            if to == start {
                let mut path = vec![node];
                while let Some(before) =
                    path.last().filter(|at| **at != start).and_then(|at| came_from.get(at))
                {
                    path.push(*before);
                }
                path.reverse();
                return path;
            }
            if knot.binary_search(&to).is_ok() && !came_from.contains_key(&to) {
                came_from.insert(to, node);
                queue.push_back(to);
            }
        }
    }
    knot.to_vec()
}
