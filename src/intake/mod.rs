//! Taking in weather: what stations, loggers, spreadsheets and public services write becomes hours of the grove's clock.
//!
//! Comes in: the bytes of a file, the place, the moment, what the grower has answered. Goes out: hours in base units, each
//! value known or between two ends, what was understood of the file, and what only the grower can know. Opens no file,
//! guesses no unit, knows no rulebook.

mod answers;
mod decode;
mod document;
mod draft;
mod duration;
mod facts;
mod forms;
mod hour_values;
mod metar_text;
mod station;
mod timeline;
mod told;
mod unit_words;

pub use answers::{FormAnswers, FormQuestion, Topic};
pub use decode::{NotText, decode};
pub use draft::{Intake, IntakeDay, IntakeHour, IntakeTotal, UnderstoodColumn};
pub use facts::FormFact;
pub use forms::WeatherForm;
pub use hour_values::HourBounds;
pub use told::{DayCurve, ToldUnits, told};

use crate::problems::Problem;
use crate::source::SourceId;
use crate::weather::Site;
use chrono::{DateTime, Utc};
use document::Document;

/// Where and when a weather file is read, and what was answered.
#[derive(Clone, Debug)]
pub struct IntakePlace<'a> {
    /// Where the grove lies.
    pub site: &'a Site,
    /// The moment of the advice.
    pub as_of: DateTime<Utc>,
    /// What the grower has answered, now or for an earlier file of the kind.
    pub answers: &'a FormAnswers,
}

/// Reads a weather file of any form that is known.
///
/// # Errors
/// Says at which place a text is no weather, or breaks off.
pub fn read(source: SourceId, text: &str, place: &IntakePlace<'_>) -> Result<Intake, Box<Problem>> {
    let document = Document::new(source, text)?;
    forms::read(&document, place)
}

/// Returns the title line by which files of a kind are known again; nothing for forms that say everything themselves.
///
/// # Errors
/// Says at which place a text is no weather, or breaks off.
pub fn kind_of_file(source: SourceId, text: &str) -> Result<Option<String>, Box<Problem>> {
    let document = Document::new(source, text)?;
    Ok(forms::kind_of(&document))
}
