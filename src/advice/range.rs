//! Parts of a name's range: what an answer finds there, and from where on a verdict is another.

use crate::measure::Extent;
use crate::plan::{Bound, Kind, NameId, Plan, TextId};
use crate::situation::Axis;
use crate::units::Threshold;

/// A part of a name's range.
#[derive(Clone, PartialEq, Debug)]
pub enum ValueRange {
    /// That there is no value.
    Nothing,
    /// The numbers between two ends; where one is missing all that are left on its side.
    Numbers {
        /// From here.
        low: Option<RangeEnd>,
        /// To here.
        high: Option<RangeEnd>,
    },
    /// The words of this set, the bit of a word being its place; of yes-no `no` is bit 0.
    Words(u64),
    /// Texts of the rulebook, or [`TextId::OTHER`].
    Texts(Vec<TextId>),
}

/// One end of a range of numbers.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RangeEnd {
    /// The number, in base units, as an author would write it.
    pub at: f64,
    /// Whether the number itself counts.
    pub closed: bool,
}

impl RangeEnd {
    /// An end that counts.
    pub fn closed(at: f64) -> Self {
        Self { at, closed: true }
    }

    /// An end that does not count.
    pub fn open(at: f64) -> Self {
        Self { at, closed: false }
    }

    /// Returns the end at which what lies on the other side ends; of whole numbers the next one, so many further.
    fn turned(self, kind: Kind, next: f64) -> Self {
        match kind {
            Kind::Count | Kind::Date if self.closed => Self::closed(self.at + next),
            _ => Self { closed: !self.closed, ..self },
        }
    }
}

impl ValueRange {
    /// The whole range.
    pub const ANY: Self = Self::Numbers { low: None, high: None };

    /// Makes the range of one number.
    pub fn number(at: f64) -> Self {
        let end = Some(RangeEnd::closed(at));
        Self::Numbers { low: end, high: end }
    }

    /// Makes the range of one word.
    pub fn word(place: u16) -> Self {
        Self::Words(Extent::word(place).word_set())
    }

    /// Returns whether it is the whole range of a number.
    pub fn is_any(&self) -> bool {
        *self == Self::ANY
    }

    /// Returns its ends.
    fn ends(&self) -> (Option<RangeEnd>, Option<RangeEnd>) {
        match self {
            Self::Numbers { low, high } => (*low, *high),
            Self::Nothing | Self::Words(_) | Self::Texts(_) => (None, None),
        }
    }

    /// Returns whether of two cuts of one name, this one before the other, all is said by the other: not `below 3 and below
    /// 2`.
    pub(super) fn is_said_by(&self, later: &Self) -> bool {
        let sides = |range: &Self| match range.ends() {
            (Some(_), Some(_)) => (false, false),
            (low, high) => (low.is_some(), high.is_some()),
        };
        let cuts_more = sides(self) == sides(later) || sides(later) == (false, false);
        self.is_any() || !later.is_any() && cuts_more
    }

    /// Returns the numbers between those from which on something is another: `at most` and `at least` ends beyond.
    pub(super) fn between<'r>(kind: Kind, beyond: impl Iterator<Item = &'r Self>) -> Option<Self> {
        let (mut low, mut high) = (None, None);
        for range in beyond {
            match range.ends() {
                (None, Some(end)) => low = low.or(Some(end.turned(kind, 1.0))),
                (Some(end), None) => high = high.or(Some(end.turned(kind, -1.0))),
                (Some(_), Some(_)) | (None, None) => {}
            }
        }
        (low.is_some() || high.is_some()).then_some(Self::Numbers { low, high })
    }

    /// Makes the range of neighbouring pieces of a name's range, of all into which it was split. An end that is an end of
    /// the whole range is none.
    pub(super) fn of_pieces(
        plan: &Plan,
        name: NameId,
        axis: &Axis,
        pieces: &[Extent],
        all: &[Extent],
    ) -> Self {
        let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else { return Self::ANY };
        if first.is_empty() {
            return Self::Nothing;
        }
        let set = pieces.iter().fold(0, |set, piece| set | piece.word_set());
        if set != 0 {
            return Self::Words(set);
        }
        let texts: Vec<TextId> = pieces.iter().filter_map(|piece| piece.text()).collect();
        if !texts.is_empty() {
            return Self::Texts(texts);
        }
        let numbers = || all.iter().filter_map(|piece| piece.ends());
        let ends = (first.ends(), last.ends(), numbers().next(), numbers().next_back());
        let (Some((low, _)), Some((_, high)), Some((least, _)), Some((_, most))) = ends else {
            return Self::Texts(vec![TextId::OTHER]);
        };
        if matches!(plan[name].kind, Kind::Count | Kind::Date) && low == high {
            return Self::number(low);
        }
        let lower = (low > least).then(|| border(plan, name, axis, low));
        let upper = (high < most).then(|| border(plan, name, axis, high));
        let high = match (lower, upper) {
            (None, Some(to)) if plan[name].kind == Kind::Count && !is_constant(axis, to) => {
                Some(RangeEnd::open(to + 1.0))
            }
            (Some(from), Some(to)) if from == to => return Self::number(to),
            _ => upper.map(|at| RangeEnd { at, closed: at <= high }),
        };
        Self::Numbers { low: lower.map(|at| RangeEnd { at, closed: at >= low }), high }
    }
}

/// Returns the border that an end of a piece stands at, as an author would write it: the number itself where only whole
/// ones are, else the constant on whose rim it lies, else the shortest number of its unit that is near.
pub(super) fn border(plan: &Plan, name: NameId, axis: &Axis, at: f64) -> f64 {
    let (kind, unit) = (plan[name].kind, &plan[name].unit);
    let near = |constant: &Threshold| constant.is_by(at);
    match kind {
        Kind::Count | Kind::Date => at,
        Kind::Temperature => {
            constant(axis, near).unwrap_or_else(|| unit.point_to_base(short(unit.point_from_base(at))))
        }
        _ => constant(axis, near).unwrap_or_else(|| unit.amount_to_base(short(unit.amount_from_base(at)))),
    }
}

fn constant(axis: &Axis, is: impl Fn(&Threshold) -> bool) -> Option<f64> {
    match axis {
        Axis::Numbers { thresholds, .. } => thresholds.iter().find(|it| is(&it.at)).map(Bound::value),
        Axis::Words(_) | Axis::Texts(_) | Axis::Calendar { .. } => None,
    }
}

fn is_constant(axis: &Axis, value: f64) -> bool {
    constant(axis, |it| it.value() == value).is_some()
}

/// Returns the shortest decimal number near to one: a computed border lies within a small tolerance of the true one.
fn short(number: f64) -> f64 {
    let slack = 2e-5 * number.abs().max(1.0);
    let rounded = (0..9).filter_map(|digits| format!("{number:.digits$e}").parse::<f64>().ok());
    rounded.into_iter().find(|it| (it - number).abs() <= slack).unwrap_or(number)
}
