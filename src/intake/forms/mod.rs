//! The forms of weather files, each known by a sign that no other has; a table of a station is what is left.

mod columnar;
mod coverage;
mod epw;
mod global_hourly;
mod isd_lite;
mod json_values;
mod metar;
mod nws_grid;
mod nws_hourly;
mod nws_observations;
mod steps;
mod tmy;
mod wmo_table;

use super::document::Document;
use super::draft::{Intake, IntakeDraft};
use super::{IntakePlace, station};
use crate::problems::Problem;

/// A form of weather files.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WeatherForm {
    /// The hourly forecast of the US National Weather Service.
    NwsHourly,
    /// Its raw grid.
    NwsGrid,
    /// Its observations.
    NwsObservations,
    /// A time series with sums of the next hours.
    Steps,
    /// Arrays beside one another.
    Columnar,
    /// A series of points of the coverage standard.
    Coverage,
    /// A typical year for buildings.
    Epw,
    /// A typical year of the third edition.
    Tmy,
    /// Hourly rows of the world's airports, with quality marks.
    GlobalHourly,
    /// The table that becomes the messages of the weather services.
    WmoTable,
    /// Hourly rows of fixed width.
    IsdLite,
    /// Reports of airports.
    Metar,
    /// A table of a station, a logger or a spreadsheet.
    Table,
    /// A forecast in words.
    Words,
}

impl WeatherForm {
    /// Returns the word for this form, in catalogues and JSON.
    pub fn word(self) -> &'static str {
        match self {
            WeatherForm::NwsHourly => "nws-hourly",
            WeatherForm::NwsGrid => "nws-grid",
            WeatherForm::NwsObservations => "nws-observations",
            WeatherForm::Steps => "steps",
            WeatherForm::Columnar => "columnar",
            WeatherForm::Coverage => "coverage",
            WeatherForm::Epw => "epw",
            WeatherForm::Tmy => "tmy",
            WeatherForm::GlobalHourly => "global-hourly",
            WeatherForm::WmoTable => "wmo-table",
            WeatherForm::IsdLite => "isd-lite",
            WeatherForm::Metar => "metar",
            WeatherForm::Table => "table",
            WeatherForm::Words => "words",
        }
    }
}

/// How a form is known and read.
trait FormReader: Sync {
    /// Which form it reads.
    fn form(&self) -> WeatherForm;
    /// Returns whether a text is of the form.
    fn knows(&self, document: &Document<'_>) -> bool;
    /// Reads the text.
    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>>;
}

/// All readers; the first that knows a text reads it.
const READERS: &[&dyn FormReader] = &[
    &nws_hourly::NwsHourly,
    &nws_grid::NwsGrid,
    &nws_observations::NwsObservations,
    &steps::StepsReader,
    &columnar::Columnar,
    &coverage::Coverage,
    &epw::Epw,
    &tmy::Tmy,
    &global_hourly::GlobalHourly,
    &wmo_table::WmoTable,
    &isd_lite::IsdLite,
    &metar::Metar,
];

fn reader_of(document: &Document<'_>) -> Option<&'static dyn FormReader> {
    READERS.iter().find(|reader| reader.knows(document)).copied()
}

/// Reads a text of any form.
pub(super) fn read(document: &Document<'_>, place: &IntakePlace<'_>) -> Result<Intake, Box<Problem>> {
    let mut draft;
    match reader_of(document) {
        Some(reader) => {
            draft = IntakeDraft::new(document, place, reader.form());
            draft.intake.kind = kind_of(document);
            reader.read(&mut draft)?;
        }
        None if document.json.is_some() => {
            let help = "hourly and raw grid forecasts and observations of the US National Weather Service, and time series \
                        with a time and values are read; save anything else as CSV";
            return Err(document.problem(0, "the JSON has no weather that is known", help));
        }
        None => {
            draft = IntakeDraft::new(document, place, WeatherForm::Table);
            station::read(&mut draft)?;
        }
    }
    let intake = draft.finish();
    if intake.hours.is_empty() && intake.days.is_empty() && intake.questions.is_empty() {
        let help = "see that it is the right file, and that it was saved whole";
        return Err(document.problem(0, "there is no hour of weather in the file", help));
    }
    Ok(intake)
}

/// Returns by what a file of the kind is known again, where what its columns mean may have to be asked.
pub(super) fn kind_of(document: &Document<'_>) -> Option<String> {
    match reader_of(document) {
        Some(reader) => Some(format!("form {}", reader.form().word())),
        None if document.json.is_some() => None,
        None => station::kind_of(document),
    }
}
