//! Numbers with units as JSON of weather services writes them.

use crate::intake::draft::IntakeDraft;
use crate::intake::hour_values::HourBounds;
use crate::intake::unit_words::Scale;
use crate::phrase::said;
use crate::problems::Problem;
use crate::weather::Column;
use serde::Deserialize;

/// A value with its unit; its number may be missing, or be two.
#[derive(Clone, Deserialize, Debug, Default)]
#[serde(rename_all = "camelCase")]
pub(super) struct WithUnit {
    #[serde(alias = "uom")]
    pub(super) unit_code: Option<String>,
    pub(super) value: Option<f64>,
    pub(super) min_value: Option<f64>,
    pub(super) max_value: Option<f64>,
    pub(super) quality_control: Option<String>,
}

/// A value with its unit, or a bare number or text.
#[derive(Clone, Deserialize, Debug)]
#[serde(untagged)]
pub(super) enum Loosely {
    WithUnit(WithUnit),
    Number(f64),
    Text(String),
}

impl WithUnit {
    /// Returns the value of a column in base units; an error where its unit is not known.
    pub(super) fn bounds(
        &self,
        column: Column,
        draft: &mut IntakeDraft<'_>,
    ) -> Result<Option<HourBounds>, Box<Problem>> {
        let ends = (self.value.or(self.min_value), self.value.or(self.max_value));
        let (Some(from), Some(to)) = ends else { return Ok(None) };
        let scale = scale_of(self.unit_code.as_deref(), column, draft)?;
        let from = draft.base(column, &scale, from);
        let to = draft.base(column, &scale, to);
        Ok(from.zip(to).map(|(from, to)| HourBounds::between(from.from, to.to)))
    }
}

/// Returns the scale of a unit; an error where it is not known or cannot be that of the column.
pub(super) fn scale_of(
    unit: Option<&str>,
    column: Column,
    draft: &IntakeDraft<'_>,
) -> Result<Scale, Box<Problem>> {
    let scale = unit.and_then(Scale::written).filter(|scale| scale.fits(column));
    scale.ok_or_else(|| {
        let word = column.word();
        let message = match unit {
            Some(unit) => said!("`{unit}` is not a unit for {word}", unit, word),
            None => said!("the {word} of the file has no unit", word),
        };
        let at = unit.and_then(|unit| draft.document.text.find(unit)).unwrap_or(0);
        draft.document.problem(at, message, "nothing is read without its unit: fetch the file again")
    })
}
