//! A value in JSON: a number with its unit, a word, an interval, `unknown` or `empty` with the reason.

use super::json::Number;
use crate::measure::{Possible, Reading};
use crate::plan::{Kind, Name, NameId, Plan};
use crate::units::Dimension;
use crate::words::{Language, Speech, Words};
use serde::Serialize;
use std::borrow::Cow;

/// A number with its unit or a word; an interval; or why it is unknown or empty.
#[derive(Clone, Default, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(extend("anyOf" = [
    { "required": ["value"] }, { "required": ["from", "to"] }, { "required": ["unknown"] }, { "required": ["empty"] }
])))]
pub(super) struct ValueEntry<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    value: Option<Scalar<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<OptionalEnd<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<OptionalEnd<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    empty: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unknown: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    one_of: Vec<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sample: Option<SampleEntry>,
    /// Nobody saw it: it is taken as the rulebook says, or comes of what is taken so.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    #[cfg_attr(test, schemars(extend("const" = true)))]
    assumed: bool,
}

#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(inline))]
enum Scalar<'a> {
    Number(Number),
    Word(Cow<'a, str>),
}

/// Null where there is no end.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct OptionalEnd<'a>(#[cfg_attr(test, schemars(with = "Option<Scalar>"))] Scalar<'a>);

/// How many were found among how many.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct SampleEntry {
    found: u32,
    of: u32,
}

impl<'a> ValueEntry<'a> {
    /// Returns what a name is. `sample` is how many were found among how many; `own_text` what a text is that the
    /// rulebook does not name.
    pub(super) fn of(
        plan: &'a Plan,
        name: NameId,
        reading: &Reading,
        sample: Option<(u32, u32)>,
        own_text: Option<String>,
    ) -> Self {
        let (item, extent) = (&plan[name], reading.extent);
        let words = Words { language: Language::English, speech: Speech::AsWritten, plan };
        let why = |fallback: &str| {
            Some(reading.cause.as_ref().map_or_else(|| fallback.to_string(), |cause| words.cause(cause)))
        };
        let unknown = || Self { unknown: why("not known"), ..Self::default() };
        let said = if extent.is_empty() {
            Self { empty: why("there is no such value"), ..Self::default() }
        } else if extent.may_be_empty || extent.is_anything(item, plan) {
            unknown()
        } else {
            match extent.can_be {
                Possible::Numbers(low, high) if low == high => {
                    let unit = unit(item).filter(|_| low.is_finite());
                    Self { value: Some(number(item, low)), unit, ..Self::default() }
                }
                Possible::Numbers(low, high) => Self {
                    from: Some(OptionalEnd(number(item, low))),
                    to: Some(OptionalEnd(number(item, high))),
                    unit: unit(item),
                    ..Self::default()
                },
                Possible::Words(set) => {
                    Self::one_of(plan, item.kind, set).unwrap_or_else(|one_of| Self { one_of, ..unknown() })
                }
                Possible::Text(text) => {
                    let known = plan.texts.get(text.0 as usize).map(|text| Cow::Borrowed(&**text));
                    let text = known.or(own_text.map(Cow::Owned)).unwrap_or(Cow::Borrowed("other"));
                    Self { value: Some(Scalar::Word(text)), ..Self::default() }
                }
                Possible::Nothing | Possible::AnyText => unknown(),
            }
        };
        Self { sample: sample.map(|(found, of)| SampleEntry { found, of }), assumed: reading.assumed, ..said }
    }

    /// Returns the share of a group of panicles, 0 to 1.
    pub(super) fn of_share(share: Option<f64>) -> Self {
        match share {
            Some(share) => {
                let value = Some(Scalar::Number(Number(share * 100.0)));
                Self { value, unit: Some("%"), ..Self::default() }
            }
            None => Self { unknown: Some("no share was given".to_string()), ..Self::default() },
        }
    }

    /// Returns a word; several that stand next to each other in an ordered list are an interval; others are given back.
    fn one_of(plan: &'a Plan, kind: Kind, set: u64) -> Result<Self, Vec<&'a str>> {
        let list = match kind {
            Kind::Words(list) => plan.word_lists.get(list.index()),
            _ => None,
        };
        let word = |place: u32| match (kind, place) {
            (Kind::YesNo, 1) => "yes",
            (Kind::YesNo, _) => "no",
            _ => list.and_then(|list| list.words.get(place as usize)).map_or("", |it| &it.name),
        };
        let (low, high) = (set.trailing_zeros(), 63u32.saturating_sub(set.leading_zeros()));
        let scalar = |place: u32| Scalar::Word(Cow::Borrowed(word(place)));
        if set.count_ones() == 1 {
            return Ok(Self { value: Some(scalar(low)), ..Self::default() });
        }
        if list.is_some_and(|it| it.ordered) && high - low + 1 == set.count_ones() {
            return Ok(Self {
                from: Some(OptionalEnd(scalar(low))),
                to: Some(OptionalEnd(scalar(high))),
                ..Self::default()
            });
        }
        Err((0..64).filter(|place| set >> place & 1 == 1).map(word).collect())
    }
}

/// Returns a number of a name in its unit; what has no end is `longer than any` of durations, and null of others.
fn number(item: &Name, base: f64) -> Scalar<'static> {
    if base == f64::INFINITY && item.kind == Kind::Quantity(Dimension::TIME) {
        return Scalar::Word(Cow::Borrowed("longer than any"));
    }
    Scalar::Number(Number(match item.kind {
        _ if !base.is_finite() => base,
        Kind::Clock => return Scalar::Word(Cow::Owned(crate::words::clock(base))),
        Kind::Date => match crate::words::day_of(base) {
            Some(day) => return Scalar::Word(Cow::Owned(day.to_string())),
            None => f64::NAN,
        },
        Kind::Share => base * 100.0,
        Kind::Temperature => item.unit.point_from_base(base),
        Kind::Number | Kind::Count | Kind::Quantity(_) | Kind::YesNo | Kind::Text | Kind::Words(_) => {
            item.unit.amount_from_base(base)
        }
    }))
}

fn unit(item: &Name) -> Option<&str> {
    let symbol = match item.kind {
        Kind::Share => "%",
        Kind::Date | Kind::Clock => "",
        Kind::Number
        | Kind::Count
        | Kind::Temperature
        | Kind::Quantity(_)
        | Kind::YesNo
        | Kind::Text
        | Kind::Words(_) => &item.unit.symbol,
    };
    Some(symbol).filter(|symbol| !symbol.is_empty())
}
