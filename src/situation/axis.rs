//! One name's range, cut into cells by the constants it is compared with.

use super::{CellSet, Cells};
use crate::measure::{Extent, Possible};
use crate::plan::{Bound, Compare, Kind, Plan, TextId};
use chrono::Datelike;

/// The cells of one name. The last cell is the one for empty.
///
/// Of numbers with n thresholds cell 0 lies below the first, cell 1 on it, cell 2 between the first and the
/// second, and so on, so that every number is in one cell. Thresholds that are on each other are one. Of words a cell is the place of the word. Of texts a cell is a text that is compared, and
/// then one for all others.
#[derive(Clone, Debug)]
pub enum Axis {
    /// Numbers.
    Numbers {
        /// The thresholds in order.
        thresholds: Vec<Bound>,
        /// The lowest and the highest number that are on each threshold; none is on two.
        edges: Vec<(f64, f64)>,
        /// Whether only whole numbers occur.
        whole: bool,
    },
    /// Words of a list.
    Words(u16),
    /// Texts.
    Texts(Vec<TextId>),
    /// Dates that are compared with days of the year, too: a cell for every day of the year, and within it
    /// nothing more. Dates compared with dates only are numbers.
    Calendar {
        /// The thresholds among dates.
        dates: Vec<f64>,
    },
}

/// Days of the year are counted as if every month had 32 days.
const DAYS: u16 = 13 * 32;

impl Axis {
    /// Cuts a kind's range by what it is compared with.
    pub fn new(plan: &Plan, kind: Kind, compares: &[&Compare], whole: bool) -> Self {
        match kind {
            Kind::YesNo => Axis::Words(2),
            Kind::Words(list) => Axis::Words(plan[list].words.len() as u16),
            Kind::Text => {
                let mut texts = Vec::new();
                compares.iter().for_each(|compare| collect_texts(compare, &mut texts));
                texts.sort();
                texts.dedup();
                Axis::Texts(texts)
            }
            Kind::Share
            | Kind::Number
            | Kind::Count
            | Kind::Temperature
            | Kind::Quantity(_)
            | Kind::Date
            | Kind::Clock => {
                let mut bounds = Vec::new();
                let mut days = false;
                compares.iter().for_each(|compare| collect_bounds(compare, &mut bounds, &mut days));
                let (thresholds, edges) = apart(bounds);
                if days {
                    return Axis::Calendar { dates: thresholds.iter().map(Bound::value).collect() };
                }
                Axis::Numbers { thresholds, edges, whole }
            }
        }
    }

    /// Returns how many cells there are, the one for empty counted.
    pub fn len(&self) -> u16 {
        match self {
            Axis::Numbers { edges, .. } => 2 * edges.len() as u16 + 2,
            Axis::Words(count) => count + 1,
            Axis::Texts(texts) => texts.len() as u16 + 2,
            Axis::Calendar { dates } => DAYS * (2 * dates.len() as u16 + 1) + 1,
        }
    }

    /// Returns whether there is but the cell for empty; there is always another.
    pub fn is_empty(&self) -> bool {
        false
    }

    /// Returns the cell for empty.
    pub fn empty(&self) -> u16 {
        self.len() - 1
    }

    /// Returns the cell of a number.
    #[inline]
    pub fn cell(&self, number: f64) -> u16 {
        match self {
            Axis::Numbers { edges, .. } => {
                if edges.len() > 16 {
                    let below = edges.partition_point(|(_, high)| number > *high);
                    let on = edges.get(below).is_some_and(|(low, _)| number >= *low);
                    return 2 * below as u16 + u16::from(on);
                }
                edges.iter().map(|(low, high)| u16::from(number >= *low) + u16::from(number > *high)).sum()
            }
            Axis::Calendar { dates } => {
                let place = dates
                    .iter()
                    .map(|date| u16::from(number >= *date) + u16::from(number > *date))
                    .sum::<u16>();
                let day = chrono::NaiveDate::from_num_days_from_ce_opt(number as i32)
                    .map_or(0, |date| date.month() as u16 * 32 + date.day() as u16);
                place * DAYS + day
            }
            Axis::Words(_) | Axis::Texts(_) => 0,
        }
    }

    /// Returns all cells but the one for empty.
    fn filled(&self) -> std::ops::Range<u16> {
        0..self.empty()
    }

    /// Returns the cells that an extent touches.
    pub fn touched(&self, extent: Extent) -> CellSet {
        let mut cells = self.touched_by(extent.can_be);
        if extent.may_be_empty {
            cells.insert(self.empty());
        }
        // Neither a value nor none cannot come out of a checked plan: anything may be.
        CellSet::new(cells).unwrap_or_else(|| self.all())
    }

    /// Returns all cells.
    pub fn all(&self) -> CellSet {
        CellSet::new((0..self.len()).collect()).unwrap_or_else(|| CellSet::one(self.empty()))
    }

    fn touched_by(&self, can_be: Possible) -> Cells {
        match (self, can_be) {
            (_, Possible::Nothing) => Cells::default(),
            (Axis::Numbers { .. }, Possible::Numbers(low, high)) => {
                let (first, last) = (self.cell(low), self.cell(high));
                let mut cells = Cells::one(first);
                if first < last {
                    let has_numbers = |cell: &u16| self.part(*cell, (low, high)).is_some();
                    (first + 1..=last).filter(has_numbers).for_each(|cell| cells.insert(cell));
                }
                cells
            }
            (Axis::Calendar { .. }, Possible::Numbers(low, high)) => {
                if !(low.is_finite() && high.is_finite() && high - low < 3.0 * 366.0) {
                    return self.filled().collect();
                }
                let mut cells = Cells::default();
                let mut day = low;
                while day <= high {
                    cells.insert(self.cell(day));
                    day += 1.0;
                }
                cells
            }
            (Axis::Words(count), Possible::Words(set)) => {
                (0..*count).filter(|place| set >> place & 1 == 1).collect()
            }
            (Axis::Texts(texts), Possible::Text(text)) => {
                Cells::one(texts.iter().position(|known| *known == text).unwrap_or(texts.len()) as u16)
            }
            // A value of another kind than the axis cannot come out of a checked plan: anything may be.
            (
                Axis::Numbers { .. } | Axis::Words(_) | Axis::Texts(_) | Axis::Calendar { .. },
                Possible::Numbers(..) | Possible::Words(_) | Possible::Text(_) | Possible::AnyText,
            ) => self.filled().collect(),
        }
    }

    /// Returns the lowest and the highest number of a cell that lie between two ends, nothing where there are none; of
    /// a cell on a threshold that number.
    pub fn part(&self, cell: u16, (low, high): (f64, f64)) -> Option<(f64, f64)> {
        let Axis::Numbers { edges, whole, thresholds } = self else { return None };
        let place = usize::from(cell / 2);
        if cell % 2 == 1 {
            let (from, to) = *edges.get(place)?;
            let on = thresholds.get(place)?;
            if low > to || high < from || (*whole && !on.at.is_on(on.value().round())) {
                return None;
            }
            return Some((on.value(), on.value()));
        }
        let from = if place == 0 { f64::NEG_INFINITY } else { edges.get(place - 1)?.1.next_up() };
        let to = edges.get(place).map_or(f64::INFINITY, |edge| edge.0.next_down());
        let (from, to) = (low.max(from), high.min(to));
        let (from, to) = if *whole { ((from - 1e-9).ceil(), (to + 1e-9).floor()) } else { (from, to) };
        (from <= to).then_some((from, to))
    }

    /// Returns the parts of an extent, one for each cell that it touches, in the order of the cells.
    pub fn split(&self, extent: Extent) -> Vec<Extent> {
        let mut parts: Vec<Extent> = Vec::new();
        match extent.can_be {
            Possible::Numbers(low, high) => match self {
                Axis::Numbers { .. } => {
                    let cells = self.cell(low)..=self.cell(high);
                    parts.extend(
                        cells
                            .filter_map(|cell| self.part(cell, (low, high)))
                            .map(|(a, b)| Extent::between(a, b)),
                    );
                }
                Axis::Words(_) | Axis::Texts(_) | Axis::Calendar { .. } => {
                    parts.push(Extent::between(low, high));
                }
            },
            Possible::Words(set) => {
                parts.extend((0..64).filter(|place| set >> place & 1 == 1).map(Extent::word));
            }
            Possible::AnyText => match self {
                Axis::Texts(texts) => parts.extend(
                    texts
                        .iter()
                        .chain(&[TextId::OTHER])
                        .map(|text| Extent { can_be: Possible::Text(*text), may_be_empty: false }),
                ),
                Axis::Numbers { .. } | Axis::Words(_) | Axis::Calendar { .. } => parts.push(extent),
            },
            Possible::Text(_) => parts.push(Extent { may_be_empty: false, ..extent }),
            Possible::Nothing => {}
        }
        if extent.may_be_empty {
            parts.push(Extent::EMPTY);
        }
        parts
    }

    /// Returns the cells in which a comparison holds; it never holds of an empty value.
    pub fn holds(&self, compare: &Compare) -> Cells {
        self.filled().filter(|cell| self.cell_holds(*cell, compare)).collect()
    }

    fn cell_holds(&self, cell: u16, compare: &Compare) -> bool {
        match compare {
            Compare::Not(inner) => !self.cell_holds(cell, inner),
            Compare::Numbers { low, high } => {
                low.as_ref().is_none_or(|bound| self.stands(cell, bound.value(), bound.closed, true))
                    && high.as_ref().is_none_or(|bound| self.stands(cell, bound.value(), bound.closed, false))
            }
            Compare::NumberIsOneOf(bounds) => bounds.iter().any(|bound| {
                self.stands(cell, bound.value(), true, true) && self.stands(cell, bound.value(), true, false)
            }),
            Compare::Words(set) => cell < 64 && set >> cell & 1 == 1,
            Compare::Texts(list) => match self {
                Axis::Texts(texts) => texts.get(usize::from(cell)).is_some_and(|text| list.contains(text)),
                Axis::Numbers { .. } | Axis::Words(_) | Axis::Calendar { .. } => false,
            },
            Compare::DaysOfYear(from, to) => {
                let number = |(month, day): (u8, u8)| u16::from(month) * 32 + u16::from(day);
                let (day, from, to) = (cell % DAYS, number(*from), number(*to));
                if from <= to { (from..=to).contains(&day) } else { day >= from || day <= to }
            }
            // Only an `always` compares names, and no verdict rests on one.
            Compare::Name(..) => false,
        }
    }

    /// Returns whether the numbers of a cell lie above (or below) a threshold, or on it where that counts.
    fn stands(&self, cell: u16, value: f64, closed: bool, above: bool) -> bool {
        let (place, on) = match self {
            Axis::Numbers { .. } => (cell, self.cell(value)),
            Axis::Calendar { dates } => {
                let on = dates.iter().position(|date| *date == value).map_or(0, |at| 2 * at as u16 + 1);
                (cell / DAYS, on)
            }
            Axis::Words(_) | Axis::Texts(_) => return false,
        };
        if place == on { closed } else { (place > on) == above }
    }
}

/// Returns the thresholds of a name in order, those that are one once, each with the lowest and the highest number on
/// it. Where two that are not one have numbers in common, these are on but one of them.
fn apart(mut bounds: Vec<Bound>) -> (Vec<Bound>, Vec<(f64, f64)>) {
    bounds.sort_by(|a, b| a.value().total_cmp(&b.value()).then(a.at.on().0.total_cmp(&b.at.on().0)));
    let mut thresholds: Vec<Bound> = Vec::new();
    let mut edges: Vec<(f64, f64)> = Vec::new();
    let mut last = f64::NEG_INFINITY;
    for bound in bounds {
        let (mut low, high) = bound.at.on();
        if let (Some(before), Some(edge)) = (thresholds.last(), edges.last_mut()) {
            let has_no_room = low <= last && bound.value() <= edge.1;
            if has_no_room || before.at.is_same(&bound.at) {
                last = bound.value();
                continue;
            }
            if edge.1 >= low && low > last {
                edge.1 = low.next_down();
            } else if edge.1 >= low {
                low = edge.1.next_up();
            }
        }
        last = bound.value();
        thresholds.push(bound);
        edges.push((low, high));
    }
    (thresholds, edges)
}

fn collect_bounds(compare: &Compare, bounds: &mut Vec<Bound>, days: &mut bool) {
    match compare {
        Compare::Numbers { low, high } => bounds.extend(low.iter().chain(high).cloned()),
        Compare::NumberIsOneOf(list) => bounds.extend(list.iter().cloned()),
        Compare::DaysOfYear(..) => *days = true,
        Compare::Not(inner) => collect_bounds(inner, bounds, days),
        Compare::Words(_) | Compare::Texts(_) | Compare::Name(..) => {}
    }
}

fn collect_texts(compare: &Compare, texts: &mut Vec<TextId>) {
    match compare {
        Compare::Texts(list) => texts.extend(list),
        Compare::Not(inner) => collect_texts(inner, texts),
        Compare::Numbers { .. }
        | Compare::NumberIsOneOf(_)
        | Compare::Words(_)
        | Compare::DaysOfYear(..)
        | Compare::Name(..) => {}
    }
}
